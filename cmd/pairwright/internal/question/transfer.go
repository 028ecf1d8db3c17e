package question

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	moves "pairwright/pairing/transfer"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

var transferQuestion = &Question{
	Name: "transfer", About: Decide,
	Short: "Write the request to move a bird so that it finds a mate, ready to send",
	Long: `Says whether the season's decision for the programme moves a bird, or its mate
to it, or wants a young bird elsewhere, and writes the request on one page, with
its effects on both colonies and the programme, the alternatives, when the birds
may travel, what is not known, a checklist, and an appendix with the figures and
the ancestry. Where no bird need move it says why. --to, --from and --partner
make part of the choice; the answer says what the decision has instead. --colony
names the one of the two places that asks: without it that is the home or, where
the move is between others, the bird's own place. --list has all moves of the
decision from and to the colony or, with --scope programme, of all, the young
birds to place, and the swaps and rings among the moves. --requests answers all
requests of requests.csv together: agree, agree if, better this instead, no, or
met, with the reason in a line.`,
	Birds: []string{"bird"}, Usage: "ID | --list | --requests",
	Rows: "with --list: a row for each move; with --requests: a row for each request", colony: true, random: true, attach: true,
	uses:   states,
	living: true,
	new:    func() ask { return &transfer{} },
}

type transfer struct {
	to, from, partner string
	list              bool
	requests          bool
	scope             string
	top               int
}

func (q *transfer) settings() []Setting {
	return []Setting{
		{Key: "to", Takes: "CODE", value: text(&q.to), Help: "code of the institution where the bird is to go"},
		{Key: "from", Takes: "CODE", value: text(&q.from), Help: "code of the institution that a bird is to come from"},
		{Key: "partner", Takes: "ID", value: text(&q.partner), Help: "the intended mate"},
		{Key: "list", value: yes(&q.list), Help: "list all moves of the season's decision instead"},
		{Key: "requests", value: yes(&q.requests), Help: "answer all requests of requests.csv instead"},
		{Key: "scope", Takes: "WHOSE", Default: "home", Words: whose, value: text(&q.scope),
			Help: "with --list: whose moves: home, the colony's birds, or programme, all birds"},
		{Key: "top", Takes: "N", Default: "10", value: whole(&q.top, 1), Help: "with --list: list the first N moves"},
	}
}

func (q *transfer) check(a *Asked) error {
	switch ending := strings.ToLower(filepath.Ext(a.Attach)); {
	case slices.Contains([]string{".xls", ".xlsm", ".xlsb", ".ods", ".numbers", ".pdf", ".doc", ".docx", ".odt", ".html", ".md", ".json"}, ending):
		return Usagef("rows cannot be attached as %s: name a file .xlsx for a workbook, or .csv for a table", ending)
	case q.requests && q.beside(a, "list", "scope", "top", "colony") != "":
		return Usagef("--requests answers all requests that are on file: leave out %s", q.beside(a, "list", "scope", "top", "colony"))
	case (q.requests || q.list) && a.given("seed"):
		return Usagef("seed is for the draws of possible pedigrees in a request for one bird: leave it out")
	case q.requests:
		return nil
	case q.list && q.beside(a) != "":
		return Usagef("--list has all moves of the season's decision: leave out %s", q.beside(a))
	case !q.list && len(a.Birds) == 0:
		return Usagef("name one bird, ask for the list of all moves with --list, or for the answers to all requests with --requests")
	case !q.list && (a.given("scope") || a.given("top")):
		return Usagef("scope and top are for --list; a request is for one bird")
	case !q.list && a.Format == "csv":
		return Usagef("a request has no rows for csv; ask for --list, or use text, json, md or html")
	case q.scope == "programme" && a.Colony != "":
		return Usagef("the moves of the whole programme are of every colony: leave out the colony, or the scope")
	}
	return nil
}

// beside names what is given that goes with a request for one bird alone, and of some
// other flags; "" where nothing is.
func (q *transfer) beside(a *Asked, others ...string) string {
	var given []string
	for _, b := range a.Birds {
		given = append(given, studbook.Shorten(b))
	}
	for _, key := range append([]string{"to", "from", "partner", "attach"}, others...) {
		if a.given(key) {
			given = append(given, "--"+key)
		}
	}
	return document.FormatList(given, 0)
}

