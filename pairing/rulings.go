package pairing

import (
	"cmp"
	"slices"

	"pairwright/pedigree/studbook"
)

// Ruling is something that people have decided, a row of decisions.csv, with what
// the season's decision makes of it. What was agreed and is not yet carried out is
// fixed before any birds are assigned to each other; what was declined is not
// proposed again. A ruling holds for a year, or until the day that it names, or until
// a later one on the same birds takes its place.
type Ruling struct {
	*studbook.Ruling
	Birds    []int // in the snapshot: the bird that moves, and its mate; else the female and the male
	Standing RulingStanding
	Why      Reason // of WordStopped

	choice *studbook.Choice // that it was made from; nil of one on file
}

// RulingStanding says what has become of a ruling.
type RulingStanding string

// The standings of a ruling.
const (
	RulingFixed   RulingStanding = "fixed"   // the decision has it, whatever else would be better
	RulingDone    RulingStanding = "done"    // carried out
	RulingClosed  RulingStanding = "closed"  // declined: not proposed again
	RulingWaits   RulingStanding = "waiting" // changes nothing yet
	RulingStopped RulingStanding = "stopped" // agreed, and cannot be carried out as things stand
)

// What is said of a ruling. Birds are whom it is about, Date its day, By who gave
// it, Note the reason in their own words.
const (
	SaidYes   Code = "agreed"       // the decision has it for this reason
	SaidPart  Code = "part_agreed"  // the two are to be parted
	SaidNo    Code = "declined"     // not proposed again for a year
	Promised  Code = "promised"     // Birds: it and the mate that it is to have
	Overruled Code = "overruled"    // a later one on Birds says something else
	BondFirst Code = "bond_first"   // Birds: it and its mate; nobody has said that they may be parted
	NotAMate  Code = "not_mates"    // Birds are no pair of the decision
	NoMeeting Code = "no_meeting"   // nothing says where Birds are to live
	OffSeason Code = "other_season" // said of an earlier season
)

// rulings are the rulings in force, sorted by what they fix and by what they rule out.
type rulings struct {
	all []Ruling
	// By female and male.
	pairs, parts, hatches       map[[2]int]*Ruling // agreed
	noPairs, noParts, noHatches map[[2]int]*Ruling // declined
	noMeetings                  map[[2]int]*Ruling // declined moves of one to the other
	mate                        map[int]int        // of the birds of pairs
	moves                       map[[2]int]PlannedMove
	sent                        map[int]PlannedMove        // birds that move without a mate of their own in it
	refused                     map[int]map[string]*Ruling // declined moves, by bird and place, whoever the mate
	asked                       map[asked]bool             // moves that are asked for, or wait for an answer
}

// asked is a bird that somebody wants to have at a place.
type asked struct{ bird, to string }

// Rulings returns what people have decided and still holds, by day, the last first.
func (d *Decision) Rulings() []Ruling { return d.rulings.all }

// Sent returns the moves that people agreed on for birds that are not told to go
// to a mate, by bird.
func (d *Decision) Sent() []PlannedMove {
	var out []PlannedMove
	for _, w := range d.rulings.all {
		if m, ok := d.rulings.sent[w.Birds[0]]; ok && w.What == studbook.RulesMove && w.Standing == RulingFixed {
			out = append(out, m)
		}
	}
	slices.SortFunc(out, func(a, b PlannedMove) int { return a.Bird - b.Bird })
	return out
}

