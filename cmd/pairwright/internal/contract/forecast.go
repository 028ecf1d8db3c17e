package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing/forecast"
	"pairwright/pedigree/studbook"
)

// ForecastAnswer is the answer of the forecast command. Low and high are the ends
// of the ranges that hold 80 and 95 of 100 runs.
type ForecastAnswer struct {
	ForecastHead
	Fewest   int              `json:"fewest"`
	Rates    []ForecastRate   `json:"rates"`
	Policies []ForecastPolicy `json:"policies"`
}

// ForecastHead is what runs were made.
type ForecastHead struct {
	From      int     `json:"from"` // the year of the start; figures are of the end of years
	Years     int     `json:"years"`
	Runs      int     `json:"runs"`
	RunsAsked int     `json:"runs_asked"`
	Seed      uint64  `json:"seed"`
	Scope     string  `json:"scope"`
	Colony    *string `json:"colony"`
	Goal      float64 `json:"goal"`
}

// ForecastRate is a rate that the runs are made with.
type ForecastRate struct {
	What   string `json:"what"`
	Value  string `json:"value"`
	Source string `json:"source"`
}

// ForecastPolicy is what became of the programme under a policy. The chances are
// shares of the runs; the goal is lost in the first year by which half of the runs
// had lost it, null if they never did.
type ForecastPolicy struct {
	Policy         string         `json:"policy"`
	Years          []ForecastYear `json:"years"`
	ChanceGoalHeld float64        `json:"chance_goal_held"`
	GoalLostYear   *int           `json:"goal_lost_year"`
	YearsKept      ForecastFigure `json:"years_goal_kept"` // no more than the years looked ahead
	ChanceTooFew   float64        `json:"chance_too_few"`
	ChanceOneSex   float64        `json:"chance_one_sex"`
	Moves          ForecastMean   `json:"moves"`
	Partings       ForecastMean   `json:"partings"`
	Chicks         ForecastMean   `json:"chicks"`
	Founders       ForecastMean   `json:"founders"`
	Ahead          []ForecastLead `json:"ahead"`
}

// ForecastLead is by how much a policy is ahead of another, run for run.
type ForecastLead struct {
	Of            string       `json:"of"`
	GeneDiversity ForecastMean `json:"gene_diversity"` // in the last year
	YearsKept     ForecastMean `json:"years_goal_kept"`
	// The years in which this policy loses what the other loses in all, no more
	// than the years looked ahead.
	YearsToSameLoss ForecastMean `json:"years_to_same_loss"`
}

// ForecastMean is a mean over runs with its standard error.
type ForecastMean struct {
	Mean          float64 `json:"mean"`
	StandardError float64 `json:"standard_error"`
}

// ForecastYear is the figures at the end of a year.
type ForecastYear struct {
	Year              int            `json:"year"`
	Size              ForecastFigure `json:"size"`
	GeneDiversity     ForecastFigure `json:"gene_diversity"`
	Inbreeding        ForecastFigure `json:"inbreeding"`
	GenomeEquivalents ForecastFigure `json:"founder_genome_equivalents"`
	AlleleRetention   ForecastFigure `json:"allele_retention"`
}

// ForecastFigure is how a figure is spread over runs.
type ForecastFigure struct {
	Median float64 `json:"median"`
	Low80  float64 `json:"low80"`
	High80 float64 `json:"high80"`
	Low95  float64 `json:"low95"`
	High95 float64 `json:"high95"`
}

func forecastMean(m forecast.Mean) ForecastMean { return ForecastMean{m.Value, m.SE} }

func forecastFigure(f forecast.Figure) ForecastFigure {
	return ForecastFigure{f.Median, f.Low80, f.High80, f.Low95, f.High95}
}

// ForecastJSON returns a forecast as other programs read it.
func ForecastJSON(x *report.Forecast, r *forecast.Result) ForecastAnswer {
	out := ForecastAnswer{
		ForecastHead{x.FirstYear(), x.Options.Years, r.Runs, x.Options.Runs, x.Options.Seed, "programme", text(x.Place), x.Options.Goal},
		x.Options.Fewest, []ForecastRate{}, []ForecastPolicy{},
	}
	if x.Place != "" {
		out.Scope = "home"
	}
	for _, rate := range x.Rates() {
		out.Rates = append(out.Rates, ForecastRate(rate))
	}
	for k := range r.Courses {
		out.Policies = append(out.Policies, forecastPolicy(x, r, k))
	}
	return out
}

