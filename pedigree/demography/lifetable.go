package demography

import (
	"math"
)

// Brood is a hatch seen from one of the parents.
type Brood struct {
	Age    float64 // of the parent in years when the chick hatched
	Chicks float64 // of the parent's own sex; half a chick where its sex is unknown
}

// Class is one age class of a life table, [Age, Age+1).
type Class struct {
	Age      int
	AtRisk   float64 // birds exposed to the whole year: see NewLifeTable
	Exposure float64 // bird-years lived, by bird-days
	Deaths   float64
	Chicks   float64

	Q Number // chance to die in the class, in 0..1; unknown where nobody was at risk
	P Number // 1 - Q
	L Number // share of hatched birds that reach the class; unknown past a class of unknown Q
	M Number // chicks of the parent's own sex for each bird at risk

	// QWilson and QExact are the intervals of Q at Level, Wilson's for display
	// and Clopper-Pearson's; both are meaningless where Q is unknown.
	QWilson, QExact Interval
	TooFew          bool // AtRisk is below FewAtRisk
}

// LifeTable is deaths and chicks by age class from hatch to the highest age
// watched.
type LifeTable struct {
	Birds   float64 // lives watched, by weight
	Deaths  float64
	Chicks  float64
	Classes []Class
}

// NewLifeTable returns the life table of the lives watched and of the broods
// their birds had while watched. A bird is exposed in the part of each class
// in which it was watched; one that died counts as exposed to the end of the
// class it died in, so that in a class without comings and goings AtRisk is
// the number of birds that entered it (actuarial method, initial exposed to
// risk):
//
//	q_x = deaths / at risk,  p_x = 1 - q_x
//	l_0 = 1,  l_{x+1} = l_x p_x
//	m_x = chicks / at risk
//
// Where birds that came in late in the class die in it, deaths can exceed the
// exposure; q is then 1. Counts are whole numbers unless lives carry weights.
// It panics on a Life or Brood out of its range.
func NewLifeTable(lives []Life, broods []Brood) LifeTable {
	checkLives(lives)
	var t LifeTable
	oldest := -1
	for _, l := range lives {
		if l.watched() {
			oldest = max(oldest, int(l.Exit))
		}
	}
	t.Classes = make([]Class, oldest+1)
	for x := range t.Classes {
		t.Classes[x].Age = x
	}
	for _, l := range lives {
		if l.watched() {
			t.watch(l)
		}
	}
	for _, b := range broods {
		if !(b.Age >= 0 && b.Chicks >= 0) || math.IsInf(b.Chicks, 1) {
			panic("demography: brood out of range")
		}
		if x := int(b.Age); x < len(t.Classes) {
			t.Classes[x].Chicks += b.Chicks
			t.Chicks += b.Chicks
		}
	}
	reached := known(1)
	for x := range t.Classes {
		t.Classes[x].rate(reached)
		reached = t.Classes[x].leaving()
	}
	return t
}

// watch adds one life to the classes it passes through.
func (t *LifeTable) watch(l Life) {
	w := l.weight()
	t.Birds += w
	for x := int(l.Entry); x <= int(l.Exit); x++ {
		c := &t.Classes[x]
		from, to := max(l.Entry, float64(x)), min(l.Exit, float64(x+1))
		c.Exposure += w * (to - from)
		if l.Died && x == int(l.Exit) {
			c.Deaths += w
			t.Deaths += w
			to = float64(x + 1)
		}
		c.AtRisk += w * (to - from)
	}
}

// rate fills the rates of a class from its counts.
func (c *Class) rate(reached Number) {
	c.L = reached
	c.TooFew = c.AtRisk < FewAtRisk
	if c.AtRisk == 0 {
		return
	}
	n := max(c.AtRisk, c.Deaths)
	c.Q = known(c.Deaths / n)
	c.P = known(1 - c.Q.Value)
	c.M = known(c.Chicks / c.AtRisk)
	c.QWilson, _ = wilson(c.Deaths, n, Level)
	c.QExact, _ = clopperPearson(c.Deaths, n, Level)
}

// leaving returns the share of hatched birds that live to the end of the class.
func (c *Class) leaving() Number {
	if !c.L.Known || !c.Q.Known {
		return Number{}
	}
	return known(c.L.Value * c.P.Value)
}

// Schedule returns l and m for the functions of growth and projection, for
// every age whose rates are known without a gap from hatch on.
func (t LifeTable) Schedule() (l, m []float64) {
	for _, c := range t.Classes {
		if !c.L.Known || !c.M.Known {
			break
		}
		l, m = append(l, c.L.Value), append(m, c.M.Value)
	}
	return l, m
}

// Open reports whether birds live past the last age of the Schedule. Figures
// from an open table leave out what those birds have still to live and breed:
// life expectancy, R0 and growth are then too low.
func (t LifeTable) Open() bool {
	open := false
	for i := range t.Classes {
		end := t.Classes[i].leaving()
		if !end.Known {
			return true
		}
		open = end.Value > 0
	}
	return open
}

// Growth returns the figures of growth of the table's Schedule.
func (t LifeTable) Growth() Growth { return NewGrowth(t.Schedule()) }

// LifeExpectancy returns the mean age at death in years from hatch; atLeast
// says that the table is Open and the figure a lower bound. Unknown where no
// bird was watched from hatch.
func (t LifeTable) LifeExpectancy() (years Number, atLeast bool) {
	l, _ := t.Schedule()
	if len(l) == 0 {
		return Number{}, false
	}
	return known(LifeExpectancy(l)), t.Open()
}

// Adult returns the yearly survival of all birds from an age class on, pooled:
// one minus deaths over birds at risk. It stands in for classes with too few.
// Unknown where no bird was at risk.
func (t LifeTable) Adult(from int) Number {
	risk, deaths := t.pooled(from, len(t.Classes)-1)
	if risk == 0 {
		return Number{}
	}
	return known(max(0, 1-deaths/risk))
}

// Eldest returns the yearly survival of the eldest birds, pooled over the fewest of the
// last classes that have 20 bird-years at risk together, and the first of those ages. It
// is smoothed as SmoothedSurvival is, and stands in for ages that too few birds reached.
// Unknown where all classes together have fewer bird-years.
func (t LifeTable) Eldest() (from int, survival Number) {
	for from = len(t.Classes) - 1; from >= 1; from-- {
		if risk, deaths := t.pooled(from, len(t.Classes)-1); risk >= enoughYears {
			return from, known(t.smoothed(risk, deaths))
		}
	}
	return 0, Number{}
}

// Suffices reports whether the table can stand by itself beside a larger one:
// it has FewAtRisk birds at risk in every class up to the age that half of the
// birds of the larger table do not reach, or up to its last class. Common
// practice, no source.
func (t LifeTable) Suffices(larger LifeTable) bool {
	if len(larger.Classes) == 0 {
		return false
	}
	for x, c := range larger.Classes {
		if c.L.Known && c.L.Value < 0.5 {
			break
		}
		if x >= len(t.Classes) || t.Classes[x].TooFew {
			return false
		}
	}
	return true
}