func (q *transfer) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	if q.list {
		return q.all(ctx, a, f, p)
	}
	if q.requests {
		return q.desk(ctx, a, f, p)
	}
	asker := p.Settings().Home
	if a.Colony != "" {
		if asker, err = p.Colony(a.Colony); err != nil {
			return nil, err
		}
	}
	d, err := f.decision(ctx, a)
	if err != nil {
		return nil, err
	}
	c, err := moves.Find(ctx, p, d, moves.Question{Bird: a.Birds[0], To: q.to, From: q.from, Partner: q.partner, Seed: a.Seed})
	if err != nil {
		return nil, noCase(p, err)
	}
	if a.Colony != "" && c.Best != nil && asker != c.Best.Moves[0].From && asker != c.Best.Moves[0].To {
		return nil, Usagef("the request is from %s or %s, not from %s: name one of the two, or leave out the colony", c.Best.Moves[0].From, c.Best.Moves[0].To, asker)
	}
	x := &Answer{
		schema: "pairwright/transfer 2", value: func() any { return contract.TransferJSON(p, c) },
		build: func() *document.Document { return report.TransferDocument(p, c, asker) },
	}
	return x, q.attachTo(ctx, x, a, p, c)
}

// attachTo gives the answer the rows to send along: a studbook as CSV, or a
// workbook, which has room for what is known of kinship among founders too.
func (q *transfer) attachTo(ctx context.Context, x *Answer, a *Asked, p *pairing.Programme, c *moves.Case) error {
	switch {
	case a.Attach == "":
		return nil
	case c.Best == nil:
		return Usagef("no move is needed, so there are no studbook rows to attach")
	}
	sent := c.Extract(p)
	if strings.EqualFold(filepath.Ext(a.Attach), ".xlsx") {
		out, err := exchange.Export(ctx, sent, "xlsx", nil, p.Book.AsOf)
		if err != nil {
			return err
		}
		x.Attachment = func(w io.Writer) error {
			_, err := w.Write(out.Files[0].Content)
			return err
		}
		return nil
	}
	if len(sent.FounderKinship) > 0 {
		x.note("the kinship known among founders of these birds does not go into a CSV, so their F comes out lower there; to send it too, attach a workbook: --attach FILE.xlsx")
	}
	x.Attachment = func(w io.Writer) error { return contract.WriteStudbook(w, sent) }
	return nil
}

// all answers with the list of moves.
func (q *transfer) all(ctx context.Context, a *Asked, f *Folder, p *pairing.Programme) (*Answer, error) {
	place := ""
	if q.scope == "home" {
		var err error
		if place, err = p.Colony(a.Colony); err != nil {
			return nil, err
		}
	}
	d, err := f.decision(ctx, a)
	if err != nil {
		return nil, err
	}
	l, err := moves.Moves(ctx, p, d, place)
	if err != nil {
		return nil, noCase(p, err)
	}
	return &Answer{
		schema: "pairwright/transfers 2", value: func() any { return contract.TransfersJSON(p, l, q.top) },
		rows:  records(func() []contract.TransferListed { return contract.TransferRows(p, l, q.top) }),
		build: func() *document.Document { return report.TransfersDocument(p, l, q.top) },
	}, nil
}

// desk answers all requests.
func (q *transfer) desk(ctx context.Context, a *Asked, f *Folder, p *pairing.Programme) (*Answer, error) {
	d, err := f.decision(ctx, a)
	if err != nil {
		return nil, err
	}
	desk, err := moves.Judge(ctx, p, d)
	if err != nil {
		return nil, noCase(p, err)
	}
	value := func() contract.RequestsAnswer { return contract.RequestsJSON(p, desk) }
	return &Answer{
		schema: "pairwright/requests 1", value: func() any { return value() },
		rows:  records(func() []contract.RequestAnswer { return value().Requests }),
		build: func() *document.Document { return report.RequestsDocument(p, desk) },
	}, nil
}

// noCase says in words why there is no case for a transfer.
func noCase(p *pairing.Programme, err error) error {
	if no := new(moves.NoCaseError); errors.As(err, &no) {
		return errors.New(report.NoCaseText(p, no))
	}
	return err
}
