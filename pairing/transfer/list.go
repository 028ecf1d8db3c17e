package transfer

import (
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// List is what the season's decision moves: of one colony, or of the programme.
type List struct {
	Colony string // code; "" for the programme
	// Moves bring the decision's new pairs together, the largest net gain first.
	Moves []Listed
	// Young are the young birds that should be elsewhere when they come of age, by
	// id.
	Young []Listed
	// Sent are moves that people agreed on and that bring no pair together, by bird.
	Sent []Listed
	// Rings are the swaps and rings of three among all the decision's moves in
	// which one of Moves has a part, the largest net gain first.
	Rings     []*Option
	LeastGain float64 // what a pair must gain to be worth a move
}

// Listed is a move with when the bird may travel; Young is nil of a bird that goes
// to a mate.
type Listed struct {
	*Option
	Timing pairing.Timing
	Young  *pairing.Young
	Agreed bool // people have agreed on it
	// UndoneBy is the advised parting of a bond after which the decision would not make the
	// move; nil where it is made in any case.
	UndoneBy *pairing.Undoing
}

// LeaveBy returns the last day on which the bird can leave; 0 where none is known.
func (l *Listed) LeaveBy() studbook.Day { return l.Timing.Latest }

// AgreeBy returns the last day on which the move is to be agreed on and its permit
// applied for; 0 where people have agreed on it, or no day to leave is known. It may have
// passed.
func (l *Listed) AgreeBy() studbook.Day {
	if l.Agreed || l.LeaveBy() == 0 {
		return 0
	}
	return pairing.AgreeBy(l.Moves[0].PermitWeeks, l.LeaveBy())
}

// Mover returns the bird that travels.
func (l *Listed) Mover() int { return l.Moves[0].Bird }

// Moves lists the moves of a decision from and to a colony or, for "", among all
// places; none where the studbook has no locations. No bird is in two. The error is ctx's.
func Moves(ctx context.Context, p *pairing.Programme, d *pairing.Decision, colony string) (*List, error) {
	if !p.Book.Colony.HasLocation {
		return &List{Colony: colony, LeastGain: d.LeastGain}, nil
	}
	ranker, err := pairing.NewRanker(ctx, d, pairing.Options{Samples: -1})
	if err != nil {
		return nil, err
	}
	n := &network{p: p, d: d, ranker: ranker}
	out := &List{Colony: colony, LeastGain: d.LeastGain}
	concerns := func(m Move) bool { return colony == "" || m.From == colony || m.To == colony }
	sent := func(m Move) bool {
		return slices.ContainsFunc(d.Sent(), func(s pairing.PlannedMove) bool { return s.Bird == m.Bird && s.To == m.To })
	}
	moves := n.decidedMoves(colony)
	for _, o := range moves {
		if m := &o.Moves[0]; concerns(*m) {
			bond, _ := d.BondOf(m.Bird)
			one := Listed{Option: o, Timing: p.Timing(m.Bird, m.From, m.To), Agreed: bond.Word != nil || sent(*m)}
			if one.UndoneBy, err = d.UndoneBy(ctx, &bond); err != nil {
				return nil, err
			}
			out.Moves = append(out.Moves, one)
		}
	}
	for _, o := range n.rings(moves) {
		if slices.ContainsFunc(o.Moves, concerns) {
			out.Rings = append(out.Rings, o)
		}
	}
	young, err := d.Young(ctx)
	if err != nil {
		return nil, err
	}
	for k := range young {
		if y := &young[k]; y.Leaves() {
			if o := n.young(y); concerns(o.Moves[0]) {
				out.Young = append(out.Young, Listed{Option: o, Timing: y.Timing, Young: y, Agreed: sent(o.Moves[0])})
			}
		}
	}
	for _, m := range d.AllMoves() {
		paired := slices.ContainsFunc(moves, func(o *Option) bool { return o.Moves[0].Bird == m.Bird })
		young := slices.ContainsFunc(young, func(y pairing.Young) bool { return y.Bird == m.Bird })
		if one := n.move(leg{mover: m.Bird, from: m.From, to: m.To}); !paired && !young && concerns(one) {
			out.Sent = append(out.Sent, Listed{Option: &Option{Way: Send, Moves: []Move{one}, Decided: true}, Timing: p.Timing(m.Bird, m.From, m.To), Agreed: true})
		}
	}
	return out, nil
}

// decidedMoves returns the moves of the decision, the largest net gain first: that of
// the bird of a colony, as its mates are ranked, and of the bird that moves where
// neither lives there.
func (n *network) decidedMoves(colony string) []*Option {
	var out []*Option
	for _, x := range n.d.Bonds {
		if x.Move == nil {
			continue
		}
		mover := x.Move.Bird
		stayer := x.Mate(mover)
		asks, mate := mover, stayer
		if colony != "" && n.p.Book.Birds[stayer].Location == colony {
			asks, mate = stayer, mover
		}
		figures, _ := n.ranker.Weigh(asks, mate) // what the decision pairs could be chosen
		o := n.option(Send, n.leg(mover, stayer, figures))
		o.decide()
		out = append(out, o)
	}
	order(out)
	return out
}
