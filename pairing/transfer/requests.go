package transfer

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// RequestAnswer is what a coordinator can say to a request.
type RequestAnswer string

// The answers.
const (
	Agree   RequestAnswer = "agree"               // it is the decision's own move
	AgreeIf RequestAnswer = "agree if"            // it is worth while, once Conditions are met
	Rather  RequestAnswer = "better this instead" // the decision has more for the bird, its mate or the place
	Refuse  RequestAnswer = "no"
	Met     RequestAnswer = "met" // the bird has come since it was asked for
)

// RequestAnswers are all of them, the best first.
var RequestAnswers = []RequestAnswer{Agree, AgreeIf, Rather, Refuse, Met}

// What is said of requests, besides the reasons of the decision and of transfers.
const (
	DecisionsMove pairing.Code = "decisions_move" // Birds: the bird and the mate that the decision sends it to
	ForLater      pairing.Code = "for_later"      // Birds: a young bird, To where the decision wants it, Date from when it may breed
	WorthIt       pairing.Code = "worth_it"       // Birds: the bird and a mate there; worth a move, and the decision has nothing else for either
	BirdsOwn      pairing.Code = "birds_own"      // Birds: the bird and the mate that the decision gives it
	MatesOwn      pairing.Code = "mates_own"      // Birds: the mate asked for and the one that the decision gives it
	PlaceTaken    pairing.Code = "place_taken"    // Birds: one that the decision sends to the last free place at To, and its mate
	PlaceFree     pairing.Code = "place_free"     // a place for Birds at To must come free
	HoldOver      pairing.Code = "hold_over"      // Birds is on hold for moving, Note why, Date until when
	OffTheNest    pairing.Code = "off_the_nest"   // Birds may sit or feed chicks until Date
	OtherRequest  pairing.Code = "other_request"  // there is one place at To and another request has more for it
)

// Judged is a request with the answer to it.
type Judged struct {
	*studbook.Request
	Bird    int
	Partner int // the mate asked for; -1 if none was
	From    string
	Answer  RequestAnswer
	Why     []pairing.Reason // the first is the reason in a line, the others stand behind it
	// Conditions are what must come true first, of AgreeIf.
	Conditions []pairing.Reason
	// Asked is the pair that the request would make, with the mate asked for or else
	// the best one there; nil where there can be none.
	Asked *pairing.Candidate
	// Instead is what the decision has, of Rather.
	Instead *Instead
	Timing  pairing.Timing  // of the move asked for
	Waiting *pairing.Ruling // a person is still to decide on it; nil if nobody said so

	// Group numbers those that exclude each other, from 1, where one of them can be
	// granted; 0 of a request that stands alone and of one that is met. Preferred
	// marks the one of a group that has most for it, among those that are granted.
	Group     int
	Preferred bool

	order int
}

// Instead is a pair, or a young bird's move, that the decision has in the place of
// what was asked for.
type Instead struct {
	Female, Male int // -1 of a young bird's move
	At           string
	Move         *pairing.PlannedMove // nil if nobody moves
	NetGain      float64              // of the pair, for the bird that it shares with what was asked for, the female if none
	Charged      float64              // the same as the net gain of Asked is; see Decision.Charged
	Asked        float64              // net gain of what was asked for, for the same bird
}

// Desk is all requests, judged together.
type Desk struct {
	Requests  []Judged // by group, those that stand alone last, the preferred first; else as in the file
	Groups    int
	LeastGain float64 // what a pair must gain to be worth a move
}

