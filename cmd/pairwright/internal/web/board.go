package web

import (
	"cmp"
	"html/template"
	"net/url"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/board"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

// boardPage shows the board of the colony: what is to be done, a card for each nest and
// for each bird in none, the figures.
func boardPage(v *visit) (*view, error) {
	values := v.Query()
	find := strings.TrimSpace(values.Get("find"))
	values.Del("find")
	asked, err := question.Named("colony").Parse(values)
	if err != nil {
		return nil, err
	}
	c, err := v.read()
	if err != nil {
		return nil, err
	}
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	b, err := c.Board(v.Context(), asked)
	if err != nil {
		return nil, err
	}
	today := studbook.Today()
	behind := v.Day() == "" && !v.Example() && v.filesDay() < today
	if behind { // what falls due does so whether anything is written down or not
		late := *b
		late.Today, b = today, &late
	}
	d := report.BoardDocument(b)
	page := boardOf{visit: v, Board: b, Document: d, Find: find, Rest: report.RestNote(b), Files: downloads(asked.Question, values)}
	page.fill(find)
	page.ThisWeek, page.Nothing = report.WeekTitle(b), report.NothingDue(len(page.Overdue) > 0)
	page.Next = report.MonthTitle(b)
	if behind {
		page.Behind, page.On, page.Today = document.FormatDay(v.filesDay()), document.FormatDay(today), v.Link("/", "as-of", today.String())
	}
	out, err := body("board", page)
	return &view{Title: d.Title, Body: out, Class: d.Class()}, err
}

// boardOf is a board as its page shows it.
type boardOf struct {
	*visit
	Board    *board.Board
	Document *document.Document
	Find     string
	Overdue  []taskCard
	Week     []taskCard
	Soon     []taskCard
	Later    []taskCard
	Cards    []nestCard
	Loose    []birdCard
	Files    []link
	Figures  []report.Glance
	Rest     string // what is asked of nests
	// ThisWeek heads what falls due, Nothing says that nothing does, and Next heads Soon.
	ThisWeek, Nothing, Next string
	Holds                   []holdLine
	// Behind is the day of a board that is not of today's, which is On, and Today the
	// address of the one that is; "" where there is none.
	Behind, On, Today string
}

// holdLine is a hold in force.
type holdLine struct {
	Bird       template.HTML
	Until, Why string
	Release    link
}

// taskCard is one thing to do.
type taskCard struct {
	By, Nest  string
	What, Why template.HTML
	Records   []link // where it is written down, of each bird that it is about
}

// nestCard is a nest.
type nestCard struct {
	Nest       string
	Pair       template.HTML
	Since      string
	Asks, Role string
	Now        template.HTML
	Why        []template.HTML
	Links      []link
	Text       string // of the card, to be searched
}

// birdCard is a bird in no nest.
type birdCard struct {
	Bird    template.HTML
	Is, Sex string
	Age     string
	Next    template.HTML
	Links   []link
	Text    string
}

// record is the form in which something is written down, with what is known of it
// filled in; none where nothing can be written.
func (v *visit) record(text, kind string, keysAndValues ...string) link {
	if v.ReadOnly() || v.Past() {
		return link{}
	}
	query := url.Values{}
	for k := 0; k+1 < len(keysAndValues); k += 2 {
		query.Add(keysAndValues[k], keysAndValues[k+1])
	}
	to := url.URL{Path: "/record/" + kind, RawQuery: query.Encode()}
	return link{to.String(), text}
}

// fill writes out what the page shows, of cards those that have the text that was
// looked for alone.
func (p *boardOf) fill(find string) {
	b, v := p.Board, p.visit
	today := b.Today
	tasks := report.BoardTasks(b)
	for k := range tasks {
		t := &tasks[k]
		x := taskCard{
			By: report.TaskBy(b.Programme, t), Nest: t.Nest, What: v.marked(report.Capital(report.TaskWhat(b.Colony, t))), Why: v.marked(report.Capital(report.TaskWhy(b.Programme, t))),
			Records: p.recordsOf(t),
		}
		switch {
		case t.Overdue(today):
			p.Overdue = append(p.Overdue, x)
		case t.ThisWeek(today):
			p.Week = append(p.Week, x)
		case t.Soon(today):
			p.Soon = append(p.Soon, x)
		default:
			p.Later = append(p.Later, x)
		}
	}
	for k := range b.Holds {
		h := &b.Holds[k]
		i, _ := b.Programme.Book.Index(h.ID)
		x := holdLine{Bird: v.named(&b.Programme.Book.Birds[i]), Until: "until further notice", Why: report.Capital(report.HoldText(h)), Release: p.record("End the hold", "release", "bird", h.ID)}
		if h.Until.Known() {
			x.Until = "until " + document.FormatDateInText(h.Until)
		}
		p.Holds = append(p.Holds, x)
	}
	p.Figures = report.Glances(b)
	shown := func(text string) bool {
		return find == "" || strings.Contains(strings.ToLower(text), strings.ToLower(find))
	}
	for k := range b.Nests {
		if x := p.nest(&b.Nests[k]); shown(x.Text) {
			p.Cards = append(p.Cards, x)
		}
	}
	for k := range b.Birds {
		if x := p.bird(&b.Birds[k]); shown(x.Text) {
			p.Loose = append(p.Loose, x)
		}
	}
}

// recordsOf are where a task is written down once it is done, of each bird that it is about by
// itself where there are several.
func (p *boardOf) recordsOf(t *board.Task) []link {
	if len(t.Birds) == 0 {
		return nil
	}
	id := t.Birds[0].ID
	if c := t.Clutch; t.What == board.TellOutcome {
		return []link{
			p.record("Write down a hatch", "hatch", "dam", id, "laid", c.Laid.Text),
			p.record("No chick hatched", "loss", "female", id, "laid", c.Laid.Text),
			p.record("The eggs were replaced", "replacement", "female", id, "laid", c.Laid.Text),
		}
	}
	out := []link{p.recordOf(t, id)}
	if t.What == board.HatchDue {
		out = append(out, p.record("No chick hatched", "loss", "female", id))
	}
	if t.Asked == board.IsAsked && (t.What == review.MoveBird || t.What == review.PlaceYoung) {
		told := []string{"bird", id, "to", t.To, "what", "move"} // which opens what is seldom told, the reason too
		if len(t.Birds) > 1 && t.What == review.MoveBird {
			told = append(told, "partner", t.Birds[1].ID)
		}
		out = []link{p.record("Write down the answer", "decision", told...), out[0]}
	}
	if t.What == board.BandBird || t.What == review.SexBird {
		for _, other := range t.Birds[1:] {
			l := p.recordOf(t, other.ID)
			l.Text = "of " + other.ID
			out = append(out, l)
		}
	}
	return out
}

// recordOf is where a task is written down once it is done with a bird.
func (p *boardOf) recordOf(t *board.Task, id string) link {
	switch t.What {
	case review.CandleEggs:
		return p.record("Write down the candling", "candling", "female", id)
	case review.SettleEggs:
		return p.record("Write down what was settled", "decision", "bird", id, "what", "hatch", "partner", t.Birds[1].ID)
	case review.ReplaceEggs:
		if pairing.MakeWay(t.Why) {
			return p.record("Write down that they were taken", "replacement", "female", id)
		}
		return p.record("Write down that they were replaced", "replacement", "female", id)
	case board.HatchDue:
		return p.record("Write down a hatch", "hatch", "dam", id)
	case board.FledgeDue:
		return p.record("Write down the fledging", "fledging", "female", id)
	case board.BandBird:
		return p.record("Write down the band", "band", "bird", id)
	case review.SexBird:
		return p.record("Write down the sex", "sex", "bird", id)
	case review.RecordParent:
		return link{p.Link("/parents", "bird", id), "See how sure that is"}
	case review.RecordKinship:
		return link{p.Link("/parents", "founder-kin", "true"), "See how sure that is"}
	case board.LookAtHold:
		return p.record("End the hold", "release", "bird", id)
	case review.BondPair:
		return p.record("Write down the pair", "bond", "female", id, "male", t.Birds[1].ID)
	case review.PartPair:
		return p.record("Write down the parting", "parting", "bird", id)
	case review.MoveBird, review.PlaceYoung, board.SendBird:
		if t.Asked == board.NotAsked && t.What != board.SendBird {
			return link{p.Link("/transfer", "bird", id), "Write the request"}
		}
		return p.record("Write down the move", "move", "bird", id, "to", t.To)
	case board.AnswerRequest:
		return link{p.Link("/requests"), "See the requests"}
	}
	return link{}
}

func (p *boardOf) nest(n *board.Nest) nestCard {
	prog, v := p.Board.Programme, p.visit
	female, male := &prog.Book.Birds[n.Female], &prog.Book.Birds[n.Male]
	x := nestCard{
		Nest: cmp.Or(n.Nest, "no nest on record"), Pair: v.named(female) + " and " + v.named(male),
		Asks: report.Capital(report.NestAsks(prog, n)), Role: string(n.Role), Now: v.marked(report.Capital(report.NestNow(prog, n))),
	}
	if n.Since.Known() {
		x.Since = "Together since " + document.FormatDateInText(n.Since)
	}
	for _, why := range report.PairWhy(prog, &n.PairReview) {
		x.Why = append(x.Why, v.marked(report.Capital(why)))
	}
	add := func(l link) {
		if l.Path != "" {
			x.Links = append(x.Links, l)
		}
	}
	if n.Eggs != nil {
		add(p.record("Candling", "candling", "female", female.ID))
		add(p.record("Hatch", "hatch", "dam", female.ID))
		add(p.record("No chick hatched", "loss", "female", female.ID))
		add(p.record("Eggs replaced", "replacement", "female", female.ID))
	} else {
		add(p.record("Clutch", "clutch", "female", female.ID))
	}
	add(p.record("Parting", "parting", "bird", female.ID))
	add(link{v.Link("/kin", "a", female.ID, "b", male.ID), "The two"})
	x.Text = strings.Join([]string{n.Nest, female.ID, female.Name, male.ID, male.Name, x.Asks, x.Role, report.NestNow(prog, n)}, " ")
	return x
}

func (p *boardOf) bird(b *board.Bird) birdCard {
	prog, v := p.Board.Programme, p.visit
	bird := &prog.Book.Birds[b.Bird]
	x := birdCard{
		Bird: v.named(bird), Is: report.Capital(report.BirdIs(b)), Sex: bird.Sex.Word(), Age: document.FormatAge(b.Age, b.AgePlusMinus, b.AgeKnown),
		Next: v.marked(report.Capital(report.BirdNext(prog, b))),
	}
	if b.Standing.State == pairing.StateFree {
		x.Links = append(x.Links, link{v.Link("/mates", "bird", bird.ID), "Mates"})
		if v.HasPlaces() {
			x.Links = append(x.Links, link{v.Link("/transfer", "bird", bird.ID), "Request"})
		}
	}
	if bird.Sex == studbook.Unsexed {
		if l := p.record("Sex", "sex", "bird", bird.ID); l.Path != "" {
			x.Links = append(x.Links, l)
		}
	}
	x.Text = strings.Join([]string{bird.ID, bird.Name, x.Is, x.Sex, report.BirdNext(prog, b)}, " ")
	return x
}