// AllMoves returns the moves of the decision: those to a mate in the order of Bonds,
// then those that people agreed on without one.
func (d *Decision) AllMoves() []PlannedMove {
	var out []PlannedMove
	for _, x := range d.Bonds {
		if x.Move != nil {
			out = append(out, *x.Move)
		}
	}
	for _, m := range d.Sent() {
		if !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	return out
}

// DeclinedMove returns the ruling that a bird is not to go to a place, or not to a mate
// there; mate is -1 for any. One that was agreed on since is not declined.
func (d *Decision) DeclinedMove(b, mate int, to string) (*Ruling, bool) {
	if len(d.rulings.refused)+len(d.rulings.noMeetings) == 0 {
		return nil, false
	}
	if d.rulings.sent[b].To == to && to != "" {
		return nil, false
	}
	if mate >= 0 {
		if m, agreed := d.rulings.moves[d.pairOf(b, mate)]; agreed && m.Bird == b && m.To == to {
			return nil, false
		}
	}
	if w := d.rulings.refused[b][to]; w != nil {
		return w, true
	}
	if mate >= 0 {
		if w := d.rulings.noMeetings[d.pairOf(b, mate)]; w != nil {
			return w, true
		}
	}
	return nil, false
}

// DeclinedPair returns the ruling that two birds are not to be paired, or are to be
// parted.
func (d *Decision) DeclinedPair(a, b int) (*Ruling, bool) {
	if len(d.rulings.noPairs)+len(d.rulings.parts)+len(d.rulings.noMeetings) == 0 {
		return nil, false
	}
	pair := d.pairOf(a, b)
	if d.rulings.pairs[pair] != nil {
		return nil, false // agreed on since, or otherwise
	}
	w := cmp.Or(d.rulings.noPairs[pair], d.rulings.parts[pair])
	if w == nil && d.p.Book.Birds[a].Location != d.p.Book.Birds[b].Location {
		w = d.rulings.noMeetings[pair]
	}
	return w, w != nil
}

// pairOf puts the female of two birds first.
func (d *Decision) pairOf(a, b int) [2]int {
	if d.p.Book.Birds[a].Sex == studbook.Male {
		return [2]int{b, a}
	}
	return [2]int{a, b}
}

// Reason says the ruling as a reason.
func (w *Ruling) Reason(p *Programme) Reason {
	r := Reason{Code: SaidYes, Birds: p.birds(w.Birds...), Date: w.Date, By: w.By, Note: w.Ruling.Reason, To: w.To}
	switch {
	case w.choice != nil:
		r.Code = Chosen
	case w.Answer == studbook.Declined:
		r.Code = SaidNo
	case w.What == studbook.RulesPart:
		r.Code = SaidPart
	}
	return r
}

// inForce returns the rulings that hold on the day: those that are not over, and of
// several on the same birds the last. They are by day, the last first.
func (p *Programme) inForce() []Ruling {
	rulings := p.Book.Rulings
	order := make([]int, len(rulings))
	for k := range order {
		order[k] = k
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(rulings[b].Date.Mid(), rulings[a].Date.Mid()), b-a)
	})
	type subject struct {
		what       studbook.Subject
		first, two int
		to         string
	}
	seen := map[subject]bool{}
	var out []Ruling
	for _, k := range order {
		u := &rulings[k]
		w := p.rulingOf(u)
		s := subject{what: u.What, first: w.Birds[0], two: -1}
		if u.What == studbook.RulesMove {
			s.to = u.To
		}
		if len(w.Birds) > 1 {
			s.two = w.Birds[1]
		}
		if !seen[s] && p.holds(u) {
			out = append(out, w)
		}
		seen[s] = true
	}
	return out
}

// rulingOf returns a row of the file with its birds by their number, of two that do not move
// the female first.
func (p *Programme) rulingOf(u *studbook.Ruling) Ruling {
	w := Ruling{Ruling: u}
	for _, id := range u.Birds {
		b, _ := p.Book.Index(id)
		w.Birds = append(w.Birds, b)
	}
	if len(w.Birds) > 1 && u.What != studbook.RulesMove && p.Book.Birds[w.Birds[0]].Sex == studbook.Male {
		w.Birds[0], w.Birds[1] = w.Birds[1], w.Birds[0]
	}
	return w
}

// holds reports whether a ruling is not over.
func (p *Programme) holds(u *studbook.Ruling) bool { return p.Book.AsOf <= p.lastDay(u) }

// lastDay returns the last day on which a ruling holds.
func (p *Programme) lastDay(u *studbook.Ruling) studbook.Day {
	if u.Until.Known() {
		return u.Until.Last
	}
	t := u.Date.Mid().Time()
	return studbook.DayOf(t.Year()+1, t.Month(), t.Day()) - 1
}

