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
	Goal   float64
	Years  int
	Now    Number
	Missed float64 // what lacks to the goal already now; 0 if nothing

	// Forecast is what the gene diversity of the last years leads to; nil
	// where it is Withheld.
	Forecast *Forecast
	Withheld *Withheld
	// BackTests are what the same method would have said in earlier years,
	// oldest first, of the years that are over now.
	BackTests []BackTest

	// GenerationLength is the mean age in years of the parents of the chicks
	// hatched in the last LengthYears years, or of all chicks on record where
	// there are none.
	GenerationLength Number
	AllChicks        bool // of all chicks on record

	Generations Number // that Years are
	Required    Number // effective size that just keeps the goal; unknown where Missed

	Rates []Rate // other ways to tell the effective size, that do not agree
}

// Forecast is how gene diversity goes on if what moved it in some years moves
// it as long as it is looked ahead.
type Forecast struct {
	demography.Trend
	From, To studbook.Day // of the years that it is told from

	// CameIn is the number of birds that came into the programme from outside
	// in those years: they bring gene diversity, and the rate counts on more.
	CameIn int

	// Held is the number of years until the goal is lost, First and Last when
	// the lower and the upper end of the range of RangeLevel lose it: unknown
	// where that never happens.
	Held, First, Last Number

	// Size is the effective size that goes with the loss, 1/(2(1 − e^(rate·L))),
	// with its range; unknown where nothing is lost or no generation length L
	// is known.
	Size, SizeLow, SizeHigh Number
}

// What a forecast is told from and how it is tested (common practice, no
// source).
const (
	// ForecastYears is how many of the last years a forecast is told from at
	// most, ForecastLeast how many it takes.
	ForecastYears = 20
	ForecastLeast = 8
	// BackTestYears is how far ahead a forecast of earlier years is held
	// against what became of it.
	BackTestYears = 10
	// RangeLevel is the chance with which what comes lies in a range.
	RangeLevel = 0.8
	// trusted is the share of the back-tests that must lie in their range.
	trusted = 0.5
)

// BackTest is what the method would have said on a day of another, and what
// became of it.
type BackTest struct {
	On, Of studbook.Day
	Was    float64 // gene diversity on the day
	Said   float64
	Range  demography.Interval
	Became float64
}

// Held reports whether what became of it lies in the range.
func (b *BackTest) Held() bool { return b.Range.Low <= b.Became && b.Became <= b.Range.High }

// Withheld is why there is no forecast.
type Withheld struct {
	Code WithheldCode
	// Years of gene diversity on record in a row until now, and Wanted; with
	// BackTestFailed back-tests and how many held their range.
	Have, Want int
}

// WithheldCode names a reason why there is no forecast.
type WithheldCode string

// The reasons why there is no forecast.
const (
	NobodyLives    WithheldCode = "nobody_lives"
	TooFewYears    WithheldCode = "too_few_years"    // for a forecast and a back-test of it
	BackTestFailed WithheldCode = "back_test_failed" // fewer than half of what it would have said earlier came true
)

// RateSource is where an effective size comes from.
type RateSource byte

// The other ways to tell the effective size.
const (
	FromInbreeding RateSource = iota // realised inbreeding (Gutiérrez et al. 2009)
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

// LengthYears is how far back the chicks are counted that the generation
// length is taken from (common practice, no source).
const LengthYears = 20

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
	o.GenerationLength = census.ParentAges(demography.Programme, daysBack(today, LengthYears), today).Length
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
	o.BackTests = backTests(history)
	o.Forecast, o.Withheld = extrapolate(history, o.Goal, o.BackTests)
	if f := o.Forecast; f != nil {
		for _, e := range census.Events(f.From, f.To) {
			if e.Kind == demography.CameIn {
				f.CameIn++
			}
		}
		if length.Known {
			within := f.RateInterval(RangeLevel)
			f.Size, f.SizeLow, f.SizeHigh = lossSize(f.Rate, length.Value), lossSize(within.Low, length.Value), lossSize(within.High, length.Value)
		}
	}
	var figures Figures
	figures.Realised, _ = p.Living.RealisedEffectiveSize()
	var inbreeding, se Number
	if figures.Realised.Inbred >= demography.FewAtRisk {
		inbreeding, se = figures.SizeFromInbreeding(), figures.SizeError()
	}
	o.add(p, FromInbreeding, inbreeding, se)
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

// lossSize returns the effective size that loses gene diversity at a rate a
// year in generations of some years.
func lossSize(rate, length float64) Number {
	if rate >= 0 {
		return Number{}
	}
	return demography.SizeToKeep(math.Exp(rate*length), 1)
}

// recent returns the last years in a row in which gene diversity is known, at
// most ForecastYears of them and the day before.
func recent(history []Year) []Year {
	first := len(history)
	for first > 0 && len(history)-first <= ForecastYears && history[first-1].Programme.GeneDiversity.Known && history[first-1].Programme.GeneDiversity.Value > 0 {
		first--
	}
	return history[first:]
}

// trend returns the trend of the last years of a history; ok is false where
// there are fewer than ForecastLeast.
func trend(history []Year) (t demography.Trend, ok bool) {
	history = recent(history)
	if len(history) <= ForecastLeast {
		return t, false
	}
	var days []studbook.Day
	var values []float64
	for k := range history {
		days = append(days, history[k].Day)
		values = append(values, history[k].Programme.GeneDiversity.Value)
	}
	return demography.NewTrend(days, values)
}

// backTests asks every year that is BackTestYears over, with the years before
// it, for the gene diversity that came after.
func backTests(history []Year) []BackTest {
	var out []BackTest
	for k := range history {
		then := k + BackTestYears
		if then >= len(history) || !history[then].Programme.GeneDiversity.Known {
			continue
		}
		t, ok := trend(history[:k+1])
		if !ok {
			continue
		}
		b := BackTest{On: history[k].Day, Of: history[then].Day, Was: history[k].Programme.GeneDiversity.Value, Became: history[then].Programme.GeneDiversity.Value}
		b.Said, b.Range = t.After(b.Was, float64(b.Of-b.On)/studbook.DaysPerYear, RangeLevel)
		b.Said, b.Range.High = min(1, b.Said), min(1, b.Range.High) // while founders still come
		out = append(out, b)
	}
	return out
}

// extrapolate looks ahead from the last year of a history, or says why not: where
// no earlier forecast can be tested, or most of them were wrong, this one is
// not to be trusted either.
func extrapolate(history []Year, goal float64, tests []BackTest) (*Forecast, *Withheld) {
	last := len(history) - 1
	if last < 0 || !history[last].Programme.GeneDiversity.Known {
		return nil, &Withheld{Code: NobodyLives}
	}
	years := 0
	for last-years > 0 && history[last-years-1].Programme.GeneDiversity.Known {
		years++
	}
	t, ok := trend(history)
	if !ok || len(tests) == 0 {
		return nil, &Withheld{Code: TooFewYears, Have: years, Want: ForecastLeast + BackTestYears}
	}
	held := 0
	for k := range tests {
		if tests[k].Held() {
			held++
		}
	}
	if float64(held) < trusted*float64(len(tests)) {
		return nil, &Withheld{Code: BackTestFailed, Have: held, Want: len(tests)}
	}
	f := &Forecast{Trend: t, From: recent(history)[0].Day, To: history[last].Day}
	if now := history[last].Programme.GeneDiversity.Value; goal > 0 {
		f.Held, f.First, f.Last = t.Held(now, goal, RangeLevel)
	}
	return f, nil
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