// Judge answers all requests of the files together, by a decision. The error is a
// *NoCaseError where there are requests and no locations, or ctx's.
func Judge(ctx context.Context, p *pairing.Programme, d *pairing.Decision) (*Desk, error) {
	if !p.Book.Colony.HasLocation && len(p.Book.Requests) > 0 {
		return nil, &NoCaseError{Reason: pairing.Reason{Code: NoLocations}}
	}
	ranker, err := pairing.NewRanker(ctx, d, pairing.Options{Samples: -1, Explained: 1})
	if err != nil {
		return nil, err
	}
	young, err := d.Young(ctx)
	if err != nil {
		return nil, err
	}
	j := &judge{network: &network{p: p, d: d, ranker: ranker}, young: young}
	desk := &Desk{LeastGain: d.LeastGain}
	for k := range p.Book.Requests {
		q := &p.Book.Requests[k]
		x := Judged{Request: q, Partner: -1, order: k}
		x.Bird, _ = p.Book.Index(q.Bird)
		x.From = p.Book.Birds[x.Bird].Location
		if q.Partner != "" {
			x.Partner, _ = p.Book.Index(q.Partner)
		}
		if err := j.answer(ctx, &x); err != nil {
			return nil, err
		}
		desk.Requests = append(desk.Requests, x)
	}
	j.group(desk)
	return desk, nil
}

// judge answers requests.
type judge struct {
	*network
	young []pairing.Young
}

// answer answers a request as if it were the only one.
func (j *judge) answer(ctx context.Context, x *Judged) error {
	p, d := j.p, j.d
	b, to := x.Bird, x.Request.To
	refuse := func(r pairing.Reason, behind ...pairing.Reason) {
		x.Answer, x.Why = Refuse, append([]pairing.Reason{r}, behind...)
	}
	for _, w := range d.Rulings() {
		if w.What == studbook.RulesMove && w.Answer == studbook.Waiting && w.Birds[0] == b && w.To == to {
			x.Waiting = &w
		}
	}
	for _, bird := range []int{b, x.Partner} {
		if bird >= 0 && !p.Book.Alive(bird) {
			refuse(p.Absent(bird))
			return nil
		}
	}
	switch {
	case x.From == "":
		refuse(about(p, LocationUnknown, b))
		return nil
	case x.From == to:
		r := about(p, SamePlace, b)
		r.To = to
		if refuse(r); cameSince(p, x.Request) {
			x.Answer = Met
		}
		return nil
	}
	x.Timing = p.Timing(b, x.From, to)
	if w, no := d.DeclinedMove(b, x.Partner, to); no {
		refuse(w.Reason(p))
		return nil
	}
	if x.Partner >= 0 {
		if w, no := d.DeclinedPair(b, x.Partner); no {
			refuse(w.Reason(p))
			return nil
		}
	}
	for _, w := range d.Rulings() {
		if w.What == studbook.RulesMove && w.Standing == pairing.RulingFixed && w.Birds[0] == b && w.To == to && (x.Partner < 0 || len(w.Birds) == 1 || w.Birds[1] == x.Partner) {
			if mate, ok := d.MateOf(b); ok {
				if figures, ok := j.ranker.Weigh(b, mate); ok {
					x.Asked = &figures
				}
			}
			j.agree(x, w.Reason(p))
			return nil
		}
	}
	if !p.State(b).State.MayBreed() {
		j.later(x, refuse)
		return nil
	}
	bond, paired := d.BondOf(b)
	mate, _ := d.MateOf(b)
	switch {
	case paired && bond.Kind == pairing.BondKept:
		refuse(about(p, pairing.Bonded, b, mate))
		return nil
	case paired && bond.Move != nil && bond.Move.Bird == b && bond.Move.To == to && (x.Partner < 0 || x.Partner == mate):
		if figures, ok := j.ranker.Weigh(b, mate); ok {
			x.Asked = &figures
		}
		j.agree(x, about(p, DecisionsMove, b, mate))
		return nil
	}
	return j.other(ctx, x, refuse)
}

// cameSince reports whether a bird has moved to where it was asked for since.
func cameSince(p *pairing.Programme, q *studbook.Request) bool {
	return slices.ContainsFunc(p.Book.Colony.Moves, func(m studbook.Move) bool {
		return m.ID == q.Bird && m.To == q.To && m.Date.OnOrBefore(p.Book.AsOf) && (!q.Date.Known() || m.Date.Last >= q.Date.First)
	})
}