// readRulings reads the rulings in force and notes what each of them fixes or rules out.
// Partings are read first, because they make new pairs possible.
func (d *Decision) readRulings() {
	chosen := d.chosen.words(d.p)
	d.rulings = rulings{
		all: slices.Concat(chosen, d.p.inForce()), mate: map[int]int{}, moves: map[[2]int]PlannedMove{}, sent: map[int]PlannedMove{}, refused: map[int]map[string]*Ruling{},
		pairs: map[[2]int]*Ruling{}, parts: map[[2]int]*Ruling{}, hatches: map[[2]int]*Ruling{},
		noPairs: map[[2]int]*Ruling{}, noParts: map[[2]int]*Ruling{}, noHatches: map[[2]int]*Ruling{}, noMeetings: map[[2]int]*Ruling{},
		asked: map[asked]bool{},
	}
	for _, q := range d.p.Book.Requests {
		d.rulings.asked[asked{q.Bird, q.To}] = true
	}
	for _, pair := range d.parted {
		d.rulings.parts[pair] = &Ruling{Ruling: &studbook.Ruling{Date: d.p.Book.AsOf.Date(), What: studbook.RulesPart, Answer: studbook.Agreed}, Birds: pair[:]}
	}
	d.settle(d.rulings.all[:len(chosen)])
	d.settle(d.rulings.all[len(chosen):])
}

// settle does what readRulings says for some of the rulings: first those of a person's own
// season, then those on file, which give way to them.
func (d *Decision) settle(some []Ruling) {
	for _, what := range []studbook.Subject{studbook.RulesPart, studbook.RulesMove, studbook.RulesBond, studbook.RulesHatch} {
		for k := range some {
			w := &some[k]
			if w.What != what {
				continue
			}
			switch w.Answer {
			case studbook.Waiting:
				w.Standing = RulingWaits
				if w.What == studbook.RulesMove {
					d.rulings.asked[asked{w.Ruling.Birds[0], w.To}] = true
				}
			case studbook.Declined:
				w.Standing = RulingClosed
				d.close(w)
			default:
				d.fix(w)
			}
		}
	}
}

// close notes what a declined ruling rules out: it is not proposed again.
func (d *Decision) close(w *Ruling) {
	x := &d.rulings
	switch b := w.Birds[0]; {
	case w.What == studbook.RulesMove:
		// The place, whoever would be the mate there: who refuses the mate alone declines
		// the bond. The last word stands first.
		if x.refused[b] == nil {
			x.refused[b] = map[string]*Ruling{}
		}
		if x.refused[b][w.To] == nil {
			x.refused[b][w.To] = w
		}
		if len(w.Birds) > 1 {
			x.noMeetings[d.pairOf(b, w.Birds[1])] = w
		}
	case w.What == studbook.RulesBond:
		x.noPairs[[2]int(w.Birds)] = w
	case w.What == studbook.RulesPart:
		x.noParts[[2]int(w.Birds)] = w
	case d.p.seasonOf(w.Date.Mid()) == d.p.Season():
		x.noHatches[[2]int(w.Birds)] = w
	}
}

// since reports whether any later ruling is such that it overrules w. Later rulings stand
// before w in the list.
func (d *Decision) since(w *Ruling, such func(o *Ruling) bool) bool {
	for k := range d.rulings.all {
		switch o := &d.rulings.all[k]; {
		case o == w:
			return false
		case such(o):
			return true
		}
	}
	return false
}

// declinedSince reports whether, after w, somebody declined that a bird goes to a place.
func (d *Decision) declinedSince(w *Ruling, b int, to string) bool {
	return d.since(w, func(o *Ruling) bool {
		return o.What == studbook.RulesMove && o.Answer == studbook.Declined && len(o.Birds) == 1 && o.Birds[0] == b && o.To == to
	})
}

// about reports whether a ruling is about these two birds.
func (d *Decision) about(w *Ruling, pair [2]int) bool {
	return len(w.Birds) == 2 && d.pairOf(w.Birds[0], w.Birds[1]) == pair
}

// stop notes why what is agreed cannot be carried out.
func (d *Decision) stop(w *Ruling, code Code, birds ...int) {
	w.Standing, w.Why = RulingStopped, Reason{Code: code, Birds: d.p.birds(birds...)}
}

// fix notes what an agreed ruling fixes, or why it cannot be carried out.
func (d *Decision) fix(w *Ruling) {
	for _, b := range w.Birds {
		if !d.p.Book.Alive(b) {
			w.Standing, w.Why = RulingStopped, d.p.Absent(b)
			return
		}
	}
	if d.carriedOut(w) {
		w.Standing = RulingDone
		return
	}
	w.Standing = RulingFixed
	switch w.What {
	case studbook.RulesPart:
		d.fixParting(w)
	case studbook.RulesHatch:
		d.fixHatch(w)
	case studbook.RulesMove:
		d.fixMove(w)
	case studbook.RulesBond:
		if d.areMates(w) {
			w.Standing = RulingDone
			return
		}
		d.join(w)
	}
}

