package transfer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

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
	// Alternatives are the other kinds of option at their best, the next best
	// mates, and the best mate at home, best first.
	Alternatives []Alternative
	Ranking      *pairing.Ranking // of the bird's mates
	Unknown      []string         // what the files do not tell
	Cautions     []string
}

// Alternative is another option and why it comes second.
type Alternative struct {
	*Option
	Effects []Effect // as in Case
	Why     string
}

// Receiver returns the effect on the place that the first move reaches.
func (c *Case) Receiver() *Effect { return c.effectOn(c.Best.Moves[0].To) }

// Sender returns the effect on the place that the first move leaves.
func (c *Case) Sender() *Effect { return c.effectOn(c.Best.Moves[0].From) }

func (c *Case) effectOn(place string) *Effect {
	return &c.Effects[slices.IndexFunc(c.Effects, func(e Effect) bool { return e.Place == place })]
}

// Find makes the best case for a transfer. Its errors say in a sentence why
// there is none: a bird that is dead, of unknown sex, past breeding or on hold,
// a place that is not in the network, no mate anywhere, a partner that is
// unfit; or they are ctx's.
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
	fitting := slices.DeleteFunc(slices.Clone(all), func(o *Option) bool { return o.Kind == Stay || !c.fits(p, o) })
	if len(fitting) == 0 {
		return nil, c.noOption(p)
	}
	c.Best = fitting[0]
	if len(c.Best.Held) > 0 {
		return nil, fmt.Errorf("this move is not possible now: %s", strings.Join(c.Best.Held, "; "))
	}
	if !q.narrowed() && !c.Best.Useful() {
		return nil, fmt.Errorf("no move of %s would help the programme: its best mate elsewhere, %s at %s, gains no more than the average pair would; name a mate with --partner to write the request all the same",
			p.Name(c.Bird), p.Name(c.Best.mateOf(c.Bird)), p.Place(p.Book.Birds[c.Best.mateOf(c.Bird)].Location))
	}
	c.Mate = c.Best.mateOf(c.Bird)
	c.Effects = effects(p, c.Best)
	for _, m := range c.Best.Moves {
		c.Timing = append(c.Timing, timing(p, m.Bird, m.Quarantine))
	}
	c.Alternatives = alternatives(p, c, all)
	c.Unknown = unknown(p, c)
	c.Cautions = cautions(p, c)
	return c, nil
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
		return errors.New("the studbook has no location column, so all birds are taken to live in one place and there is nowhere to move a bird; add a location to each bird's row")
	}
	var err error
	if c.Bird, err = p.Bird(q.Bird); err != nil {
		return err
	}
	bird, name := &p.Book.Birds[c.Bird], p.Name(c.Bird)
	if !p.Book.Alive(c.Bird) {
		if bird.Death.Known() {
			return fmt.Errorf("%s died %s; there is nothing to transfer", name, bird.Death.Text)
		}
		return fmt.Errorf("%s is named as a parent but has no row of its own in the studbook, so nobody knows where it is", name)
	}
	if bird.Location == "" {
		return fmt.Errorf("nobody has written down where %s lives; fill in its location in the studbook first", name)
	}
	for _, u := range p.Unfit(c.Bird) {
		switch u.Code {
		case pairing.SexUnknown:
			return fmt.Errorf("the sex of %s is not known: have it sexed first, then ask for a mate and a transfer", name)
		case pairing.TooOld:
			return fmt.Errorf("%s is past breeding: %s; it needs no mate, so there is no case for a transfer on genetic grounds", name, u.Text)
		case pairing.OnHold:
			if hold, _ := p.Book.Blocked(bird.ID, studbook.BlocksBreeding); !hold.Until.Known() {
				return fmt.Errorf("%s is %s, until further notice; a transfer to a mate makes no sense before the hold ends", name, u.Text)
			}
		}
	}
	if mates := p.Book.Mates(q.Bird); len(mates) > 0 && !q.narrowed() {
		return fmt.Errorf("%s is bonded to %s and needs no mate; to ask for a transfer all the same, which would part them, name --partner, --to or --from",
			p.Name(c.Bird), strings.Join(mates, " and "))
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
		return fmt.Errorf("%s already lives at %s; no transfer is needed", name, p.Place(q.To))
	}
	for _, code := range []string{q.To, q.From} {
		if code != "" && len(p.Book.LivingAt(code)) == 0 {
			return fmt.Errorf("no bird lives at %s, so there is no mate for %s", p.Place(code), name)
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
		return fmt.Errorf("%s cannot be its own mate", name)
	case at == bird.Location && p.Book.Alive(mate):
		return fmt.Errorf("%s and %s both live at %s; no transfer is needed", name, p.Name(mate), p.Place(at))
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
	name := p.Name(c.Bird)
	home := p.Book.Birds[c.Bird].Location
	if q.Partner != "" {
		mate, _ := p.Book.Index(q.Partner)
		for _, x := range c.Ranking.RuledOut {
			if x.Bird == mate {
				return fmt.Errorf("%s cannot be the mate of %s: it %s", p.Name(mate), name, reasonText(x.Reasons))
			}
		}
		at := p.Book.Birds[mate].Location
		switch {
		case at == "":
			return fmt.Errorf("nobody has written down where %s lives, so no transfer can be planned", p.Name(mate))
		case q.To != "" && q.To != at, q.From != "" && q.From != at && q.From != home:
			return fmt.Errorf("%s lives at %s; name that place, or none", p.Name(mate), p.Place(at))
		}
		return fmt.Errorf("there is no such move for %s and %s", name, p.Name(mate))
	}
	if q.To != "" && q.From != "" && q.From != home {
		return fmt.Errorf("no exchange was found in which %s goes to %s and a bird comes back from %s so that every new pair gains", name, p.Place(q.To), p.Place(q.From))
	}
	where, at := "elsewhere", q.To
	if at == "" && q.From != home {
		at = q.From
	}
	if at != "" {
		where = "at " + p.Place(at)
	}
	var out []pairing.Excluded
	for _, x := range c.Ranking.RuledOut {
		lives := p.Book.Birds[x.Bird].Location
		if p.Book.Alive(x.Bird) && (lives == at || at == "" && lives != home) {
			out = append(out, x)
		}
	}
	if len(out) == 0 {
		return fmt.Errorf("there is no possible mate for %s %s: no other bird lives there", name, where)
	}
	why := fmt.Sprintf("there is no possible mate for %s %s: of %s living there %s", name, where, pairing.Count(len(out), "bird", "birds"), pairing.Tally(out))
	if k := slices.IndexFunc(c.Ranking.Candidates, func(m pairing.Candidate) bool { return !m.NeedsTransfer }); at == "" && k >= 0 {
		return fmt.Errorf("%s; at home %s is possible", why, p.Name(c.Ranking.Candidates[k].Bird))
	}
	return errors.New(why)
}

func reasonText(reasons []pairing.Reason) string {
	var words []string
	for _, r := range reasons {
		text := r.Text
		switch r.Code {
		case pairing.TooYoung, pairing.TooOld, pairing.CloseKin:
			text = "is " + text
		case pairing.OnHold:
			text = "is " + text
		case pairing.SexUnknown:
			text = "cannot be chosen, as " + text
		}
		words = append(words, text)
	}
	return strings.Join(words, "; ")
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
			o := &Option{Kind: Stay}
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
