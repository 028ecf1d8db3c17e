package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
)

// ReviewAnswer is the answer of the review command.
type ReviewAnswer struct {
	AsOf        string             `json:"as_of"`
	Colony      *string            `json:"colony"`
	Genetics    GeneticsAnswer     `json:"genetics"`
	Iterations  int                `json:"gene_drop_iterations"` // of all figures by gene drop
	Demography  DemographyAnswer   `json:"demography"`
	ChangeSince ChangeAnswer       `json:"change_since"`
	AtAGlance   []GlanceAnswer     `json:"at_a_glance"`
	CannotSay   []string           `json:"cannot_say"`
	History     []HistoryAnswer    `json:"history"`
	Outlook     OutlookAnswer      `json:"outlook"`
	Founders    []FounderAnswer    `json:"founders"`
	Birds       []ReviewedBird     `json:"birds"`
	Pairs       []ReviewedPair     `json:"pairs"`
	Unpaired    []BestMates        `json:"unpaired"`
	Plan        PlanAnswer         `json:"plan"`
	Decisions   []DecisionAnswer   `json:"decisions"`
	LeftOut     []DecisionsLeftOut `json:"decisions_left_out"`
	LastYear    []ResultAnswer     `json:"last_year"`
	Calibration *CalibrationAnswer `json:"calibration"`
	Deaths      *DeathsAnswer      `json:"deaths_last_year"`
	Transfers   []TransferListed   `json:"transfers"`
	Young       []YoungBird        `json:"young"`
	Inbred      []ReviewedInbred   `json:"inbred"`
	Gaps        []CheckGap         `json:"gaps"`
	Assumptions []string           `json:"assumptions"`
}

// DecisionAnswer is one thing to do, with by when, null where no day presses.
type DecisionAnswer struct {
	Who  string  `json:"who"`
	What string  `json:"what"`
	By   *string `json:"by"`
	Why  string  `json:"why"`
	// AgreeBy is by when a move is to be agreed on and its permit applied for, null of
	// other things and of a move that people have agreed on.
	AgreeBy *string `json:"agree_by"`
	Undoing
}

// DecisionsLeftOut is how many decisions of a kind are not among those listed.
type DecisionsLeftOut struct {
	What  string `json:"what"`
	Count int    `json:"count"`
}

