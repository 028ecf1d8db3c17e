package board

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
)

// What is to be done besides what the review has.
const (
	HatchDue      review.TaskKind = "hatch due"       // look for chicks, and write down how many hatched
	FledgeDue     review.TaskKind = "fledging due"    // write down how many fledged
	TellOutcome   review.TaskKind = "outcome"         // of eggs that should have hatched long ago
	BandBird      review.TaskKind = "band"            // a chick without a band
	EndQuarantine review.TaskKind = "quarantine over" // of a bird that has come
	SendBird      review.TaskKind = "send"            // a move that people agreed on, without a mate
	AnswerRequest review.TaskKind = "answer"          // a request for a bird of the colony
	LookAtHold    review.TaskKind = "hold ends"
)

// Task is one thing to do.
type Task struct {
	// Decided says what and why, and in By the day that the review has: of a move the
	// last on which the bird can leave.
	review.Decided
	Due  studbook.Day // by when it is to be done; 0 where no day presses
	Nest string       // of the pair, where it has one on record

	Asked   Asked            // of MoveBird and PlaceYoung: what has been said of it
	Request *transfer.Judged // of AnswerRequest
	Hold    *studbook.Hold   // of LookAtHold
	Clutch  *studbook.Clutch // of HatchDue, FledgeDue and TellOutcome
	// MayHaveHatched is true of CandleEggs where nobody has candled them and the hatch
	// was due.
	MayHaveHatched bool
}

// Asked says how far a move has come.
type Asked string

// How far a move has come.
const (
	NotAsked Asked = ""
	IsAsked  Asked = "asked"  // the request is on file
	IsAgreed Asked = "agreed" // in decisions.csv: it is to be carried out
)

// WeekDays is how far a board looks ahead for what is to be done at once.
const WeekDays = 7

// MonthDays is how far a board looks ahead for what comes next.
const MonthDays = 30

// Soon reports whether a task is to be done within a month from today, or from now on.
func (t *Task) Soon(today studbook.Day) bool { return t.Due < today+MonthDays }

// ThisWeek reports whether a task falls into the week that begins today, as one does whose
// time has begun, or is overdue; see Overdue.
func (t *Task) ThisWeek(today studbook.Day) bool {
	return t.Due != 0 && (t.Due < today+WeekDays || t.Begin != 0 && t.Begin < today+WeekDays)
}

// Overdue reports whether a task should have been done before today.
func (t *Task) Overdue(today studbook.Day) bool { return t.Due != 0 && t.Due < today }

// fillTasks gathers what is to be done: what the review has of it but for the season's
// broods, partings that nobody has agreed on and gaps in parentage, and what falls
// due from day to day.
func (b *Board) fillTasks(ctx context.Context, d *pairing.Decision, pairs []review.PairReview, moves *transfer.List) error {
	p := b.Programme
	var unsexed []int
	for _, i := range p.Book.LivingAt(b.Colony) {
		if p.State(i).State == pairing.StateUnsexed {
			unsexed = append(unsexed, i)
		}
	}
	released := func(x *review.Decided) bool {
		return slices.ContainsFunc(b.Nests, func(n Nest) bool {
			return n.Kind == pairing.BondReleased && p.Book.Birds[n.Female].ID == x.Birds[0].ID && p.Book.Birds[n.Male].ID == x.Birds[1].ID
		})
	}
	for _, kind := range review.Decisions(p, b.Plan, pairs, moves, unsexed, nil) {
		for _, x := range kind {
			if x.What == review.HatchChicks || x.What == review.PartPair && !released(&x) {
				continue
			}
			t := Task{Decided: x, Due: x.By}
			switch x.What {
			case review.MoveBird, review.PlaceYoung:
				b.howFar(&t, d)
			case review.FindMates, review.RenewRuling:
				t.Due = p.Book.AsOf + WeekDays - 1
			}
			t.MayHaveHatched = x.What == review.CandleEggs && b.hatchWasDue(&x)
			b.Tasks = append(b.Tasks, t)
		}
	}
	b.nestsDue()
	b.bands()
	b.parents()
	b.quarantines()
	for _, m := range moves.Sent {
		t := b.add(SendBird, m.Timing.Latest, m.Mover())
		t.From, t.To, t.Asked = m.Moves[0].From, m.Moves[0].To, IsAgreed
	}
	for k := range b.Holds {
		if h := &b.Holds[k]; h.Until.Known() {
			i, _ := p.Book.Index(h.ID)
			b.add(LookAtHold, h.Ends(), i).Hold = h
		}
	}
	if err := b.requests(ctx, d); err != nil {
		return err
	}
	for k := range b.Tasks {
		b.Tasks[k].Nest = b.nestOf(&b.Tasks[k])
	}
	slices.SortStableFunc(b.Tasks, func(x, y Task) int {
		none := func(t Task) int {
			if t.Due == 0 {
				return 1
			}
			return 0
		}
		return cmp.Or(none(x)-none(y), cmp.Compare(x.Due, y.Due))
	})
	return nil
}