// later answers for a bird that cannot breed in the season: a young one may go to
// where the decision wants it when it can.
func (j *judge) later(x *Judged, refuse func(pairing.Reason, ...pairing.Reason)) {
	p := j.p
	k := slices.IndexFunc(j.young, func(y pairing.Young) bool { return y.Bird == x.Bird && y.Leaves() })
	if k < 0 || x.Partner >= 0 && x.Partner != j.young[k].Mate {
		refuse(p.StateReason(x.Bird))
		return
	}
	y := &j.young[k]
	why := about(p, ForLater, x.Bird)
	why.To, why.Date = y.To, y.When.Date()
	if y.To == x.Request.To {
		x.Timing = y.Timing
		j.agree(x, why)
		return
	}
	x.Answer, x.Why = Rather, []pairing.Reason{why}
	x.Instead = &Instead{Female: -1, Male: -1, At: y.To, Move: &pairing.PlannedMove{Bird: x.Bird, From: y.From, To: y.To}}
}

// other answers where the decision does not make the move asked for.
func (j *judge) other(ctx context.Context, x *Judged, refuse func(pairing.Reason, ...pairing.Reason)) error {
	p, d := j.p, j.d
	b, to := x.Bird, x.Request.To
	ranking, err := j.ranker.Rank(ctx, b)
	if err != nil {
		return err
	}
	if x.Partner >= 0 {
		if at := p.Book.Birds[x.Partner].Location; at != to {
			r := about(p, MateElsewhere, b, x.Partner)
			r.From = at
			refuse(r)
			return nil
		}
	}
	for k := range ranking.Candidates {
		c := &ranking.Candidates[k]
		if p.Book.Birds[c.Bird].Location != to || x.Partner >= 0 && c.Bird != x.Partner {
			continue
		}
		if x.Asked == nil || c.NetGain > x.Asked.NetGain {
			x.Asked = c
		}
	}
	if x.Asked == nil {
		for out := range p.AllRuledOut(ranking) {
			if out.Bird == x.Partner {
				if other, ok := j.decided(x.Partner); ok && out.Reasons[0].Is(pairing.Promised) {
					j.rather(x, about(p, MatesOwn, x.Partner, other.Mate(x.Partner)), other, x.Partner)
					return nil
				}
				refuse(about(p, MateRuledOut, b, x.Partner), out.Reasons...)
				return nil
			}
		}
		r := about(p, NoMate, b)
		r.From = to
		refuse(r)
		return nil
	}
	move := j.option(Send, j.leg(b, x.Asked.Bird, *x.Asked))
	if len(move.Held) > 0 {
		refuse(move.Held[0])
		return nil
	}
	if bond, ok := j.decided(b); ok {
		j.rather(x, about(p, BirdsOwn, b, bond.Mate(b)), bond, b)
		return nil
	}
	if bond, ok := j.decided(x.Asked.Bird); ok {
		j.rather(x, about(p, MatesOwn, x.Asked.Bird, bond.Mate(x.Asked.Bird)), bond, x.Asked.Bird)
		return nil
	}
	if d.Crowded(b, x.Asked.Bird) {
		if taker := j.taker(to, p.Book.Birds[b].Sex); taker != nil {
			r := about(p, PlaceTaken, taker.Move.Bird, taker.Mate(taker.Move.Bird))
			r.To = to
			j.rather(x, r, *taker, -1)
			return nil
		}
	} else {
		why := d.WhyAlone(b)
		lacks, short := lacking(p, d, b, &x.Asked.Choice)
		switch {
		case why.Is(pairing.WaitsFor):
			refuse(why)
			return nil
		case short:
			refuse(lacks)
			return nil
		case !x.Asked.Verdict.Good():
			refuse(about(p, NotAdvised, b, x.Asked.Bird))
			return nil
		}
	}
	j.agree(x, about(p, WorthIt, b, x.Asked.Bird))
	return nil
}