// DeathsAnswer holds the deaths expected a year ago of the programme's birds against
// those that came; low and high as in CalibrationAnswer.
type DeathsAnswer struct {
	Living   int     `json:"living"`
	Expected float64 `json:"expected"`
	Died     int     `json:"died"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

// ResultAnswer is something that was advised at the last review and what became
// of it.
type ResultAnswer struct {
	Advised string  `json:"advised"`
	Done    string  `json:"done"`
	Result  *string `json:"result"`
}

// CalibrationAnswer holds the chicks expected of last year's pairs against
// those that hatched; low and high are the 95% interval of the mean of such a
// count.
type CalibrationAnswer struct {
	Expected float64 `json:"expected"`
	Hatched  int     `json:"hatched"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

// GeneticsAnswer is the gene pool of programme and colony.
type GeneticsAnswer struct {
	Programme PoolAnswer `json:"programme"`
	Colony    PoolAnswer `json:"colony"`
}

// PoolAnswer is a gene pool in figures.
type PoolAnswer struct {
	Size                         int      `json:"size"`
	GeneDiversity                *float64 `json:"gene_diversity"`
	GeneDiversityWithoutFounders *float64 `json:"gene_diversity_without_founders"`
	MeanKinship                  *float64 `json:"mean_kinship"`
	MeanInbreeding               *float64 `json:"mean_inbreeding"`
	FounderGenomeEquivalents     *float64 `json:"founder_genome_equivalents"`
	FounderEquivalents           *float64 `json:"founder_equivalents"`
	FounderGenomesSurviving      *float64 `json:"founder_genomes_surviving"`
	FounderGenomesSurvivingSE    *float64 `json:"founder_genomes_surviving_standard_error"`
	EffectiveSize                *float64 `json:"effective_size"` // realised, from the inbreeding of the living
	EffectiveSizeSE              *float64 `json:"effective_size_standard_error"`
	SizeFromLoss                 *float64 `json:"effective_size_from_loss"` // of the programme today alone: from the gene diversity lost from year to year
	KnownAncestry                *float64 `json:"known_ancestry"`
}

func poolAnswer(f *review.Figures, surviving *pedigree.Estimate) PoolAnswer {
	out := PoolAnswer{
		Size: f.Size, GeneDiversity: f.GeneDiversity.Ptr(), GeneDiversityWithoutFounders: f.WithoutFounders.Ptr(),
		MeanKinship: f.MeanKinship.Ptr(), MeanInbreeding: f.MeanInbreeding.Ptr(),
		FounderGenomeEquivalents: f.FounderGenomeEquivalents.Ptr(), FounderEquivalents: f.FounderEquivalents.Ptr(),
		EffectiveSize: f.SizeFromInbreeding().Ptr(), EffectiveSizeSE: f.SizeError().Ptr(), KnownAncestry: f.KnownAncestry.Ptr(),
	}
	if surviving != nil && f.Size > 0 {
		out.FounderGenomesSurviving, out.FounderGenomesSurvivingSE = &surviving.Value, &surviving.StandardError
	}
	return out
}

// DemographyAnswer is the birds counted.
type DemographyAnswer struct {
	Colony    CountAnswer     `json:"colony"`
	Programme CountAnswer     `json:"programme"`
	Years     []LedgerAnswer  `json:"years"`
	Females   LifeTableAnswer `json:"females"`
	Males     LifeTableAnswer `json:"males"`
	Need      NeedAnswer      `json:"chicks_needed_colony"`
	NeedAll   NeedAnswer      `json:"chicks_needed_programme"`
	Ahead     []float64       `json:"programme_projected"` // today and each coming year
}

// CountAnswer is a census of colony or programme.
type CountAnswer struct {
	Year       LedgerAnswer     `json:"since_last_review"`
	Ages       []AgeAnswer      `json:"ages"`
	AgeUnknown int              `json:"age_unknown"`
	MedianAge  *float64         `json:"median_age_years"`
	Males      ProportionAnswer `json:"males_of_known_sex"`
	Unsexed    int              `json:"sex_unknown"`
	FirstYear  ProportionAnswer `json:"lived_to_one_year"`
	Chicks     int              `json:"chicks"`
	Sires      int              `json:"sires"`
	Dams       int              `json:"dams"`
	Breeders   ProportionAnswer `json:"adults_that_bred"`
	// Clutches are those laid since the last review, ClutchesBefore those of as long a time
	// before it.
	Clutches       ClutchesAnswer `json:"clutches"`
	ClutchesBefore ClutchesAnswer `json:"clutches_before"`
}

// ClutchesAnswer is what is on record of some clutches; a sum is null where nobody counted.
type ClutchesAnswer struct {
	Laid     int  `json:"laid"`
	Replaced int  `json:"replaced"`
	Eggs     *int `json:"eggs"`
	Fertile  *int `json:"fertile"`
	Hatched  *int `json:"hatched"`
	Fledged  *int `json:"fledged"`
}

// AgeAnswer is the birds of an age class.
type AgeAnswer struct {
	Age     int `json:"age"`
	Females int `json:"females"`
	Males   int `json:"males"`
	Unsexed int `json:"sex_unknown"`
}

// LedgerAnswer is the comings and goings after one day and up to another.
type LedgerAnswer struct {
	From     string `json:"from"`
	To       string `json:"to"`
	Start    int    `json:"start"`
	Hatched  int    `json:"hatched"`
	Founders int    `json:"founders"`
	Arrived  int    `json:"arrived"`
	Departed int    `json:"departed"`
	Died     int    `json:"died"`
	End      int    `json:"end"`
}

// ProportionAnswer is a share with its exact 95% interval.
type ProportionAnswer struct {
	Count  int      `json:"count"`
	Of     int      `json:"of"`
	Share  *float64 `json:"share"`
	Low95  *float64 `json:"low95"`
	High95 *float64 `json:"high95"`
	TooFew bool     `json:"too_few_to_judge"`
}

// NeedAnswer is the chicks that must hatch next season.
type NeedAnswer struct {
	Living     int      `json:"living"`
	Target     int      `json:"target"`
	Expected   *float64 `json:"expected_living"`
	Chicks     *float64 `json:"chicks"`
	Least      *float64 `json:"least"`
	Most       *float64 `json:"most"`
	OwnRecords bool     `json:"own_records"`
}

// LifeTableAnswer is a life table of one sex.
type LifeTableAnswer struct {
	Own              bool          `json:"of_the_colony"`
	R0               *float64      `json:"net_reproduction"`
	R                *float64      `json:"growth_rate"`
	Lambda           *float64      `json:"yearly_growth"`
	GenerationLength *float64      `json:"generation_length_years"`
	Classes          []ClassAnswer `json:"classes"`
}

// ClassAnswer is an age class of a life table.
type ClassAnswer struct {
	Age       int      `json:"age"`
	AtRisk    float64  `json:"at_risk"`
	BirdYears float64  `json:"bird_years"`
	Deaths    float64  `json:"deaths"`
	Q         *float64 `json:"q"`
	QLow95    *float64 `json:"q_low95"`
	QHigh95   *float64 `json:"q_high95"`
	L         *float64 `json:"l"`
	M         *float64 `json:"m"`
	Stable    *float64 `json:"stable_share"`
	TooFew    bool     `json:"too_few_to_judge"`
}

// ChangeAnswer is the change since the last review and its causes.
type ChangeAnswer struct {
	Since     string        `json:"since"`
	Programme EffectAnswer  `json:"programme"`
	Colony    EffectAnswer  `json:"colony"`
	Sums      []SumAnswer   `json:"sums"`
	Causes    []CauseAnswer `json:"causes"`
}

// EffectAnswer is a gene pool before and the whole change in gene diversity.
type EffectAnswer struct {
	Before PoolAnswer `json:"before"`
	Change float64    `json:"gene_diversity_change"`
}

// SumAnswer is what all events of one kind did.
type SumAnswer struct {
	Kind      string  `json:"kind"`
	Count     int     `json:"count"`
	Programme float64 `json:"programme"`
	Colony    float64 `json:"colony"`
}

// CauseAnswer is one event with its exact effects on gene diversity.
type CauseAnswer struct {
	Date      string  `json:"date"`
	Kind      string  `json:"kind"`
	ID        string  `json:"id"`
	From      *string `json:"from"`
	To        *string `json:"to"`
	Programme float64 `json:"programme"`
	Colony    float64 `json:"colony"`
}

// GlanceAnswer is a figure at a glance.
type GlanceAnswer struct {
	Measure  string   `json:"measure"`
	Of       string   `json:"of"` // "programme" or "colony"
	Now      *float64 `json:"now"`
	Then     *float64 `json:"last_review"`
	Goal     *float64 `json:"goal"`
	Standing string   `json:"standing"`
	Margin   *float64 `json:"margin"`
}

// HistoryAnswer is the gene pool at the end of a year.
type HistoryAnswer struct {
	Date      string     `json:"date"`
	Programme PoolAnswer `json:"programme"`
	Colony    PoolAnswer `json:"colony"`
}

// OutlookAnswer is how long gene diversity lasts. Rates are effective sizes by
// formula, which do not agree.
type OutlookAnswer struct {
	Goal             float64          `json:"goal"`
	Years            int              `json:"years"`
	GenerationLength *float64         `json:"generation_length_years"`
	Required         *float64         `json:"effective_size_required"`
	Missed           float64          `json:"missed_by"`
	Forecast         *TrendAnswer     `json:"forecast"`
	Withheld         *string          `json:"forecast_withheld"`
	BackTests        []BackTestAnswer `json:"back_tests"`
	Rates            []RateAnswer     `json:"rates"`
	Forward          *ForwardAnswer   `json:"run_forward"`
}

// ForwardAnswer is the programme run forward bird by bird; null where that cannot be
// done.
type ForwardAnswer struct {
	Years    int             `json:"years"`
	Runs     int             `json:"runs"`
	Seed     uint64          `json:"seed"`
	Policies []ForwardPolicy `json:"policies"`
}

// ForwardPolicy is what became of the programme with its pairs chosen in a way.
type ForwardPolicy struct {
	Policy         string         `json:"policy"`
	ChanceGoalHeld float64        `json:"chance_goal_held"`
	GoalLostYear   *int           `json:"goal_lost_year"`
	GeneDiversity  ForecastFigure `json:"gene_diversity_at_the_end"`
	Moves          ForecastMean   `json:"moves"`
	Chicks         ForecastMean   `json:"chicks"`
}

func forwardAnswer(a *review.Forward) *ForwardAnswer {
	if a == nil {
		return nil
	}
	out := &ForwardAnswer{Years: a.Options.Years, Runs: a.Result.Runs, Seed: a.Options.Seed}
	for k := range a.Result.Courses {
		c := &a.Result.Courses[k]
		out.Policies = append(out.Policies, ForwardPolicy{
			c.Policy, c.GoalHeld, known(a.Outset.Day.Time().Year()+c.GoalLost, c.GoalLost >= 0), forecastFigure(c.Years[len(c.Years)-1].GeneDiversity), forecastMean(c.Moves), forecastMean(c.Chicks),
		})
	}
	return out
}

// TrendAnswer is what the gene diversity of the last years leads to. Low80
// and High80 are the ends of a range that holds with a chance of 80%; null
// years are never.
type TrendAnswer struct {
	From        string   `json:"from"`
	To          string   `json:"to"`
	CameIn      int      `json:"came_from_outside"`
	YearlyRate  float64  `json:"yearly_rate"`
	RateLow80   float64  `json:"yearly_rate_low80"`
	RateHigh80  float64  `json:"yearly_rate_high80"`
	YearsHeld   *float64 `json:"years_above_goal"`
	YearsLow80  *float64 `json:"years_above_goal_low80"`
	YearsHigh80 *float64 `json:"years_above_goal_high80"`
	Size        *float64 `json:"effective_size"`
	SizeLow80   *float64 `json:"effective_size_low80"`
	SizeHigh80  *float64 `json:"effective_size_high80"`
}

// BackTestAnswer is what the forecast would have said on a day of another, and
// what became of it.
type BackTestAnswer struct {
	On     string  `json:"on"`
	Of     string  `json:"of"`
	Said   float64 `json:"said"`
	Low80  float64 `json:"low80"`
	High80 float64 `json:"high80"`
	Became float64 `json:"became"`
}

func outlookAnswer(o *review.Outlook) OutlookAnswer {
	out := OutlookAnswer{Goal: o.Goal, Years: o.Years, GenerationLength: o.GenerationLength.Ptr(), Required: o.Required.Ptr(), Missed: o.Missed,
		BackTests: []BackTestAnswer{}, Rates: []RateAnswer{}}
	if w := o.Withheld; w != nil {
		out.Withheld = text(string(w.Code))
	}
	if f := o.Forecast; f != nil {
		rate := f.RateInterval(review.RangeLevel)
		out.Forecast = &TrendAnswer{f.From.String(), f.To.String(), f.CameIn, f.Rate, rate.Low, rate.High,
			f.Held.Ptr(), f.First.Ptr(), f.Last.Ptr(), f.Size.Ptr(), f.SizeLow.Ptr(), f.SizeHigh.Ptr()}
	}
	for _, b := range o.BackTests {
		out.BackTests = append(out.BackTests, BackTestAnswer{b.On.String(), b.Of.String(), b.Said, b.Range.Low, b.Range.High, b.Became})
	}
	for _, x := range o.Rates {
		out.Rates = append(out.Rates, RateAnswer{rateKeys[x.Source], x.Ne.Ptr(), x.Ratio.Ptr(), x.AtGoalYear.Ptr(), x.YearsHeld.Ptr()})
	}
	return out
}

// RateAnswer is an effective size by formula and what follows from it.
type RateAnswer struct {
	From       string   `json:"from"`
	Ne         *float64 `json:"effective_size"`
	Ratio      *float64 `json:"share_of_living"`
	AtGoalYear *float64 `json:"gene_diversity_at_the_end"`
	YearsHeld  *float64 `json:"years_above_goal"`
}

// FounderAnswer is what is left of a founder.
type FounderAnswer struct {
	ID           string   `json:"id"`
	Alive        *bool    `json:"alive"`
	Contribution float64  `json:"contribution"`
	Colony       float64  `json:"contribution_colony"`
	Retention    float64  `json:"retention"`
	RetentionSE  float64  `json:"retention_standard_error"`
	InOneBird    float64  `json:"in_one_bird"`
	InOneBirdSE  float64  `json:"in_one_bird_standard_error"`
	InTwoBirds   float64  `json:"in_two_birds"`
	InTwoBirdsSE float64  `json:"in_two_birds_standard_error"`
	Descendants  int      `json:"living_descendants"`
	HeldBy       []string `json:"held_by"` // of lines held by one or two birds
}

// ReviewedBird is a bird of the colony and what to do with it.
type ReviewedBird struct {
	BirdRow
	UniquenessSE *float64 `json:"genome_uniqueness_standard_error"`
	Action       string   `json:"action"`
	Why          string   `json:"why"`
}

// ReviewedPair is a pair of the season's decision and what to do with it.
type ReviewedPair struct {
	Female              string   `json:"female"`
	Male                string   `json:"male"`
	Since               *string  `json:"since"`
	Nest                *string  `json:"nest"`
	Bond                string   `json:"bond"`
	Role                *string  `json:"role"`
	Action              string   `json:"action"`
	HatchUpTo           int      `json:"hatch_up_to"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	GeneDiversityGain   float64  `json:"gene_diversity_gain"`
	Advantage           float64  `json:"advantage"`
	AheadOf             *float64 `json:"ahead_of"` // of new pairs
	PartingWorth        *float64 `json:"parting_worth"`
	SuccessChance       float64  `json:"success_chance"`
	ExpectedChicks      float64  `json:"expected_chicks"` // if all its eggs are left to it
	ChicksExpected      float64  `json:"chicks_expected"` // of those that it may hatch
	Clutches            int      `json:"clutches"`
	ClutchesTold        int      `json:"clutches_with_outcome"`
	ClutchesDummied     int      `json:"clutches_with_dummies"`
	Eggs                *int     `json:"eggs"`
	Fertile             *int     `json:"fertile"`
	Hatched             *int     `json:"hatched"`
	Fledged             *int     `json:"fledged"`
	FailedSeasons       int      `json:"failed_seasons_in_a_row"`
	Why                 []string `json:"why"`
}

// ReviewedInbred is an inbred bird of the colony.
type ReviewedInbred struct {
	ID         string         `json:"id"`
	Inbreeding float64        `json:"inbreeding"`
	Through    []SourceAnswer `json:"through"`
	Others     float64        `json:"through_others"` // the part of F through those that are not listed
	Founders   []SourceAnswer `json:"founders"`
}

// transfersListed is how many useful moves a review lists for other programs.
const transfersListed = 20

var kindKeys = map[review.CauseKind]string{
	review.HatchHere: "hatch_here", review.FounderHere: "founder_here", review.Arrival: "arrival", review.Departure: "departure",
	review.DeathHere: "death_here", review.HatchElsewhere: "hatch_elsewhere", review.FounderElsewhere: "founder_elsewhere", review.DeathElsewhere: "death_elsewhere", review.LeftElsewhere: "left_elsewhere",
}

var rateKeys = map[review.RateSource]string{
	review.FromInbreeding: "inbreeding", review.FromBreeders: "breeders", review.FromFamilies: "families",
}

// ReviewJSON returns the review as other programs read it.
func ReviewJSON(r *review.Review) ReviewAnswer {
	p := r.Programme
	id := func(b int) string { return p.Book.Birds[b].ID }
	out := ReviewAnswer{
		AsOf: p.Book.AsOf.String(), Colony: text(r.Colony),
		Genetics: GeneticsAnswer{
			Programme: poolAnswer(&r.ProgrammeGenetics.Figures, &r.ProgrammeGenetics.GenomesSurviving),
			Colony:    poolAnswer(&r.ColonyGenetics.Figures, &r.ColonyGenetics.GenomesSurviving),
		},
		Iterations: r.Drop.Iterations,
		Demography: demographyAnswer(r.Numbers), ChangeSince: changeAnswer(r),
		AtAGlance: glancesJSON(r.Glances), CannotSay: report.MissingTexts(r), History: []HistoryAnswer{}, Founders: []FounderAnswer{},
		Birds: []ReviewedBird{}, Pairs: []ReviewedPair{}, Inbred: []ReviewedInbred{},
		Gaps: CheckJSON(nil, p, r.Gaps).Gaps, Assumptions: append([]string{}, report.Assumptions(p, report.ReviewSettings...)...),
	}
	for k := range r.History {
		y := &r.History[k]
		out.History = append(out.History, HistoryAnswer{y.Day.String(), poolAnswer(&y.Programme, nil), poolAnswer(&y.Colony, nil)})
	}
	out.Outlook = outlookAnswer(r.Outlook)
	out.Outlook.Forward = forwardAnswer(r.Forward)
	if f := r.Outlook.Forecast; f != nil {
		out.Genetics.Programme.SizeFromLoss = f.Size.Ptr()
	}
	for _, f := range r.Founders {
		held := []string{}
		for _, c := range f.Carriers {
			held = append(held, id(c))
		}
		out.Founders = append(out.Founders, FounderAnswer{p.Pedigree.Name(f.Node), known(f.Alive, f.Bird >= 0), f.Contribution, f.Colony,
			f.Retention.Value, f.Retention.StandardError, f.InOneBird.Value, f.InOneBird.StandardError, f.InTwoBirds.Value, f.InTwoBirds.StandardError, f.Descendants, held})
	}
	for k := range r.Birds {
		x := &r.Birds[k]
		out.Birds = append(out.Birds, ReviewedBird{birdRow(p, &x.Row), uniquenessSE(&x.Row), string(x.Action), report.BirdReasons(p, x)})
	}
	for k := range r.Pairs {
		x := &r.Pairs[k]
		s := &x.Record
		out.Pairs = append(out.Pairs, ReviewedPair{
			Female: id(x.Female), Male: id(x.Male), Since: text(x.Since.Text), Nest: text(x.Nest), Bond: string(x.Kind), Role: text(string(x.Role)),
			Action: string(x.Action), HatchUpTo: x.HatchUpTo,
			OffspringInbreeding: x.Kinship, GeneDiversityGain: x.GeneDiversityGain, Advantage: x.Advantage, AheadOf: known(x.AheadOf, x.Kind == pairing.BondNew),
			SuccessChance: x.Success.Chance, ExpectedChicks: x.Chicks, ChicksExpected: x.Expected,
			Clutches: s.Clutches, ClutchesTold: s.Told(), ClutchesDummied: s.Dummied, Eggs: counted(s.Eggs), Fertile: counted(s.Fertile),
			Hatched: counted(s.Hatched), Fledged: counted(s.Fledged), FailedSeasons: x.FailedSeasons, Why: report.PairWhy(p, x),
		})
		if x.Parting != nil {
			out.Pairs[k].PartingWorth = &x.Parting.Worth
		}
	}
	out.Decisions, out.LeftOut = []DecisionAnswer{}, []DecisionsLeftOut{}
	for _, x := range r.LeftOut {
		out.LeftOut = append(out.LeftOut, DecisionsLeftOut{string(x.What), x.Count})
	}
	for k := range r.Decisions {
		x := &r.Decisions[k]
		out.Decisions = append(out.Decisions, DecisionAnswer{report.DecisionWho(x), report.DecisionWhat(p, x), day(x.By), report.DecisionWhy(p, x), day(x.AgreeBy), undoing(p, x.Or)})
	}
	out.Young = youngJSON(p, r.Plan.Young)
	var rankings []*pairing.Ranking
	for _, u := range r.Unpaired {
		rankings = append(rankings, u.Ranking)
	}
	out.Unpaired = BestMatesJSON(p, rankings, report.MatesShown)
	out.Plan = PlanJSON(p, r.Plan)
	out.LastYear = []ResultAnswer{}
	if l := r.LastYear; l != nil {
		for k := range l.Results {
			x := &l.Results[k]
			out.LastYear = append(out.LastYear, ResultAnswer{report.AdvisedText(x), report.BecameText(x), text(report.ResultText(x))})
		}
		if l.Pairs > 0 {
			out.Calibration = &CalibrationAnswer{l.Expected, l.Hatched, l.Low, l.High}
		}
		if d := l.Deaths; d != nil {
			out.Deaths = (*DeathsAnswer)(d)
		}
	}
	out.Transfers = []TransferListed{}
	if r.Transfers != nil {
		out.Transfers = TransferRows(p, r.Transfers, transfersListed)
	}
	for _, x := range r.Inbred {
		i := ReviewedInbred{ID: id(x.Bird), Inbreeding: x.Inbreeding, Others: x.Others, Through: []SourceAnswer{}, Founders: []SourceAnswer{}}
		for _, m := range x.Through {
			i.Through = append(i.Through, SourceAnswer{p.Pedigree.Name(m.Ancestor), m.Contribution})
		}
		for _, s := range x.Founders {
			i.Founders = append(i.Founders, SourceAnswer{p.Pedigree.Name(s.Node), s.Part})
		}
		out.Inbred = append(out.Inbred, i)
	}
	return out
}

func glancesJSON(glances []review.Glance) []GlanceAnswer {
	out := []GlanceAnswer{}
	for _, g := range glances {
		of := "colony"
		if g.InProgramme {
			of = "programme"
		}
		out = append(out, GlanceAnswer{string(g.Measure), of, g.Now.Ptr(), g.Then.Ptr(), g.Goal.Ptr(), string(g.Standing), g.Margin.Ptr()})
	}
	return out
}

func changeAnswer(r *review.Review) ChangeAnswer {
	c := r.Change
	out := ChangeAnswer{
		Since: c.Since.String(), Programme: EffectAnswer{poolAnswer(&c.ProgrammeBefore, nil), c.Programme},
		Colony: EffectAnswer{poolAnswer(&c.ColonyBefore, nil), c.Colony}, Sums: []SumAnswer{}, Causes: []CauseAnswer{},
	}
	for _, s := range c.Sums {
		out.Sums = append(out.Sums, SumAnswer{kindKeys[s.Kind], s.Count, s.Programme, s.Colony})
	}
	for _, x := range c.Causes {
		out.Causes = append(out.Causes, CauseAnswer{x.Day.String(), kindKeys[x.Kind], r.Programme.Book.Birds[x.Bird].ID, text(x.From), text(x.To), x.Programme, x.Colony})
	}
	return out
}

func demographyAnswer(n *review.Numbers) DemographyAnswer {
	out := DemographyAnswer{
		Colony: countAnswer(&n.Colony), Programme: countAnswer(&n.Programme), Years: []LedgerAnswer{},
		Females: lifeTableAnswer(&n.Females), Males: lifeTableAnswer(&n.Males), Need: needAnswer(&n.Need), NeedAll: needAnswer(&n.ProgrammeNeed), Ahead: append([]float64{}, n.Ahead...),
	}
	for k := range n.ByYear {
		out.Years = append(out.Years, ledgerAnswer(&n.ByYear[k]))
	}
	return out
}

func countAnswer(c *review.Count) CountAnswer {
	out := CountAnswer{
		Year: ledgerAnswer(&c.Year), Ages: []AgeAnswer{}, AgeUnknown: c.Ages.Unknown.Total(), MedianAge: c.Ages.Median.Ptr(),
		Males: proportionAnswer(c.Sexes.Males), Unsexed: c.Sexes.Unsexed, FirstYear: proportionAnswer(c.FirstYear),
		Chicks: c.Breeding.Chicks, Sires: c.Breeding.Sires, Dams: c.Breeding.Dams, Breeders: proportionAnswer(c.Breeding.All),
		Clutches: clutchesAnswer(&c.Clutches), ClutchesBefore: clutchesAnswer(&c.ClutchesBefore),
	}
	for _, a := range c.Ages.Classes {
		out.Ages = append(out.Ages, AgeAnswer(a))
	}
	return out
}

func clutchesAnswer(b *pairing.Broods) ClutchesAnswer {
	sum := func(c pairing.Counted) *int { return known(c.Sum, c.Known()) }
	return ClutchesAnswer{b.Clutches, b.Dummied, sum(b.Eggs), sum(b.Fertile), sum(b.Hatched), sum(b.Fledged)}
}

func ledgerAnswer(l *demography.Ledger) LedgerAnswer {
	return LedgerAnswer{l.From.String(), l.To.String(), l.Start, l.Hatched, l.Founders, l.Arrived, l.Departed, l.Died, l.End}
}

func proportionAnswer(x demography.Proportion) ProportionAnswer {
	return ProportionAnswer{x.Count, x.Of, known(x.Value, x.Known), known(x.Exact.Low, x.Known), known(x.Exact.High, x.Known), x.TooFew}
}

func needAnswer(n *demography.Need) NeedAnswer {
	return NeedAnswer{n.Living, n.Target, n.Expected.Ptr(), n.Chicks.Ptr(), n.Least.Ptr(), n.Most.Ptr(), n.OwnRecords}
}

func lifeTableAnswer(t *review.Table) LifeTableAnswer {
	g := t.Growth
	out := LifeTableAnswer{Own: t.Own, R0: known(g.R0, g.R.Known), R: g.R.Ptr(), Lambda: g.Lambda.Ptr(), GenerationLength: g.GenerationLength.Ptr(), Classes: []ClassAnswer{}}
	for _, c := range t.Classes {
		out.Classes = append(out.Classes, ClassAnswer{c.Age, c.AtRisk, c.Exposure, c.Deaths, c.Q.Ptr(), known(c.QExact.Low, c.Q.Known), known(c.QExact.High, c.Q.Known), c.L.Ptr(), c.M.Ptr(), stable(t, c.Age), c.TooFew})
	}
	return out
}

func stable(t *review.Table, age int) *float64 {
	if age >= len(t.Stable) {
		return nil
	}
	return &t.Stable[age]
}

// counted is a sum over clutches, null where nobody counted.
func counted(c pairing.Counted) *int { return known(c.Sum, c.Known()) }