// add adds a task of one bird, or of a female and a male.
func (b *Board) add(what review.TaskKind, due studbook.Day, birds ...int) *Task {
	t := Task{Decided: review.Decided{What: what, By: due}, Due: due}
	for _, i := range birds {
		t.Birds = append(t.Birds, &b.Programme.Book.Birds[i])
	}
	b.Tasks = append(b.Tasks, t)
	return &b.Tasks[len(b.Tasks)-1]
}

// howFar settles what is on file about a move. One that nobody has agreed
// on yet is to be settled so early that the journey can be prepared and the permit for
// its border can still come.
func (b *Board) howFar(t *Task, d *pairing.Decision) {
	p := b.Programme
	mover, _ := p.Book.Index(t.Birds[0].ID)
	bond, _ := d.BondOf(mover)
	sent := slices.ContainsFunc(d.Sent(), func(m pairing.PlannedMove) bool { return m.Bird == mover && m.To == t.To })
	switch {
	case sent || t.What == review.MoveBird && bond.Word != nil:
		t.Asked = IsAgreed
		return
	case slices.ContainsFunc(p.Book.Requests, func(q studbook.Request) bool { return q.Bird == t.Birds[0].ID && q.To == t.To }):
		t.Asked = IsAsked
	}
	if t.AgreeBy != 0 {
		t.Due = max(p.Book.AsOf, t.AgreeBy)
	}
}

// nestsDue adds the hatches and fledgings to look for.
func (b *Board) nestsDue() {
	set := b.Programme.Settings()
	for _, n := range b.Nests {
		if e := n.Eggs; e != nil && (e.Advice == pairing.LeaveEggs || e.Advice == pairing.FosterEggs) && e.Clutch.Fertile != 0 { // others are candled first
			b.add(HatchDue, e.Clutch.Laid.Mid()+studbook.Day(set.IncubationDays), n.Female, n.Male).Clutch = e.Clutch
		}
	}
	for _, c := range b.Programme.Unfledged() {
		if f, m, here := b.parentsHere(c); here {
			b.add(FledgeDue, c.Laid.Mid()+studbook.Day(set.IncubationDays+set.RearingDays), f, m).Clutch = c
		}
	}
	for _, c := range b.Programme.Untold() {
		if f, m, here := b.parentsHere(c); here {
			b.add(TellOutcome, c.Laid.Mid()+studbook.Day(set.IncubationDays), f, m).Clutch = c
		}
	}
}

// parentsHere returns the pair of a clutch; here is true where its eggs were laid here as far
// as one can tell: the female lives here, or the male where she lives no more.
func (b *Board) parentsHere(c *studbook.Clutch) (female, male int, here bool) {
	p := b.Programme
	f, okF := p.Book.Index(c.Female)
	m, okM := p.Book.Index(c.Male)
	if !okF || !okM {
		return 0, 0, false
	}
	at := f
	if !p.Book.Alive(f) {
		at = m
	}
	return f, m, p.Book.Alive(at) && p.Book.Birds[at].Location == b.Colony
}