func forecastPolicy(x *report.Forecast, r *forecast.Result, k int) ForecastPolicy {
	c := &r.Courses[k]
	mean := forecastMean
	out := ForecastPolicy{
		Policy: c.Policy, Years: []ForecastYear{}, ChanceGoalHeld: c.GoalHeld, GoalLostYear: known(x.FirstYear()+c.GoalLost, c.GoalLost >= 0),
		YearsKept: forecastFigure(c.Kept), ChanceTooFew: c.TooFew, ChanceOneSex: c.OneSex,
		Moves: mean(c.Moves), Partings: mean(c.Partings), Chicks: mean(c.Chicks), Founders: mean(c.Founders), Ahead: []ForecastLead{},
	}
	for year := range c.Years {
		y := &c.Years[year]
		out.Years = append(out.Years, ForecastYear{
			x.FirstYear() + year, forecastFigure(y.Size), forecastFigure(y.GeneDiversity), forecastFigure(y.Inbreeding),
			forecastFigure(y.GeneDiversity.GenomeEquivalents()), forecastFigure(y.Alleles),
		})
	}
	for other := range r.Courses {
		if other != k {
			out.Ahead = append(out.Ahead, ForecastLead{r.Courses[other].Policy, mean(c.Against[other].GeneDiversity), mean(c.Against[other].Kept), mean(c.Against[other].SameLoss)})
		}
	}
	return out
}

// ForecastRow is a year of a policy, as a row of the CSV.
type ForecastRow struct {
	Policy            string  `json:"policy"`
	Year              int     `json:"year"`
	Size              float64 `json:"size_median"`
	SizeLow80         float64 `json:"size_low80"`
	SizeHigh80        float64 `json:"size_high80"`
	SizeLow95         float64 `json:"size_low95"`
	SizeHigh95        float64 `json:"size_high95"`
	Diversity         float64 `json:"gene_diversity_median"`
	DiversityLow80    float64 `json:"gene_diversity_low80"`
	DiversityHigh80   float64 `json:"gene_diversity_high80"`
	DiversityLow95    float64 `json:"gene_diversity_low95"`
	DiversityHigh95   float64 `json:"gene_diversity_high95"`
	Inbreeding        float64 `json:"inbreeding_median"`
	InbreedingLow80   float64 `json:"inbreeding_low80"`
	InbreedingHigh80  float64 `json:"inbreeding_high80"`
	InbreedingLow95   float64 `json:"inbreeding_low95"`
	InbreedingHigh95  float64 `json:"inbreeding_high95"`
	Equivalents       float64 `json:"founder_genome_equivalents_median"`
	EquivalentsLow80  float64 `json:"founder_genome_equivalents_low80"`
	EquivalentsHigh80 float64 `json:"founder_genome_equivalents_high80"`
	EquivalentsLow95  float64 `json:"founder_genome_equivalents_low95"`
	EquivalentsHigh95 float64 `json:"founder_genome_equivalents_high95"`
	Alleles           float64 `json:"allele_retention_median"`
	AllelesLow80      float64 `json:"allele_retention_low80"`
	AllelesHigh80     float64 `json:"allele_retention_high80"`
	AllelesLow95      float64 `json:"allele_retention_low95"`
	AllelesHigh95     float64 `json:"allele_retention_high95"`
}

// ForecastRows returns the years of all policies as rows.
func ForecastRows(a *ForecastAnswer) []ForecastRow {
	var rows []ForecastRow
	for _, p := range a.Policies {
		for _, y := range p.Years {
			s, g, f, e, l := y.Size, y.GeneDiversity, y.Inbreeding, y.GenomeEquivalents, y.AlleleRetention
			rows = append(rows, ForecastRow{
				p.Policy, y.Year,
				s.Median, s.Low80, s.High80, s.Low95, s.High95,
				g.Median, g.Low80, g.High80, g.Low95, g.High95,
				f.Median, f.Low80, f.High80, f.Low95, f.High95,
				e.Median, e.Low80, e.High80, e.Low95, e.High95,
				l.Median, l.Low80, l.High80, l.Low95, l.High95,
			})
		}
	}
	return rows
}