// taker returns the best of the new pairs for which the decision sends a bird of a sex
// to a place, nil for none.
func (j *judge) taker(to string, sex studbook.Sex) (taker *pairing.Bond) {
	for k := range j.d.Bonds {
		x := &j.d.Bonds[k]
		if x.Move != nil && x.Move.To == to && j.p.Book.Birds[x.Move.Bird].Sex == sex && (taker == nil || x.NetGain > taker.NetGain) {
			taker = x
		}
	}
	return taker
}

// decided returns the new pair that the decision has for a bird.
func (j *judge) decided(b int) (pairing.Bond, bool) {
	bond, ok := j.d.BondOf(b)
	return bond, ok && bond.Kind == pairing.BondNew
}

// rather answers that the decision has another pair. Both are weighed as mates of the
// bird that they share, -1 if there is none: net gains for different birds are no
// measure of each other.
func (j *judge) rather(x *Judged, why pairing.Reason, bond pairing.Bond, shared int) {
	x.Answer, x.Why = Rather, []pairing.Reason{why}
	gain, asked := bond.NetGain, x.net()
	if shared >= 0 {
		if c, ok := j.ranker.Weigh(shared, bond.Mate(shared)); ok {
			gain = c.NetGain
		}
		if x.Asked != nil && x.Asked.Bird == shared {
			if c, ok := j.ranker.Weigh(shared, x.Bird); ok {
				asked = c.NetGain
			}
		}
	}
	x.Instead = &Instead{bond.Female, bond.Male, bond.Place, bond.Move, gain, j.d.Charged(gain, bond.Move != nil), asked}
}

// agree answers yes, with what must come true first.
func (j *judge) agree(x *Judged, why pairing.Reason) {
	p, to := j.p, x.Request.To
	x.Why = []pairing.Reason{why}
	must := func(r pairing.Reason) { x.Conditions = append(x.Conditions, r) }
	if abroad, weeks := p.Border(x.From, to); abroad && weeks > 0 {
		must(pairing.Reason{Code: pairing.Permit, From: x.From, To: to, Count: weeks})
	}
	for _, s := range x.Timing.Avoid {
		switch {
		case s.Why.Is(pairing.OnHold) && s.Until == 0:
			r := about(p, HeldFromMove, x.Bird)
			r.Note = s.Why.Note
			must(r)
		case s.Why.Is(pairing.OnHold):
			r := about(p, HoldOver, x.Bird)
			r.Note, r.Date = s.Why.Note, s.Why.Date
			must(r)
		case s.Why.Is(pairing.OnNest):
			r := about(p, OffTheNest, x.Bird)
			r.Date = s.Until.Date()
			must(r)
		}
	}
	if p.FreePlaces(to, p.Book.Birds[x.Bird].Sex) == 0 {
		r := about(p, PlaceFree, x.Bird)
		r.To = to
		must(r)
	}
	held := slices.ContainsFunc(x.Conditions, func(r pairing.Reason) bool { return r.Is(HeldFromMove) })
	if t := &x.Timing; t.Earliest == 0 && !held {
		quarantine, _ := p.Quarantine(to)
		r := about(p, NoDay, x.Bird)
		r.Count = quarantine
		must(r)
	} else if young := why.Is(ForLater); !held && !young && t.Season > j.d.Season.Start {
		r := about(p, AfterSeason, x.Bird)
		r.Date = t.Earliest.Date()
		must(r)
	}
	if x.Answer = Agree; len(x.Conditions) > 0 {
		x.Answer = AgreeIf
	}
}

// yes reports whether a request is granted, perhaps on conditions.
func (x *Judged) yes() bool { return x.Answer == Agree || x.Answer == AgreeIf }

// net is the net gain of what was asked for.
func (x *Judged) net() float64 {
	if x.Asked == nil {
		return 0
	}
	return x.Asked.NetGain
}

