package web

import (
	"html/template"
	"net/url"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
)

// transfersPage shows one of the three things that there are to say of moves:
// those that are useful, the answers to requests, one request to send. fixed are
// the keys and values that it asks with.
func transfersPage(fixed string) func(*visit) (*view, error) {
	with, err := url.ParseQuery(fixed)
	if err != nil {
		panic("web: " + err.Error())
	}
	return func(v *visit) (*view, error) {
		q := question.Named("transfer")
		if settings := v.Query(); len(with) == 0 && settings.Get("bird") == "" {
			lead, err := v.tabs(nil)
			if err != nil {
				return nil, err
			}
			return v.askFirst(q, lead)
		}
		asked, x, err := v.answer(q, with)
		if err != nil {
			return nil, err
		}
		var requests []link
		if with.Get("list") != "" {
			requests = v.requestable(x.Document())
		}
		var received template.HTML
		if with.Get("requests") != "" {
			if received, err = v.received(); err != nil {
				return nil, err
			}
		}
		lead, err := v.tabs(requests)
		if err != nil {
			return nil, err
		}
		return v.show(asked, with, x, lead+received, otherwise(with)...)
	}
}

// otherwise are the settings of the question that have no meaning with those that a
// page asks with, or none once another bird is asked about: who asks for a move is one
// of its two ends.
func otherwise(fixed url.Values) []string {
	switch {
	case fixed.Get("list") != "":
		return []string{"requests", "to", "from", "partner"}
	case fixed.Get("requests") != "":
		return []string{"list", "to", "from", "partner", "scope", "top", "colony"}
	}
	return []string{"list", "requests", "scope", "top", "colony"}
}

// received leads from each request on file to its case and to where the answer is
// written down.
func (v *visit) received() (template.HTML, error) {
	type row struct {
		What         template.HTML
		Case, Answer string
	}
	var rows []row
	for _, q := range v.colony.Colony.Requests {
		what := q.Bird + " to " + q.To
		move := []string{"bird", q.Bird, "to", q.To}
		if q.Partner != "" {
			what += ", to " + q.Partner
			move = append(move, "partner", q.Partner)
		}
		rows = append(rows, row{v.marked(what), v.Link("/transfer", move...), v.record("", "decision", move...).Path})
	}
	return body("requests", map[string]any{"Rows": rows, "New": v.record("", "request").Path})
}

// tabs lead from one of the pages of moves to the others, and to the requests
// for the birds that should move.
func (v *visit) tabs(requests []link) (template.HTML, error) {
	var tabs []entry
	for _, t := range []link{{"/transfers", "Useful moves"}, {"/requests", "Requests received"}, {"/transfer", "A request to send"}} {
		tabs = append(tabs, entry{To: v.Link(t.Path), Text: t.Text, Here: t.Path == v.Path()})
	}
	return body("transfers", struct {
		Tabs     []entry
		Requests []link
	}{tabs, requests})
}

// requestable are the addresses of requests for the birds that name the rows of
// a document.
func (v *visit) requestable(d *document.Document) []link {
	var out []link
	seen := map[string]bool{}
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			t, ok := block.(*document.Table)
			if !ok {
				continue
			}
			for _, r := range t.Rows {
				id := r.Cells[0].Text
				if !v.colony.Has(id) { // its name stands behind it
					id, _, _ = strings.Cut(id, " (")
				}
				if v.colony.Has(id) && !seen[id] {
					seen[id] = true
					out = append(out, link{v.Link("/transfer", "bird", id), r.Cells[0].Text})
				}
			}
		}
	}
	return out
}