// areMates reports whether the two birds of a ruling are mates already.
func (d *Decision) areMates(w *Ruling) bool {
	return slices.Contains(d.p.Mates(w.Birds[0]), w.Birds[1])
}

func (d *Decision) fixParting(w *Ruling) {
	pair := [2]int(w.Birds)
	later := func(o *Ruling) bool { // a later one is that they are a pair
		return o.Answer == studbook.Agreed && d.about(o, pair) && (o.What == studbook.RulesBond || o.What == studbook.RulesHatch)
	}
	switch {
	case !d.areMates(w):
		w.Standing = RulingDone
	case d.since(w, later):
		d.stop(w, Overruled, w.Birds...)
	case d.onNest(pair[0]) || d.onNest(pair[1]):
		d.stop(w, OnNest, w.Birds...)
	default:
		d.rulings.parts[pair] = w
	}
}

// onNest reports whether a bird sits or feeds chicks, or may.
func (d *Decision) onNest(b int) bool { return d.p.nest(d.p.Book.Birds[b].ID, "") != away }

func (d *Decision) fixHatch(w *Ruling) {
	x, pair := &d.rulings, [2]int(w.Birds)
	switch {
	case d.p.seasonOf(w.Date.Mid()) != d.p.Season():
		d.stop(w, OffSeason, w.Birds...)
	case x.mate[pair[0]] != pair[1] && !d.areMates(w):
		d.stop(w, NotAMate, w.Birds...)
	case x.parts[pair] != nil:
		d.stop(w, Overruled, w.Birds...)
	default:
		x.hatches[pair] = w
	}
}

func (d *Decision) fixMove(w *Ruling) {
	p, x := d.p, &d.rulings
	a := w.Birds[0]
	from := p.Book.Birds[a].Location
	there := from == w.To
	switch {
	case there && (len(w.Birds) == 1 || d.areMates(w)):
		w.Standing = RulingDone
		return
	case from == "":
		d.stop(w, NoMeeting, a)
		return
	case !there && d.onNest(a):
		d.stop(w, OnNest, a)
		return
	}
	stays := func(o *Ruling) bool { // a later one is that it be where it is
		return o.What == studbook.RulesMove && o.Answer == studbook.Agreed && o.Standing == RulingDone && o.Birds[0] == a && o.To == from
	}
	if _, other := x.sent[a]; other || d.declinedSince(w, a, w.To) || !there && d.since(w, stays) {
		d.stop(w, Overruled, a)
		return
	}
	if len(w.Birds) == 2 && p.State(a).State.MayBreed() && p.State(w.Birds[1]).State.MayBreed() && p.Book.Birds[w.Birds[1]].Location == w.To {
		d.join(w)
		return
	}
	if there { // it has gone, and its mate cannot be had
		w.Standing = RulingDone
		return
	}
	if d.promised(a) {
		d.stop(w, Overruled, a)
		return
	}
	for _, m := range p.Mates(a) {
		along := slices.ContainsFunc(x.all, func(o Ruling) bool {
			return o.What == studbook.RulesMove && o.Answer == studbook.Agreed && o.Birds[0] == m && o.To == w.To
		})
		if x.parts[d.pairOf(a, m)] == nil && !along {
			d.stop(w, BondFirst, a, m)
			return
		}
	}
	x.sent[a] = PlannedMove{a, from, w.To}
}

// carriedOut reports whether what was agreed has come about since, as files with moves
// and bonds tell, whatever came after it.
func (d *Decision) carriedOut(w *Ruling) bool {
	book := d.p.Book
	since := func(day studbook.Date) bool { return day.Known() && day.Mid() >= w.Date.Mid() }
	switch w.What {
	case studbook.RulesMove:
		a := &book.Birds[w.Birds[0]]
		return a.Location != w.To && slices.ContainsFunc(book.MovesOf(a.ID), func(m studbook.Move) bool { return m.To == w.To && since(m.Date) })
	case studbook.RulesBond:
		f, m := book.Birds[w.Birds[0]].ID, book.Birds[w.Birds[1]].ID
		return slices.ContainsFunc(book.Bonds, func(b studbook.Bond) bool {
			return (b.Female == f && b.Male == m || b.Female == m && b.Male == f) && since(b.Since)
		})
	}
	return false
}

