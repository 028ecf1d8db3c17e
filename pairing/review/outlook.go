package review

import (
	"math"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Outlook is how the programme's gene diversity stands to its goal, and how
// long it lasts.
type Outlook struct {
	// Goal is the share of the founders' gene diversity to be kept for Years
	// years from the day of the review.
	Goal  float64
	Years int
	Now   Number

	// GenerationLength is the mean age in years of the parents of the chicks
	// hatched in the last lengthYears years, or of all chicks on record where
	// there are none.
	GenerationLength Number
	AllChicks        bool // of all chicks on record

	Generations Number  // that Years are
	Missed      float64 // what lacks to the goal already now; 0 if nothing
	Required    Number  // effective size that just keeps the goal; unknown where Missed

	Rates []Rate // one for each way to tell the effective size
}

// RateSource is where an effective size comes from.
type RateSource byte

// The ways to tell the effective size, surest first.
const (
	FromInbreeding RateSource = iota // realised inbreeding (Gutiérrez et al. 2009)
	FromDiversity                    // the loss of gene diversity over the last generation
	FromBreeders                     // the sexes of the birds that bred in the last generation (Wright 1931)
	FromFamilies                     // variance of lifetime family size (Kimura & Crow 1963)
)

// Rate is an effective size with what follows from it for the gene diversity,
//
//	GD_t = GD_0 (1 − 1/(2Ne))^t,  t = years / generation length
type Rate struct {
	Source RateSource
	Ne     Number
	SE     Number // of Ne, where it is known
	Ratio  Number // Ne/N

	AtGoalYear Number // gene diversity at the end of the goal's years
	YearsHeld  Number // years until the goal is lost; unknown where it never is, or Ne is unknown
}

// lengthYears is how far back the chicks are counted that the generation
// length is taken from (common practice, no source).
const lengthYears = 20

// daysBack returns the day some years before another.
func daysBack(day studbook.Day, years float64) studbook.Day {
	return max(1, day-studbook.Day(math.Round(years*studbook.DaysPerYear)))
}

// NewOutlook returns the outlook of the programme. history is its History.
func NewOutlook(p *pairing.Programme, census *demography.Census, history []Year) *Outlook {
	set := p.Settings()
	o := &Outlook{Goal: set.GoalGeneDiversity, Years: set.GoalYears}
	gd, ok := p.Living.GeneDiversity()
	o.Now = number(gd, ok)
	today := p.Book.AsOf
	o.GenerationLength = census.ParentAges(demography.Programme, daysBack(today, lengthYears), today).Length
	if !o.GenerationLength.Known {
		o.GenerationLength = census.ParentAges(demography.Programme, 0, today).Length
		o.AllChicks = true
	}
	length := o.GenerationLength
	if length.Known && length.Value > 0 {
		o.Generations = number(float64(o.Years)/length.Value, true)
	}
	if o.Now.Known {
		o.Missed = max(0, o.Goal-o.Now.Value)
		if o.Generations.Known {
			o.Required, _ = demography.SizeForGoal(o.Now.Value, o.Goal, o.Generations.Value)
		}
	}
	realised, ok := p.Living.RealisedEffectiveSize()
	o.add(p, FromInbreeding, number(realised.Size, ok), number(realised.StandardError, ok && realised.Birds > 1))
	o.add(p, FromDiversity, o.fromHistory(history), Number{})
	var breeders Number
	if length.Known {
		if b := census.Breeding(demography.Programme, daysBack(today, length.Value), today); b.Size > 0 {
			breeders = number(b.Size, true)
		}
	}
	o.add(p, FromBreeders, breeders, Number{})
	o.add(p, FromFamilies, census.Families().Size, Number{})
	return o
}

// fromHistory returns the effective size that explains the change of gene
// diversity over the last generation.
func (o *Outlook) fromHistory(history []Year) Number {
	if len(history) == 0 || !o.Generations.Known {
		return Number{}
	}
	last := history[len(history)-1]
	then := daysBack(last.Day, o.GenerationLength.Value)
	for k := len(history) - 1; k >= 0; k-- {
		y := &history[k]
		if y.Day > then || !y.Programme.GeneDiversity.Known {
			continue
		}
		generations := float64(last.Day-y.Day) / studbook.DaysPerYear / o.GenerationLength.Value
		return demography.DiversityLossSize(y.Programme.GeneDiversity.Value, o.Now.Value, generations)
	}
	return Number{}
}

func (o *Outlook) add(p *pairing.Programme, source RateSource, ne, se Number) {
	r := Rate{Source: source, Ne: ne, SE: se, Ratio: demography.SizeRatio(ne, p.Living.Size())}
	if ne.Known && o.Now.Known && o.Generations.Known {
		r.AtGoalYear = demography.DiversityAfter(o.Now.Value, ne.Value, o.Generations.Value)
		if held := demography.GenerationsHeld(o.Now.Value, o.Goal, ne.Value); held.Known {
			r.YearsHeld = number(held.Value*o.GenerationLength.Value, true)
		}
	}
	o.Rates = append(o.Rates, r)
}

// Rate returns the rate from a source.
func (o *Outlook) Rate(source RateSource) *Rate { return &o.Rates[source] }

// Best returns the surest rate whose effective size is known, nil if none is.
func (o *Outlook) Best() *Rate {
	for k := range o.Rates {
		if o.Rates[k].Ne.Known {
			return &o.Rates[k]
		}
	}
	return nil
}
