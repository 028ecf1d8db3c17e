package pairing

import (
	"cmp"
	"math"
	"slices"

	"pairwright/pedigree/studbook"
)

// EggAdvice is what to do with the eggs of a clutch that lies there now.
type EggAdvice string

// The advice.
const (
	LeaveEggs   EggAdvice = "leave"
	CandleEggs  EggAdvice = "candle"
	ReplaceEggs EggAdvice = "replace" // by dummies
	FosterEggs  EggAdvice = "foster"  // to another sitting pair
)

// What is said of eggs. Birds are the pair.
const (
	EggsPlanned    Code = "planned"     // Count chicks that may hatch, Of eggs
	EggsReserve    Code = "reserve"     // Date when the last of the planned pairs is candled, unknown where one has not laid
	EggsNeeded     Code = "needed"      // Value chicks to be expected of the planned pairs, all candled, Count chicks wanted
	EggsNotWanted  Code = "not_wanted"  // others hatch the chicks that are wanted
	EggsSettled    Code = "settled"     // Count days since the first egg, Of from when no egg is taken
	EggsInfertile  Code = "infertile"   // none is fertile
	EggsMakeWay    Code = "make_way"    // none is fertile, and without them the pair may lay again until Date
	EggsBarred     Code = "barred"      // the pair should hatch nothing
	EggsFostered   Code = "fostered"    // Birds the pair and the two that are to sit on them
	EggsTaken      Code = "host"        // Birds the pair and the two whose eggs it is to sit on
	EggsOverTheTop Code = "over_limit"  // Count chicks that may hatch, Of fertile eggs
	EggsUncandled  Code = "not_candled" // Date of candling, past or to come
	EggsClear      Code = "clear"       // none is fertile, and the pair is to be examined
)

// Eggs is a clutch that a pair sits on today, with what to do and by when.
type Eggs struct {
	Female, Male int
	Clutch       *studbook.Clutch
	Advice       EggAdvice
	// By is the last day for it, which may have passed; 0 where there is nothing to do.
	// From is the first, where that is not By too: eggs are replaced as they are laid.
	By, From studbook.Day
	// SettleBy is of eggs that the plan would have replaced and the other plan wants (see
	// OtherPlan) the last day on which any of them could be taken: what becomes of them is
	// to be settled before. 0 of others.
	SettleBy studbook.Day
	// To is the female and the male that are to sit on eggs to be fostered.
	To      [2]int
	Reasons []Reason
}

// TakenAway reports whether the eggs are to be replaced by nothing, so that the pair may
// lay again: dummies would keep it from that.
func (e *Eggs) TakenAway() bool { return MakeWay(e.Reasons) }

// MakeWay reports whether one of the reasons of what to do with eggs is EggsMakeWay.
func MakeWay(reasons []Reason) bool {
	return slices.ContainsFunc(reasons, func(r Reason) bool { return r.Is(EggsMakeWay) })
}

// overdueDays is how long after its time a clutch may still hatch, and how far
// apart two clutches may be laid for eggs to be fostered (common practice, no
// source).
const (
	overdueDays = 14
	fosterDays  = 7
)

// sitsOn reports whether a clutch is one that may still hatch and has not; dummies
// never do.
func (p *Programme) sitsOn(c *studbook.Clutch) bool {
	return c.Laid.Known() && c.Hatched < 0 && c.Fledged < 0 && !c.Replaced &&
		p.Book.AsOf <= c.Laid.Last+studbook.Day(p.Settings().IncubationDays+overdueDays)
}

// hatchedThisSeason counts the chicks of a scope that clutches of the coming or
// running season have hatched already.
func (p *Programme) hatchedThisSeason(o PlanOptions) (chicks int, byPair map[[2]int]int) {
	byPair = map[[2]int]int{}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		f, okF := p.Book.Index(c.Female)
		m, okM := p.Book.Index(c.Male)
		if c.Hatched <= 0 || !okF || !okM || !c.Laid.Known() || p.laidIn(c.Laid.Mid()) != p.Season() {
			continue
		}
		byPair[[2]int{f, m}] += c.Hatched
		if o.has(p.Book.Birds[f].Location) {
			chicks += c.Hatched
		}
	}
	return chicks, byPair
}

