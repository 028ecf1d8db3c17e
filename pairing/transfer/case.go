package transfer

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Question asks for a transfer. Without To, From and Partner the best option
// of all is looked for.
type Question struct {
	Bird    string // id of a living bird
	To      string // code of the institution where the bird is to go
	From    string // code of the institution that a bird is to come from
	Partner string // id of the intended mate
	Seed    uint64 // of the ranking's draws where parents are uncertain
}

// narrowed reports whether the asker has made part of the choice.
func (q *Question) narrowed() bool { return q.To != "" || q.From != "" || q.Partner != "" }

// Case is the case for a transfer.
type Case struct {
	Question Question
	Bird     int
	Mate     int // the intended one
	Best     *Option
	// Effects are those of Best: on the places in the order of its moves, then
	// on the programme.
	Effects []Effect
	Timing  []Timing // of Best's moves
	// Earlier are the moves that each of the Birds has made before, by day.
	Earlier []studbook.Move
	// Alternatives are the other kinds of option at their best, the next best
	// mates, and the best mate at home, best first.
	Alternatives []Alternative
	Ranking      *pairing.Ranking // of the bird's mates
	Unknown      []pairing.Reason // what the files do not tell
	Cautions     []pairing.Reason
}

// Alternative is another option and why it comes second.
type Alternative struct {
	*Option
	Effects []Effect // as in Case
	Why     []pairing.Reason
}

// Receiver returns the effect on the place that the first move reaches.
func (c *Case) Receiver() *Effect { return c.effectOn(c.Best.Moves[0].To) }

// Sender returns the effect on the place that the first move leaves.
func (c *Case) Sender() *Effect { return c.effectOn(c.Best.Moves[0].From) }

func (c *Case) effectOn(at string) *Effect {
	return &c.Effects[slices.IndexFunc(c.Effects, func(e Effect) bool { return e.At == at })]
}

// Find makes the best case for a transfer. A *NoCaseError says why there is
// none: a bird that is dead, of unknown sex, past breeding or on hold, no mate
// anywhere, a partner that is unfit. Other errors are a
// *pairing.NotFoundError and ctx's.
func Find(ctx context.Context, p *pairing.Programme, q Question) (*Case, error) {
	c := &Case{Question: q}
	if err := c.check(p); err != nil {
		return nil, err
	}
	ranker, err := pairing.NewRanker(ctx, p, pairing.Options{BreakBonds: q.Partner != "", Seed: q.Seed})
	if err != nil {
		return nil, err
	}
	if c.Ranking, err = ranker.Rank(ctx, c.Bird); err != nil {
		return nil, err
	}
	n, err := newNetwork(ctx, p, ranker)
	if err != nil {
		return nil, err
	}
	all := n.all(c.Bird, &q, c.Ranking)
	order(all)
	fitting := slices.DeleteFunc(slices.Clone(all), func(o *Option) bool { return o.Way == Stay || !c.fits(p, o) })
	if len(fitting) == 0 {
		return nil, c.noOption(p)
	}
	c.Best = fitting[0]
	if len(c.Best.Held) > 0 {
		return nil, &NoCaseError{Reason: about(p, NotNow, c.Bird), Because: c.Best.Held}
	}
	if !q.narrowed() && !c.Best.Useful() {
		mate := c.Best.mateOf(c.Bird)
		why := about(p, NoUsefulMove, c.Bird, mate)
		why.From = p.Book.Birds[mate].Location
		return nil, &NoCaseError{Reason: why}
	}
	c.Mate = c.Best.mateOf(c.Bird)
	c.Effects = effects(p, c.Best)
	for k := range c.Best.Moves {
		c.Timing = append(c.Timing, timing(p, &c.Best.Moves[k]))
	}
	for _, b := range c.Birds() {
		c.Earlier = append(c.Earlier, earlierMoves(p, b)...)
	}
	c.Alternatives = alternatives(p, c, all)
	c.Unknown = unknown(p, c)
	c.Cautions = cautions(p, c)
	return c, nil
}

