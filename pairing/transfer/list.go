package transfer

import (
	"context"
	"maps"
	"slices"

	"pairwright/pairing"
)

// List is every useful move of a colony, or of the programme.
type List struct {
	Colony string // code; "" for the programme
	// Singles are the moves of one bird to one mate, best first: of a pair the
	// way round that costs the birds less.
	Singles []Listed
	// Full counts the pairs that would be useful too, but neither place has a
	// free place for the bird that would come.
	Full int
	// Swaps are the exchanges in which both places gain a pair, best first; of
	// every two places and every first pair the best.
	Swaps   []*Option
	Average float64 // what a chick of the average eligible pair gains
	Pairs   int     // eligible pairs
}

// Listed is a useful move. Together reports whether it can be made besides
// those Together that stand above it: neither bird is taken, and places are
// left.
type Listed struct {
	*Option
	Together bool
}

// Moves lists the useful moves that give unpaired birds mates: of the birds of
// one colony with birds elsewhere, or, for "", among all places. A move is
// useful if a ranking of mates recommends or accepts the pair, nothing stands
// in its way, and neither bird has as good a free mate at home.
func Moves(ctx context.Context, p *pairing.Programme, colony string) (*List, error) {
	if !p.Book.Colony.HasLocation {
		return nil, &NoCaseError{Reason: pairing.Reason{Code: NoLocations}}
	}
	// Confidences are not asked for, so one draw is enough.
	ranker, err := pairing.NewRanker(ctx, p, pairing.Options{Samples: 1})
	if err != nil {
		return nil, err
	}
	n, err := newNetwork(ctx, p, ranker)
	if err != nil {
		return nil, err
	}
	out := &List{Colony: colony}
	out.Pairs, out.Average = ranker.Average()
	singles := map[[2]int]*Option{} // by pair
	full := map[[2]int]bool{}
	swaps := map[[4]int]*Option{} // by the birds of both pairs
	for _, from := range n.institutions {
		for _, to := range n.institutions {
			if colony != "" && from != colony && to != colony {
				continue
			}
			for _, l := range n.legs[route{from, to}] {
				o := n.option(Send, l)
				pair := [2]int{o.Pairs[0].Female, o.Pairs[0].Male}
				if o.hindrance() > 0 {
					full[pair] = true
				} else if other, twice := singles[pair]; !twice || gentler(o, other) < 0 {
					singles[pair] = o
				}
				if s := n.swap(l); s != nil {
					birds := [4]int{s.Pairs[0].Female, s.Pairs[0].Male, s.Pairs[1].Female, s.Pairs[1].Male}
					slices.Sort(birds[:])
					if other, twice := swaps[birds]; !twice || gentler(s, other) < 0 {
						swaps[birds] = s
					}
				}
			}
		}
	}
	for pair := range full {
		if singles[pair] == nil {
			out.Full++
		}
	}
	out.Swaps = slices.Collect(maps.Values(swaps))
	order(out.Swaps)
	all := slices.Collect(maps.Values(singles))
	order(all)
	var taken []leg
	for _, o := range all {
		m, x := o.Moves[0], o.Pairs[0]
		l := leg{mover: m.Bird, stayer: o.mateOf(m.Bird), from: m.From, to: m.To}
		free := !slices.ContainsFunc(taken, func(t leg) bool { return t.has(x.Female, x.Male) }) && n.room(append(slices.Clone(taken), l)...)
		if free {
			taken = append(taken, l)
		}
		out.Singles = append(out.Singles, Listed{o, free})
	}
	return out, nil
}