// settled reports whether a pair has sat on a clutch so long that no egg is taken
// from under it.
func (p *Programme) settled(c *studbook.Clutch) bool {
	return p.Book.AsOf-c.Laid.Mid() >= studbook.Day(p.Settings().SettledDays)
}

// eggsOf returns the eggs of a clutch that may hatch, as far as anybody knows.
func eggsOf(c *studbook.Clutch, otherwise int) int {
	switch {
	case c.Fertile >= 0:
		return c.Fertile
	case c.Eggs >= 0:
		return c.Eggs
	}
	return otherwise
}

// standing returns how many chicks a pair that sits may have at least and at most,
// and the chance of each. A pair that has settled keeps what lies under it,
// whatever is wanted; an egg known to be fertile has the chance that fertile eggs
// have on record.
func (b *planning) standing(x *PlannedPair, c *studbook.Clutch) (least, most int, chance float64) {
	n := eggsOf(c, b.o.PerPair)
	chance = x.Chance
	if c.Fertile >= 0 {
		chance = b.fertileChance(x)
	}
	switch {
	case b.p.settled(c):
		return n, n, chance
	case len(x.Barred) > 0 && b.hosts[[2]int{x.Female, x.Male}] == [2]int{}:
		return 0, 0, chance
	}
	return 0, min(n, b.o.PerPair), chance
}

// fertileChance returns the chance that an egg of a pair hatches which is known to be
// fertile.
func (b *planning) fertileChance(x *PlannedPair) float64 {
	return b.p.hatchRate() * math.Exp(-b.p.Settings().LethalEquivalents*x.Kinship)
}

// hatchRate returns the share of fertile eggs that hatched on record, shrunk
// toward the programme's success of clutches with the weight of ten eggs (common
// practice, no source).
func (p *Programme) hatchRate() float64 {
	const weight = 10
	fertile, hatched := 0, 0
	for i := range p.Book.Clutches {
		if c := &p.Book.Clutches[i]; c.Fertile > 0 && c.Hatched >= 0 {
			fertile += c.Fertile
			hatched += min(c.Hatched, c.Fertile)
		}
	}
	return (float64(hatched) + weight*p.success.programme.Rate()) / (float64(fertile) + weight)
}

// findHosts finds for the fertile eggs of pairs that have failed with such eggs
// before, and have not settled, a pair at the same place that sits on eggs of which none
// is fertile.
func (b *planning) findHosts() {
	b.hosts = map[[2]int][2]int{}
	var empty [][2]int
	for pair, c := range b.clutch {
		if record := b.p.Broods(pair[0], pair[1]); c.Fertile == 0 && !record.NeverFertile() { // those are to be examined first
			empty = append(empty, pair)
		}
	}
	slices.SortFunc(empty, func(a, c [2]int) int { return cmp.Compare(a[0], c[0]) })
	for _, x := range b.d.Bonds {
		pair := [2]int{x.Female, x.Male}
		c := b.clutch[pair]
		if c == nil || c.Fertile <= 0 || x.Advantage <= 0 || b.p.settled(c) {
			continue
		}
		if _, failing := b.p.failing(x.Female, x.Male); !failing {
			continue
		}
		for k, host := range empty {
			apart := c.Laid.Mid() - b.clutch[host].Laid.Mid()
			if b.p.Book.Birds[host[0]].Location == x.Place && max(apart, -apart) <= fosterDays {
				b.hosts[pair] = host
				empty = slices.Delete(empty, k, k+1)
				break
			}
		}
	}
}