// earlierMoves returns the moves of a bird until the day, by day.
func earlierMoves(p *pairing.Programme, b int) []studbook.Move {
	var out []studbook.Move
	for _, m := range p.Book.Colony.Moves {
		if m.ID == p.Book.Birds[b].ID && m.Date.OnOrBefore(p.Book.AsOf) {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b studbook.Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	return out
}

// mateOf returns the mate that the option gives a bird of its first pair.
func (o *Option) mateOf(b int) int {
	if o.Pairs[0].Female == b {
		return o.Pairs[0].Male
	}
	return o.Pairs[0].Female
}

// check settles the question and refuses what cannot be.
func (c *Case) check(p *pairing.Programme) error {
	q := &c.Question
	if !p.Book.Colony.HasLocation {
		return &NoCaseError{Reason: pairing.Reason{Code: NoLocations}}
	}
	var err error
	if c.Bird, err = p.Bird(q.Bird); err != nil {
		return err
	}
	bird := &p.Book.Birds[c.Bird]
	refuse := func(code pairing.Code, to string, others ...int) error {
		r := about(p, code, append([]int{c.Bird}, others...)...)
		r.To = to
		return &NoCaseError{Reason: r}
	}
	if !p.Book.Alive(c.Bird) {
		if !bird.Death.Known() {
			return refuse(NoRow, "")
		}
		r := about(p, pairing.Dead, c.Bird)
		r.Date = bird.Death
		return &NoCaseError{Reason: r}
	}
	if bird.Location == "" {
		return refuse(LocationUnknown, "")
	}
	for _, u := range p.Unfit(c.Bird) {
		hold, _ := p.Book.Blocked(bird.ID, studbook.BlocksBreeding)
		if u.Is(pairing.SexUnknown, pairing.TooOld) || u.Is(pairing.OnHold) && !hold.Until.Known() {
			return &NoCaseError{Reason: u}
		}
	}
	if mates := p.Mates(c.Bird); len(mates) > 0 && !q.narrowed() {
		r := about(p, pairing.Bonded, c.Bird)
		for _, m := range mates {
			r.Birds = append(r.Birds, &p.Book.Birds[m])
		}
		return &NoCaseError{Reason: r}
	}
	for _, code := range []*string{&q.To, &q.From} {
		if *code == "" {
			continue
		}
		if *code, err = p.Colony(*code); err != nil {
			return err
		}
	}
	if q.To == bird.Location {
		return refuse(SamePlace, q.To)
	}
	for _, code := range []string{q.To, q.From} {
		if code != "" && len(p.Book.LivingAt(code)) == 0 {
			return refuse(NobodyThere, code)
		}
	}
	if q.Partner == "" {
		return nil
	}
	mate, err := p.Bird(q.Partner)
	if err != nil {
		return err
	}
	switch at := p.Book.Birds[mate].Location; {
	case mate == c.Bird:
		return refuse(OwnMate, "")
	case at == bird.Location && p.Book.Alive(mate):
		return refuse(SamePlace, at, mate)
	}
	return nil
}

// fits reports whether an option is one of those asked for.
func (c *Case) fits(p *pairing.Programme, o *Option) bool {
	q := &c.Question
	home := p.Book.Birds[c.Bird].Location
	if q.Partner != "" && p.Book.Birds[o.mateOf(c.Bird)].ID != q.Partner {
		return false
	}
	leaves := o.Moves[0].Bird == c.Bird
	switch {
	case q.From == home: // the bird itself is to come from there
		return leaves && (q.To == "" || o.Moves[0].To == q.To)
	case q.To != "" && (!leaves || o.Moves[0].To != q.To):
		return false
	case q.From == "":
		return true
	case q.To == "":
		return !leaves && o.Moves[0].From == q.From
	}
	// A bird goes one way, and another comes to its home.
	return slices.ContainsFunc(o.Moves[1:], func(m Move) bool { return m.From == q.From && m.To == home })
}

// noOption says why no option fits the question.
func (c *Case) noOption(p *pairing.Programme) error {
	q := &c.Question
	home := p.Book.Birds[c.Bird].Location
	if q.Partner != "" {
		return c.noPartner(p)
	}
	if q.To != "" && q.From != "" && q.From != home {
		why := about(p, NoExchange, c.Bird)
		why.To, why.From = q.To, q.From
		return &NoCaseError{Reason: why}
	}
	at := q.To
	if at == "" && q.From != home {
		at = q.From
	}
	e := &NoCaseError{Reason: about(p, NoMate, c.Bird)}
	e.From = at
	for _, x := range c.Ranking.RuledOut {
		lives := p.Book.Birds[x.Bird].Location
		if p.Book.Alive(x.Bird) && (lives == at || at == "" && lives != home) {
			e.RuledOut = append(e.RuledOut, x)
		}
	}
	if k := slices.IndexFunc(c.Ranking.Candidates, func(m pairing.Candidate) bool { return !m.NeedsTransfer }); at == "" && k >= 0 {
		e.Birds = append(e.Birds, &p.Book.Birds[c.Ranking.Candidates[k].Bird])
	}
	return e
}

// noPartner says why there is no option with the partner asked for.
func (c *Case) noPartner(p *pairing.Programme) error {
	q := &c.Question
	mate, _ := p.Book.Index(q.Partner)
	for _, x := range c.Ranking.RuledOut {
		if x.Bird == mate {
			return &NoCaseError{Reason: about(p, MateRuledOut, c.Bird, mate), Because: x.Reasons}
		}
	}
	at := p.Book.Birds[mate].Location
	switch {
	case at == "":
		return &NoCaseError{Reason: about(p, LocationUnknown, c.Bird, mate)}
	case q.To != "" && q.To != at, q.From != "" && q.From != at && q.From != p.Book.Birds[c.Bird].Location:
		why := about(p, MateElsewhere, c.Bird, mate)
		why.From = at
		return &NoCaseError{Reason: why}
	}
	return &NoCaseError{Reason: about(p, NoSuchMove, c.Bird, mate)}
}

// all returns every option for a bird: with each mate at home and elsewhere,
// either way, alone and as part of the best ring. A mate that is bonded to
// another bird counts only if it is the partner asked for; a pair that does not
// beat those at home begins a ring only if an exchange is asked for.
func (n *network) all(b int, q *Question, ranking *pairing.Ranking) []*Option {
	exchange := q.To != "" && q.From != ""
	home := n.p.Book.Birds[b].Location
	var out []*Option
	for _, c := range ranking.Candidates {
		at := n.p.Book.Birds[c.Bird].Location
		mate := n.p.Book.Birds[c.Bird].ID
		apart := c.BondedTo != "" && c.BondedTo != n.p.Book.Birds[b].ID
		if at == "" || apart && mate != q.Partner {
			continue
		}
		if !c.NeedsTransfer {
			o := &Option{Way: Stay}
			o.addPair(n.p, b, c.Bird, home, c)
			o.GainPerMove = o.ExpectedGain
			out = append(out, o)
			continue
		}
		send := leg{b, c.Bird, home, at, c}
		bring := leg{c.Bird, b, at, home, c}
		out = append(out, n.option(Send, send), n.option(Bring, bring))
		for _, first := range []leg{send, bring} {
			if _, held := heldFor(n.p, first.mover); held || !c.Verdict.Good() || !exchange && !n.beatsHome(b, c.Bird, &c) {
				continue
			}
			for _, ring := range []*Option{n.swap(first), n.chain(first)} {
				if ring != nil {
					out = append(out, ring)
				}
			}
		}
	}
	return out
}