// join fixes the two birds of a ruling as a new pair, and which of them moves.
func (d *Decision) join(w *Ruling) {
	p, x := d.p, &d.rulings
	pair := d.pairOf(w.Birds[0], w.Birds[1])
	for _, b := range w.Birds {
		switch m, promised := x.mate[b]; {
		case promised && d.pairOf(b, m) == pair:
			w.Standing = RulingFixed // said twice
			return
		case promised:
			d.stop(w, Overruled, b)
			return
		}
		switch s := p.State(b).State; {
		case !s.MayBreed():
			w.Standing, w.Why = RulingStopped, p.StateReason(b)
			return
		case s == StateBonded && !d.released(b):
			d.stop(w, BondFirst, b, p.Mates(b)[0])
			return
		}
	}
	f, m := p.Book.Birds[pair[0]].Location, p.Book.Birds[pair[1]].Location
	if d.since(w, func(o *Ruling) bool {
		return d.about(o, pair) && (o.Answer == studbook.Declined && (o.What == studbook.RulesBond || o.What == studbook.RulesMove && f != m) ||
			o.Answer == studbook.Agreed && o.What == studbook.RulesPart)
	}) {
		d.stop(w, Overruled, pair[0], pair[1])
		return
	}
	if f != m {
		mover, ok := pair[0], f != "" && m != ""
		switch female, male := x.sent[pair[0]], x.sent[pair[1]]; {
		case w.To != "" && w.To != f && w.To != m:
			ok = false
		case w.To != "":
			if w.To == f {
				mover = pair[1]
			}
		case female.To == m && m != "":
		case male.To == f && f != "":
			mover = pair[1]
		case x.refused[pair[0]][m] != nil:
			mover = pair[1]
		case x.refused[pair[1]][f] != nil:
		case !p.mayTravel(pair[0]) || p.mayTravel(pair[1]) && d.rather(pair[0], pair[1]) != 0:
			mover = pair[1]
		}
		if !ok {
			d.stop(w, NoMeeting, pair[0], pair[1])
			return
		}
		if d.declinedSince(w, mover, p.Book.Birds[pair[0]+pair[1]-mover].Location) {
			d.stop(w, Overruled, mover)
			return
		}
		x.moves[pair] = PlannedMove{mover, p.Book.Birds[mover].Location, p.Book.Birds[pair[0]+pair[1]-mover].Location}
	}
	delete(x.sent, pair[0])
	delete(x.sent, pair[1])
	x.pairs[pair] = w
	x.mate[pair[0]], x.mate[pair[1]] = pair[1], pair[0]
}

// allowed reports whether two birds of the market may be paired: within the limit
// of kinship, and nobody has declined it.
func (d *Decision) allowed(f, m int) bool {
	if TooClose(d.m.kin(f, m), d.limit) {
		return false
	}
	if _, are := d.p.KinByDNA(d.m.females[f], d.m.males[m]); are {
		return false
	}
	_, no := d.DeclinedPair(d.m.females[f], d.m.males[m])
	return !no
}

// livesAt is where a bird is to live if it stays alone: where it is, or where people
// have agreed to send it.
func (d *Decision) livesAt(b int) string {
	if len(d.rulings.sent) > 0 { // asked of very many pairs
		if m, ok := d.rulings.sent[b]; ok {
			return m.To
		}
	}
	return d.p.Book.Birds[b].Location
}

// promised reports whether people have agreed on a mate for a bird that it does not
// have yet.
func (d *Decision) promised(b int) bool {
	_, ok := d.rulings.mate[b]
	return ok
}

// fixedPairs returns the pairs that people agreed on, by female.
func (d *Decision) fixedPairs() [][2]int {
	var out [][2]int
	for pair := range d.rulings.pairs {
		out = append(out, pair)
	}
	slices.SortFunc(out, func(a, b [2]int) int { return cmp.Or(a[0]-b[0], a[1]-b[1]) })
	return out
}