// eggs says what to do with each clutch of the scope that lies there now: planned
// pairs keep theirs, reserves keep theirs until the planned ones have been
// candled, and the others' are replaced before the pair sits in earnest.
func (b *planning) eggs(out *Plan) {
	p := b.p
	set := p.Settings()
	candling := func(c *studbook.Clutch) studbook.Day { return c.Laid.Mid() + studbook.Day(set.CandlingDays) }
	var lastCandled studbook.Day
	laid, expected := true, float64(out.Hatched) // of all planned pairs
	for _, x := range b.pairs {
		if x.Role != Planned {
			continue
		}
		expected += x.Expected
		both := [2]int{x.Female, x.Male}
		switch c := b.clutch[both]; {
		case c == nil:
			laid = laid && b.hatched[both] > 0
		case c.Fertile < 0:
			lastCandled = max(lastCandled, candling(c))
		}
	}
	reserve := Reason{Code: EggsReserve}
	switch {
	case laid && lastCandled > 0:
		reserve.Date = max(lastCandled, p.Book.AsOf).Date()
	case laid:
		reserve = Reason{Code: EggsNeeded, Value: expected, Count: out.Wanted}
	}
	for _, x := range b.pairs {
		pair := [2]int{x.Female, x.Male}
		c := b.clutch[pair]
		if c == nil {
			continue
		}
		e := Eggs{Female: x.Female, Male: x.Male, Clutch: c, Advice: LeaveEggs}
		say := func(r Reason) {
			if r.Birds == nil {
				r.Birds = p.birds(x.Female, x.Male)
			}
			e.Reasons = append(e.Reasons, r)
		}
		host, fostered := b.hosts[pair]
		settled := p.settled(c)
		wanted := x.Role == Planned || x.Role == Reserve
		look := slices.IndexFunc(x.Barred, func(r Reason) bool {
			return r.Is(NeverFertile) || c.Fertile < 0 && r.Is(FailedInfertile, FailedUnseen)
		})
		switch {
		case look >= 0: // dummies would hide what is wrong
			e.Reasons = append(e.Reasons, x.Barred[look])
			if c.Fertile == 0 {
				say(Reason{Code: EggsClear})
			}
		case c.Fertile == 0 && x.Again:
			e.Advice, e.By, e.From = ReplaceEggs, candling(c), c.Laid.Mid()
			_, end := p.laying(p.Season())
			say(Reason{Code: EggsMakeWay, Date: (end - 1).Date()})
		case c.Fertile == 0:
			e.Advice, e.By, e.From = ReplaceEggs, candling(c), c.Laid.Mid()
			say(Reason{Code: EggsInfertile})
			for donors, at := range b.hosts {
				if at == pair { // a pair is host to one other at most
					say(Reason{Code: EggsTaken, Birds: p.birds(x.Female, x.Male, donors[0], donors[1])})
				}
			}
		case fostered && wanted:
			e.Advice, e.By, e.To = FosterEggs, max(candling(c), candling(b.clutch[host])), host
			failed, _ := p.failing(x.Female, x.Male)
			say(Reason{Code: EggsFostered, Birds: p.birds(x.Female, x.Male, host[0], host[1]), Count: failed.Count})
		case settled:
			say(Reason{Code: EggsSettled, Count: int(p.Book.AsOf - c.Laid.Mid()), Of: set.SettledDays})
		case x.Role == Planned:
			say(Reason{Code: EggsPlanned, Count: x.HatchUpTo, Of: max(c.Eggs, 0)})
		case x.Role == Reserve:
			say(reserve)
		case x.Disputed():
			e.SettleBy = c.Laid.Mid() + studbook.Day(max(0, set.SettledDays-1))
			say(b.otherReason(&x))
		default:
			e.Advice, e.By, e.From = ReplaceEggs, c.Laid.Mid()+studbook.Day(max(0, set.SettledDays-1)), c.Laid.Mid()
			if say(Reason{Code: EggsNotWanted}); len(x.Barred) > 0 {
				e.Reasons = append([]Reason{{Code: EggsBarred, Birds: p.birds(x.Female, x.Male)}}, x.Barred...)
			}
		}
		if e.Advice == LeaveEggs && c.Fertile < 0 {
			e.Advice, e.By = CandleEggs, candling(c)
			say(Reason{Code: EggsUncandled, Date: candling(c).Date()})
		}
		may := x.HatchUpTo
		if x.Other.Wants() {
			may = max(may, x.Other.HatchUpTo)
		}
		if e.Advice == LeaveEggs && !settled && c.Fertile > may && wanted {
			say(Reason{Code: EggsOverTheTop, Count: may, Of: c.Fertile})
		}
		out.Eggs = append(out.Eggs, e)
	}
	slices.SortFunc(out.Eggs, func(a, c Eggs) int {
		return cmp.Or(cmp.Compare(a.Female, c.Female), cmp.Compare(a.Male, c.Male))
	})
}