// before orders the requests of a group, the one with more for it first.
func before(a, b *Judged) int {
	return cmp.Or(
		cmp.Compare(slices.Index(RequestAnswers, a.Answer), slices.Index(RequestAnswers, b.Answer)),
		cmp.Compare(b.net(), a.net()), cmp.Compare(a.order, b.order))
}

// group finds the requests that exclude each other: for one bird, for one mate, or
// for more places than there are.
func (j *judge) group(desk *Desk) {
	all := desk.Requests
	sets := newExclusions(len(all))
	shareBirds(all, sets)
	j.sharePlaces(all, sets)
	desk.Groups = sets.number(all)
	slices.SortStableFunc(all, func(a, b Judged) int {
		if a.Group == 0 || b.Group == 0 {
			return cmp.Or(cmp.Compare(b.Group, a.Group), cmp.Compare(a.order, b.order))
		}
		return cmp.Or(cmp.Compare(a.Group, b.Group), before(&a, &b))
	})
}

// exclusions are sets of requests that exclude each other, by their places: each
// holds one before it in its set, the first of a set itself.
type exclusions []int

func newExclusions(n int) exclusions {
	e := make(exclusions, n)
	for k := range e {
		e[k] = k
	}
	return e
}

// first returns the first request of the set that one is in.
func (e exclusions) first(k int) int {
	for e[k] != k {
		e[k] = e[e[k]]
		k = e[k]
	}
	return k
}

// join makes one set of those that two requests are in.
func (e exclusions) join(a, b int) {
	a, b = e.first(a), e.first(b)
	e[max(a, b)] = min(a, b)
}

// number numbers the sets of several in which one can be granted, as else there is
// nothing to choose, marks the best of each and returns how many they are.
func (e exclusions) number(all []Judged) (groups int) {
	members := map[int][]*Judged{}
	for k := range all {
		members[e.first(k)] = append(members[e.first(k)], &all[k])
	}
	for k := range all {
		m := members[k]
		if len(m) < 2 {
			continue
		}
		if best := slices.MinFunc(m, before); best.yes() {
			groups++
			best.Preferred = true
			for _, x := range m {
				x.Group = groups
			}
		}
	}
	return groups
}

// shareBirds joins requests for one bird, be it as the one to move or as a mate. One
// that is met asks for nothing any more.
func shareBirds(all []Judged, sets exclusions) {
	asked := map[int]int{} // by bird: a request for it
	for k := range all {
		if all[k].Answer == Met {
			continue
		}
		for _, bird := range [2]int{all[k].Bird, all[k].Partner} {
			if bird < 0 {
				continue
			}
			if other, known := asked[bird]; known {
				sets.join(k, other)
			}
			asked[bird] = k
		}
	}
}

// sharePlaces joins requests that are granted for more birds of a sex than there are
// places for at an institution; those that find none hang on the others.
func (j *judge) sharePlaces(all []Judged, sets exclusions) {
	type room struct {
		to  string
		sex studbook.Sex
	}
	wanted := map[room][]int{}
	var rooms []room
	for k := range all {
		if x := &all[k]; x.yes() {
			r := room{x.Request.To, j.p.Book.Birds[x.Bird].Sex}
			if wanted[r] == nil {
				rooms = append(rooms, r)
			}
			wanted[r] = append(wanted[r], k)
		}
	}
	for _, r := range rooms {
		asking, places := wanted[r], j.d.Places(r.to, r.sex)
		if places < 0 || len(asking) <= places {
			continue
		}
		slices.SortFunc(asking, func(a, b int) int { return before(&all[a], &all[b]) })
		for n, k := range asking {
			sets.join(asking[0], k)
			if n >= max(1, places) {
				all[k].Conditions = append(all[k].Conditions, pairing.Reason{Code: OtherRequest, To: r.to})
				all[k].Answer = AgreeIf
			}
		}
	}
}