// ForecastNeed is what it takes to hold the goal. Least, low and high are null where
// not even the most that was tried does.
type ForecastNeed struct {
	Need         string   `json:"need"` // "chicks" a year, "founders": years between two, "places": living birds
	Policy       string   `json:"policy"`
	Goal         float64  `json:"goal"`
	Years        int      `json:"years"`
	Runs         int      `json:"runs"`
	Seed         uint64   `json:"seed"`
	ChanceWanted float64  `json:"chance_wanted"`
	NoneNeeded   bool     `json:"none_needed"`
	Least        *int     `json:"least"`
	Low          *int     `json:"low"`
	High         *int     `json:"high"`
	Chance       *float64 `json:"chance"` // of the least
	Tried        int      `json:"tried"`  // the most that was tried

	BirdsAtEnd     ForecastFigure `json:"birds_at_end"` // with the least, or with the most tried where not even that does
	BirdsWanted    int            `json:"birds_wanted"`
	ChicksForBirds int            `json:"chicks_for_birds_wanted"` // a year, by survival
}

// NeedJSON returns a need as other programs read it.
func NeedJSON(x *report.Forecast, what string, n *forecast.Need) ForecastNeed {
	return ForecastNeed{
		Need: what, Policy: x.Policies[0].Name(), Goal: x.Options.Goal, Years: n.Years, Runs: n.Runs, Seed: x.Options.Seed,
		ChanceWanted: n.Chance, NoneNeeded: n.None,
		Least: known(n.Least, !n.Never && !n.None), Low: known(n.Low, n.Low != forecast.Beyond && !n.None), High: known(n.High, n.High != forecast.Beyond && !n.None),
		Chance: known(n.Held, !n.Never), Tried: n.Tried,
		BirdsAtEnd: forecastFigure(n.Birds), BirdsWanted: n.Wanted, ChicksForBirds: n.Hold,
	}
}

// WhatIfAnswer is the programme with changes beside the programme as it is.
type WhatIfAnswer struct {
	ForecastHead
	Changes  []string       `json:"changes"`
	Policies []WhatIfPolicy `json:"policies"`
}

// WhatIfPolicy is both courses under a policy, and by how much the one with the
// changes has more, run for run: in the last year, and over all of them.
type WhatIfPolicy struct {
	AsIs       ForecastPolicy   `json:"as_is"`
	With       ForecastPolicy   `json:"with_changes"`
	Difference WhatIfDifference `json:"difference"`
}

// WhatIfDifference is what the changes bring, run for run.
type WhatIfDifference struct {
	ChanceGoalHeld  ForecastMean   `json:"chance_goal_held"`
	YearsKept       ForecastMean   `json:"years_goal_kept"`
	Size            ForecastMean   `json:"size"`
	GeneDiversity   ForecastMean   `json:"gene_diversity"`
	Inbreeding      ForecastMean   `json:"inbreeding"`
	AlleleRetention ForecastMean   `json:"allele_retention"`
	Moves           ForecastMean   `json:"moves"`
	Partings        ForecastMean   `json:"partings"`
	Chicks          ForecastMean   `json:"chicks"`
	ByYear          []ForecastMean `json:"gene_diversity_by_year"` // from the start on
}

// WhatIfJSON returns a what-if as other programs read it.
func WhatIfJSON(x *report.Forecast, changes []studbook.Supposition, r *forecast.Result) WhatIfAnswer {
	all := ForecastJSON(x, r)
	out := WhatIfAnswer{all.ForecastHead, report.ChangeTexts(x, changes), []WhatIfPolicy{}}
	mean := forecastMean
	for k := 0; k < len(all.Policies); k += 2 {
		p := WhatIfPolicy{AsIs: all.Policies[k], With: all.Policies[k+1]}
		p.AsIs.Ahead, p.With.Ahead = []ForecastLead{}, []ForecastLead{}
		c := r.Courses[k+1].Against[k]
		p.Difference = WhatIfDifference{
			ChanceGoalHeld: mean(c.GoalHeld), YearsKept: mean(c.Kept), Size: mean(c.Size), GeneDiversity: mean(c.GeneDiversity), Inbreeding: mean(c.Inbreeding),
			AlleleRetention: mean(c.Alleles), Moves: mean(c.Moves), Partings: mean(c.Partings), Chicks: mean(c.Chicks), ByYear: []ForecastMean{},
		}
		for _, y := range r.Courses[k+1].Years {
			p.Difference.ByYear = append(p.Difference.ByYear, mean(y.Ahead[k]))
		}
		out.Policies = append(out.Policies, p)
	}
	return out
}