// hatchWasDue reports whether the eggs of a pair should have hatched by today.
func (b *Board) hatchWasDue(x *review.Decided) bool {
	return slices.ContainsFunc(b.Plan.Eggs, func(e pairing.Eggs) bool {
		birds := b.Programme.Book.Birds
		due := e.Clutch.Laid.Mid() + studbook.Day(b.Programme.Settings().IncubationDays)
		return birds[e.Female].ID == x.Birds[0].ID && birds[e.Male].ID == x.Birds[1].ID && due <= b.Programme.Book.AsOf
	})
}

// bands adds the birds without a band, where bands are on record: chicks before they
// leave the nest (common practice, no source), others when they are next in the hand.
func (b *Board) bands() {
	p := b.Programme
	if !slices.ContainsFunc(p.Book.Birds, func(x studbook.Bird) bool { return x.Band != "" }) {
		return
	}
	for _, i := range p.Book.LivingAt(b.Colony) {
		bird := &p.Book.Birds[i]
		if bird.Band != "" {
			continue
		}
		due := studbook.Day(0)
		if fledges := bird.Hatch.Mid() + studbook.Day(p.Settings().RearingDays); bird.Hatch.Known() && fledges >= p.Book.AsOf {
			due = fledges
		}
		b.add(BandBird, due, i)
	}
}

// parents adds the parents of birds here that DNA has found and that the studbook does not
// have.
func (b *Board) parents() {
	p := b.Programme
	for _, i := range p.Book.LivingAt(b.Colony) {
		if p.Typed(i) == 0 {
			continue
		}
		for _, s := range p.Parentage(i).Sides() {
			if parent, found := s.Found(); found {
				b.add(review.RecordParent, 0, i, parent).Parent = s.Sex
			}
		}
	}
}

// quarantines adds the birds whose quarantine is not over.
func (b *Board) quarantines() {
	p := b.Programme
	days, _ := p.Quarantine(b.Colony)
	for _, m := range p.Book.Colony.Moves {
		i, ok := p.Book.Index(m.ID)
		if !ok || m.To != b.Colony || m.To == "" || !m.Date.OnOrBefore(p.Book.AsOf) || !p.Book.Alive(i) || p.Book.Birds[i].Location != b.Colony {
			continue
		}
		if over := m.Date.Mid() + studbook.Day(days); over >= p.Book.AsOf {
			b.add(EndQuarantine, over, i).From = m.From
		}
	}
}

// answerDays is within how many days a request is to be answered (common practice, no
// source).
const answerDays = 14

// requests adds the requests for birds of the colony that nobody has decided on.
func (b *Board) requests(ctx context.Context, d *pairing.Decision) error {
	desk, err := transfer.Judge(ctx, b.Programme, d)
	if none := new(transfer.NoCaseError); errors.As(err, &none) {
		return nil
	} else if err != nil {
		return err
	}
	for k := range desk.Requests {
		q := &desk.Requests[k]
		if q.From != b.Colony || q.Answer == transfer.Met || q.Why[0].Is(pairing.SaidYes, pairing.SaidNo) {
			continue
		}
		due := b.Programme.Book.AsOf + WeekDays - 1
		if q.Date.Known() {
			due = q.Date.Mid() + answerDays
		}
		t := b.add(AnswerRequest, due, q.Bird)
		t.Request, t.From, t.To = q, q.From, q.Request.To
	}
	return nil
}

// nestOf returns the nest of the pair that a task is about.
func (b *Board) nestOf(t *Task) string {
	if len(t.Birds) == 0 {
		return ""
	}
	for _, n := range b.Nests {
		if id := t.Birds[0].ID; b.Programme.Book.Birds[n.Female].ID == id || b.Programme.Book.Birds[n.Male].ID == id {
			return n.Nest
		}
	}
	return ""
}
