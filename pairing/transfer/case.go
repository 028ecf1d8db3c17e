package transfer

import (
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Question asks for a transfer. Without To, From and Partner it asks what the
// season's decision has for the bird.
type Question struct {
	Bird    string // id of a living bird
	To      string // code of the institution where the bird is to go
	From    string // code of the institution that a bird is to come from
	Partner string // id of the intended mate
	Seed    uint64 // of the ranking's draws where parents are uncertain
}

// narrowed reports whether the asker has made part of the choice.
func (q *Question) narrowed() bool { return q.To != "" || q.From != "" || q.Partner != "" }

// Case is the answer to a question for a transfer.
type Case struct {
	Question Question
	Bird     int
	Standing pairing.Standing // of the bird
	// Needed is true where the season's decision makes the move, or wants the
	// young bird elsewhere in the years ahead. Why, or why not, the Ranking says:
	// the bird's state, its mate in the decision, or why it has none.
	Needed bool
	Young  *pairing.Young // where the decision wants a young bird

	// Best is what there is to ask for: the decision's move or, of a narrowed
	// question, the best that fits it; nil where no bird need move.
	Best *Option
	Mate int // the intended one; -1 if there is none
	// Effects are those of Best: on the places in the order of its moves, then
	// on the programme.
	Effects []Effect
	Timing  []pairing.Timing // of Best's moves
	// Earlier are the moves that each of the Birds has made before, by day.
	Earlier []studbook.Move
	// Alternatives are what else could be done, what the decision has among it.
	Alternatives []Alternative
	Ranking      *pairing.Ranking // of the bird's mates
	// Or is, of a move that the decision makes, the advised parting that could be made
	// instead; nil where there is none.
	Or *pairing.Undoing
	// Request is the one on file for Best's first move, made by where it goes; nil where
	// there is none. Waiting is what people have said of that move and is still to be
	// decided; nil where nobody has.
	Request *studbook.Request
	Waiting *pairing.Ruling

	LeastGain float64          // what a pair must gain to be worth a move
	Unknown   []pairing.Reason // what the files do not tell
	Cautions  []pairing.Reason

	season studbook.Day // first of the season that the decision is for
}

// AnswerBy returns the last day on which an answer leaves time to prepare each
// journey of Best, and the last day of the first of them to end; 0 where no day to
// travel is known. Either may have passed.
func (c *Case) AnswerBy() (answer, journey studbook.Day) {
	for k, m := range c.Best.Moves {
		latest := c.Timing[k].Latest
		if latest == 0 {
			continue
		}
		if by := pairing.AgreeBy(m.PermitWeeks, latest); answer == 0 || by < answer {
			answer = by
		}
		if journey == 0 || latest < journey {
			journey = latest
		}
	}
	return answer, journey
}

// Receiver returns the effect on the place that the first move reaches.
func (c *Case) Receiver() *Effect { return c.effectOn(c.Best.Moves[0].To) }

// Sender returns the effect on the place that the first move leaves.
func (c *Case) Sender() *Effect { return c.effectOn(c.Best.Moves[0].From) }

func (c *Case) effectOn(at string) *Effect {
	return &c.Effects[slices.IndexFunc(c.Effects, func(e Effect) bool { return e.At == at })]
}

// Find answers a question for a transfer by the season's decision of a
// programme. That no bird need move is an answer; a *NoCaseError says why there
// is none: a bird that is dead or nobody knows where, a partner that is out of the
// question, a place without a mate. Other errors are a *pairing.NotFoundError and
// ctx's.
func Find(ctx context.Context, p *pairing.Programme, d *pairing.Decision, q Question) (*Case, error) {
	c := &Case{Question: q, Mate: -1, LeastGain: d.LeastGain, season: d.Season.Start}
	if err := c.check(p); err != nil {
		return nil, err
	}
	c.Standing = p.State(c.Bird)
	partner, asked := p.Book.Index(q.Partner)
	ranker, err := pairing.NewRanker(ctx, d, pairing.Options{BreakBonds: asked && len(p.Mates(partner)) > 0, Seed: q.Seed})
	if err != nil {
		return nil, err
	}
	if c.Ranking, err = ranker.Rank(ctx, c.Bird); err != nil {
		return nil, err
	}
	n := &network{p: p, d: d, ranker: ranker}
	if !c.Standing.State.MayBreed() {
		c.comeOfAge(n)
	} else if err = c.choose(ctx, n); err != nil {
		return nil, err
	}
	if c.Best == nil {
		return c, nil
	}
	if x := c.Ranking.Bond; c.Needed && x != nil {
		c.Or = x.UndoneBy
	}
	c.onFile(p, d)
	c.Effects = effects(p, c.Best)
	for k := range c.Best.Moves {
		if c.Young != nil {
			c.Timing = append(c.Timing, c.Young.Timing)
			continue
		}
		c.Timing = append(c.Timing, p.Timing(c.Best.Moves[k].Bird, c.Best.Moves[k].From, c.Best.Moves[k].To))
	}
	for _, b := range c.Birds() {
		c.Earlier = append(c.Earlier, p.Book.MovesOf(p.Book.Birds[b].ID)...)
	}
	c.Unknown = unknown(p, c)
	c.Cautions = cautions(p, d, c)
	rests, err := restsFirst(ctx, p, d, c.Best)
	c.Cautions = append(c.Cautions, rests...)
	return c, err
}

// onFile finds what the files have of the first move of Best: of several requests the one with
// its mate, else the first.
func (c *Case) onFile(p *pairing.Programme, d *pairing.Decision) {
	m := c.Best.Moves[0]
	mate := -1
	switch {
	case len(c.Best.Pairs) > 0:
		mate = c.Best.mateOf(m.Bird)
	case c.Young != nil:
		mate = c.Young.Mate
	}
	for k := range p.Book.Requests {
		q := &p.Book.Requests[k]
		if q.Bird != p.Book.Birds[m.Bird].ID || q.To != m.To || cameSince(p, q) {
			continue
		}
		if with, asked := p.Book.Index(q.Partner); c.Request == nil || asked && with == mate {
			c.Request = q
		}
	}
	for _, w := range d.Rulings() {
		if w.What == studbook.RulesMove && w.Answer == studbook.Waiting && w.Birds[0] == m.Bird && w.To == m.To && c.Waiting == nil {
			c.Waiting = &w
		}
	}
}

// restsFirst names the pairs of an option that the season's own decision has and that the
// plan of the place where they are to live lets hatch nothing in their first season.
func restsFirst(ctx context.Context, p *pairing.Programme, d *pairing.Decision, o *Option) (say []pairing.Reason, err error) {
	if !o.Decided {
		return nil, nil
	}
	for _, x := range o.Pairs {
		chicks, _ := p.ChicksNeeded(x.At, false)
		plan, err := d.Plan(ctx, pairing.PlanOptions{Place: x.At, Chicks: chicks, PairsAlone: true})
		if err != nil {
			return nil, err
		}
		if plan.Rests(x.Female, x.Male) {
			r := about(p, RestsFirst, x.Female, x.Male)
			r.Count = d.Season.Year
			say = append(say, r)
		}
	}
	return say, nil
}

// comeOfAge settles the case of a bird that cannot breed: a young one that should
// be elsewhere when it comes of age may be asked for, no other.
func (c *Case) comeOfAge(n *network) {
	c.Young = c.Ranking.Young
	y := c.Young
	if y == nil || y.SexUnknown || !y.Leaves() {
		return
	}
	q := &c.Question
	c.Mate = y.Mate
	if q.To != "" && q.To != y.To || q.From != "" && q.From != y.From || q.Partner != "" && (y.Mate < 0 || q.Partner != n.p.Book.Birds[y.Mate].ID) {
		return
	}
	c.Needed = true
	c.Best = n.young(y)
}

// choose finds the best option of a bird that may breed, and what else could be
// done.
func (c *Case) choose(ctx context.Context, n *network) error {
	p, q := n.p, &c.Question
	all := n.all(c.Bird, c.Ranking, q)
	decided := n.decidedOption(c.Bird, all)
	c.Best = decided
	if q.narrowed() {
		if q.To != "" && q.From != "" && q.From != p.Book.Birds[c.Bird].Location {
			swap, err := n.exchange(ctx, c.Bird, q, all)
			if err != nil {
				return err
			}
			if swap != nil {
				all = append([]*Option{swap}, all...)
			}
		}
		c.Best = nil
		if decided != nil && c.fits(p, decided) {
			c.Best = decided
		} else if k := slices.IndexFunc(all, func(o *Option) bool { return o.Way != Stay && c.fits(p, o) }); k >= 0 {
			c.Best = all[k]
		}
		if c.Best == nil {
			return c.noOption(p)
		}
		if len(c.Best.Held) > 0 {
			return &NoCaseError{Reason: about(p, NotNow, c.Bird), Because: c.Best.Held}
		}
	}
	c.Needed = c.Best != nil && c.Best == decided
	if c.Best != nil {
		c.Mate = c.Best.mateOf(c.Bird)
	}
	c.Alternatives = n.alternatives(c, all, decided)
	return nil
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
		if !bird.Recorded {
			return refuse(NoRow, "")
		}
		return &NoCaseError{Reason: p.Absent(c.Bird)}
	}
	if bird.Location == "" {
		return refuse(LocationUnknown, "")
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
		if lives == at || at == "" && lives != home {
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
	for x := range p.AllRuledOut(c.Ranking) {
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
