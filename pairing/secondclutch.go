package pairing

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pairing/internal/broods"
	"pairwright/pedigree/studbook"
)

// relayDays is how long a pair takes to lay again once its eggs are taken (common
// practice, no source).
const relayDays = 14

// second is how a pair stands whose eggs of the running season were found infertile.
type second struct {
	infertile *studbook.Clutch // the last one
	// laid is true of a pair that sits on a later clutch, open of one that may lay it
	// still.
	laid, open bool
	// place is how many chicks the pair would hatch if nobody had laid yet, and first
	// whether as a planned pair: what an infertile clutch does not take from it.
	place int
	first bool
}

// infertileClutch reports whether no egg of a clutch was fertile.
func infertileClutch(c *studbook.Clutch) bool { return c.Fertile == 0 && c.Eggs != 0 }

// secondClutches finds the pairs whose eggs of the running season were infertile, and
// whether there is time for others. Those that are to sit on eggs of another pair, that
// hatch a chick already, or that never had a fertile egg are none of them.
func (b *planning) secondClutches(ctx context.Context) error {
	p := b.p
	season := p.Calendar()
	if !season.Running {
		return nil
	}
	_, end := p.laying(season.Year)
	b.second = map[[2]int]*second{}
	hosts := map[[2]int]bool{}
	for _, host := range b.hosts {
		hosts[host] = true
	}
	for _, x := range b.d.Bonds {
		pair := [2]int{x.Female, x.Male}
		if record := p.Broods(x.Female, x.Male); hosts[pair] || b.hatched[pair] > 0 || b.broods[pair].done() || record.NeverFertile() {
			continue
		}
		var last, infertile *studbook.Clutch
		for _, c := range p.clutchesOf(x.Female, x.Male) {
			if !c.Laid.Known() || p.laidIn(c.Laid.Mid()) != season.Year {
				continue
			}
			if last == nil || c.Laid.Mid() >= last.Laid.Mid() {
				last = c
			}
			if infertileClutch(c) && (infertile == nil || c.Laid.Mid() >= infertile.Laid.Mid()) {
				infertile = c
			}
		}
		switch {
		case infertile == nil:
		case last == infertile:
			b.second[pair] = &second{infertile: infertile, open: p.Book.AsOf+relayDays < end}
		case last == b.clutch[pair]:
			b.second[pair] = &second{infertile: infertile, laid: true}
		}
	}
	if len(b.second) == 0 {
		return nil
	}
	before := &planning{p: p, d: b.d, o: b.o, basis: b.basis}
	if err := before.pose(ctx); err != nil {
		return err
	}
	before.problem.Chicks = b.o.Chicks
	best, err := before.problem.Solve(ctx, broods.Budget)
	if err != nil {
		return err
	}
	before.share(best.Broods, before.problem.Reserve(best.Broods, float64(b.o.Chicks)))
	for _, x := range before.pairs {
		if s := b.second[[2]int{x.Female, x.Male}]; s != nil && len(x.Barred) == 0 {
			s.place, s.first = x.HatchUpTo, x.Role == Planned
		}
	}
	return nil
}

// waits reports whether a planned pair has no egg that may hatch, and keeps its place for
// those that it may lay again.
func (s *second) waits() bool { return s != nil && s.open && s.first }

// solve shares out the chicks that are still wanted. Nothing is planned on eggs that a
// pair may lay again, and no egg that lies there is given up for them, so that a reserve
// moves up; but such pairs come before all reserves.
func (b *planning) solve(ctx context.Context, still int) (best broods.Solution, reserves broods.Reserves, err error) {
	var again, most []int
	for k, i := range b.hatching {
		if b.pairs[i].Again {
			again, most = append(again, k), append(most, b.problem.Pairs[k].Most)
			b.problem.Pairs[k].Most = 0
		}
	}
	if best, err = b.problem.Solve(ctx, broods.Budget); err != nil {
		return best, reserves, err
	}
	reserves = b.problem.Reserve(best.Broods, float64(still))
	for k := range reserves.Order {
		if reserves.Order[k] > 0 {
			reserves.Order[k] += len(again)
		}
	}
	for n, k := range again {
		b.problem.Pairs[k].Most = most[n]
		reserves.Broods[k] = most[n]
	}
	slices.SortStableFunc(again, func(k, l int) int {
		return cmp.Compare(b.pairs[b.hatching[l]].Advantage, b.pairs[b.hatching[k]].Advantage)
	})
	for n, k := range again {
		reserves.Order[k] = n + 1
	}
	return best, reserves, nil
}
