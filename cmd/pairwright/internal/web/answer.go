package web

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// answer answers a question when it is its turn.
func (s *Server) answer(ctx context.Context, asked *question.Asked, f *question.Folder) (x *question.Answer, err error) {
	defer rescue(&err)
	done, err := s.work.take(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	return asked.Answer(ctx, f)
}

// ask reads a question from the address, with what the page itself asks.
func (v *visit) ask(q *question.Question, fixed url.Values) (*question.Asked, error) {
	return q.Parse(v.queryWith(fixed))
}

// queryWith returns what the address asks, with what the page itself asks.
func (v *visit) queryWith(fixed url.Values) url.Values {
	values := v.Query()
	maps.Copy(values, fixed)
	return values
}

// answered is an answer as a page shows it.
type answered struct {
	*visit
	Question *question.Question
	Asked    *question.Asked
	Lead     template.HTML // what the page has before the answer
	Document template.HTML
	Warnings []string
	Fields   []field
	Files    []link // the answer as files
	Blanks   int    // fields that the reader can fill in
	Along    string // address of the rows to send along; "" where there are none
}

// field is a setting of the question in the form of its page.
type field struct {
	*question.Setting
	Value  string
	Chosen []string
	Folds  bool // it is the first of those that are seldom asked for
	Unfold bool // one of these is set
}

// Kind says what the field is, for the template.
func (f field) Kind() string {
	switch {
	case f.Key == question.ChangeSetting:
		return "changes"
	case f.Words != nil && f.Again:
		return "choices"
	case f.Words != nil:
		return "choice"
	case f.Setting.Kind() == question.YesNo:
		return "check"
	case f.Setting.Kind() == question.Whole:
		return "number"
	case f.Setting.Kind() == question.Date:
		return "date"
	}
	return "text"
}

// Blank is what a choice is called that was not made.
func (f field) Blank() string {
	if f.Key == keptSetting {
		return "none"
	}
	return "as usual"
}

// Label is what the field is called.
func (f field) Label() string { return label(f.Key) }

// label is what a field of a form is called, from its key.
func label(key string) string {
	s := strings.NewReplacer("-", " ", "_", " ").Replace(key)
	return report.Capital(s)
}

// Said is the help in the words of a page.
func (f field) Said() string {
	if f.Kind() == "changes" {
		return changesHelp
	}
	return report.Sentence(withoutFlags(f.Help))
}

// Says is a word as a person says it.
func (f field) Says(word string) string {
	if name, policy := report.PolicyWords(word); policy && f.Key == "policy" {
		return name
	}
	return strings.ReplaceAll(word, "-", " ")
}

// Is reports whether a word is chosen.
func (f field) Is(word string) bool { return f.Value == word || slices.Contains(f.Chosen, word) }

// fields are the settings of a question that its page can be asked with.
func (v *visit) fields(asked *question.Asked, values url.Values, but ...string) []field {
	var out []field
	for _, s := range asked.Settings() {
		if s.Local || slices.Contains(but, s.Key) || slices.Contains([]string{"as-of", "format", "seed"}, s.Key) {
			continue
		}
		if s.Key == keptSetting {
			kept := *s
			if kept.Words = v.keptNames(); kept.Words == nil {
				continue
			}
			s = &kept
		}
		f := field{Setting: s, Value: values.Get(s.Key), Chosen: values[s.Key]}
		if f.Value == "" {
			f.Value = s.Default
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b field) int {
		return cmp.Compare(map[bool]int{true: 1}[a.Rare], map[bool]int{true: 1}[b.Rare])
	})
	if k := slices.IndexFunc(out, func(f field) bool { return f.Rare }); k >= 0 {
		out[k].Folds = true
		out[k].Unfold = slices.ContainsFunc(out[k:], func(f field) bool { return values.Get(f.Key) != "" })
	}
	return out
}

// answerPage shows the answer to a question.
func answerPage(name string) func(*visit) (*view, error) {
	q := question.Named(name)
	return func(v *visit) (*view, error) {
		if len(v.Query()) == 0 && q.Needed > 0 {
			return v.askFirst(q, "")
		}
		asked, x, err := v.answer(q, nil)
		if err != nil {
			return nil, err
		}
		lead, err := v.onward(asked, x)
		if err != nil {
			return nil, err
		}
		return v.show(asked, nil, x, lead)
	}
}

// onward leads from the mates of one bird to the request that brings the two
// together, from parents that were found to writing them down, and from the plan of the
// whole programme to the letters that go with it; nothing for other answers.
func (v *visit) onward(asked *question.Asked, x *question.Answer) (template.HTML, error) {
	var ways []link
	switch values := v.Query(); {
	case asked.Question.Name == "mates" && len(asked.Birds) > 0:
		id := asked.Birds[0]
		ways = []link{{v.Bird(id), "All of " + id}}
		if v.HasPlaces() {
			ways = append(ways, link{v.Link("/transfer", "bird", id), "Request to move it or a mate"})
		}
	case asked.Question.Name == "parents" && len(asked.Birds) > 0:
		id := asked.Birds[0]
		ways = []link{{v.Bird(id), "All of " + id}, {v.Link("/parents"), "All birds that were typed"}}
	case asked.Question.Name == "parents" && values.Get("founder-kin") == "":
		ways = []link{{v.Link("/parents", "founder-kin", "true"), "Which founders are kin"}}
	case asked.Question.Name == "parents":
		ways = []link{{v.Link("/parents"), "All birds that were typed"}}
	case asked.Question.Name == "plan" && values.Get("scope") == "programme":
		ways = []link{{"/letters?" + values.Encode(), "Letters: what is asked of each institution"}}
	case asked.Question.Name == "plan" && v.HasPlaces():
		ways = []link{{v.Link("/plan", "scope", "programme"), "The whole programme, with letters"}}
	default:
		return "", nil
	}
	if !v.ReadOnly() && !v.Past() {
		for _, f := range x.Found {
			ways = append(ways, link{"/record/" + f.Event + "?" + f.Values.Encode(), "Write down " + f.What})
		}
	}
	return body("ways", ways)
}

// answer answers a question, asked with what the address says and what is fixed
// besides, from the colony that was read.
func (v *visit) answer(q *question.Question, fixed url.Values) (*question.Asked, *question.Answer, error) {
	asked, err := v.ask(q, fixed)
	if err != nil {
		return nil, nil, err
	}
	c, err := v.read()
	if err != nil {
		return nil, nil, err
	}
	x, err := v.server.answer(v.Context(), asked, c.Folder)
	return asked, x, err
}

// askFirst is the page of a question about birds that are still to be named.
func (v *visit) askFirst(q *question.Question, lead template.HTML) (*view, error) {
	b, err := body("ask", answered{visit: v, Question: q, Lead: lead})
	return &view{Title: title(q), Body: b}, err
}

// show is the page of an answer; but are settings that it is not to offer.
func (v *visit) show(asked *question.Asked, fixed url.Values, x *question.Answer, lead template.HTML, but ...string) (*view, error) {
	d := x.Document()
	fragment, err := v.fillable(d)
	if err != nil {
		return nil, err
	}
	page := answered{visit: v, Question: asked.Question, Asked: asked, Lead: lead, Document: fragment, Warnings: x.Own, Blanks: len(d.Blanks())}
	page.Fields = v.fields(asked, v.Query(), slices.AppendSeq(but, maps.Keys(fixed))...)
	values := v.queryWith(fixed)
	page.Files = downloads(asked.Question, values)
	if asked.Question.Name == "transfer" && d.Portable { // it is a request
		page.Along = "/send-along?" + values.Encode()
	}
	b, err := body("answer", page)
	return &view{Title: d.Title, Body: b, Class: d.Class()}, err
}

// formats are what answers can be saved as, with how a person calls them.
var formats = map[string]struct{ text, ending, mime string }{
	"html": {"Page to print or send", "html", "text/html; charset=utf-8"},
	"text": {"Text", "txt", "text/plain; charset=utf-8"},
	"md":   {"Markdown", "md", "text/markdown; charset=utf-8"},
	"csv":  {"Table (CSV)", "csv", "text/csv; charset=utf-8"},
	"json": {"For programs (JSON)", "json", "application/json"},
	"xlsx": {"Workbook", "xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"},
}

// downloads are the addresses of an answer as files, in the formats that there are
// for what is asked.
func downloads(q *question.Question, values url.Values) []link {
	var out []link
	for _, name := range []string{"html", "xlsx", "csv", "text", "md", "json"} {
		if slices.Contains(q.Formats(), name) {
			with := url.Values{"format": {name}}
			maps.Copy(with, values)
			if _, err := q.Parse(with); err != nil {
				continue
			}
			out = append(out, link{"/download/" + q.Name + "?" + with.Encode(), formats[name].text})
		}
	}
	return out
}

// FillForm is the id of the form that the fields of the document belong to.
func (a answered) FillForm() string { return document.FillForm }

// download sends an answer as a file, with its blanks filled in as a form has them.
func download(v *visit) (*view, error) {
	q := question.Named(v.request.PathValue("question"))
	if q == nil {
		return nowhere(v)
	}
	asked, err := q.Parse(v.Query())
	if err != nil {
		return nil, err
	}
	c, err := v.read()
	if err != nil {
		return nil, err
	}
	x, err := v.finished(asked, c)
	if err != nil {
		return nil, err
	}
	if v.request.Method == http.MethodPost {
		form := v.request.PostForm
		x = x.Filled(func(b document.Blank) string {
			return document.Clean(form.Get(document.FillName + strconv.Itoa(b.Number)))
		})
	}
	var b bytes.Buffer
	if err := x.Write(&b, asked.Format); err != nil {
		return nil, err
	}
	f := formats[asked.Format]
	name := fmt.Sprintf("%s.%s", strings.Join(append([]string{q.Name}, asked.Birds...), "-"), f.ending)
	return &view{File: &file{Name: document.AnchorID(name), Type: f.mime, Content: b.Bytes()}}, nil
}

// attachSetting is the key of the setting for rows to send along.
const attachSetting = "attach"

// withFile answers a question with a setting that names a file of the command's, which
// is sent and not written here.
func (v *visit) withFile(asked *question.Asked, setting, name string) (*question.Answer, error) {
	if err := setLocal(asked, setting, name); err != nil {
		return nil, err
	}
	c, err := v.read()
	if err != nil {
		return nil, err
	}
	return v.server.answer(v.Context(), asked, c.Folder)
}

// sendAlong sends the studbook rows that go with a request, as a workbook.
func sendAlong(v *visit) (*view, error) {
	asked, err := v.ask(question.Named("transfer"), nil)
	if err != nil {
		return nil, err
	}
	name := strings.Join(append([]string{"rows"}, asked.Birds...), "-") + ".xlsx"
	x, err := v.withFile(asked, attachSetting, name)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := x.Attachment(&b); err != nil {
		return nil, err
	}
	return &view{File: &file{Name: document.AnchorID(name), Type: formats["xlsx"].mime, Content: b.Bytes()}}, nil
}

// setLocal sets what an address cannot: a setting that names a file of this machine,
// which is never written to.
func setLocal(asked *question.Asked, key, name string) error {
	if err := set(asked, key, name); err != nil {
		return err
	}
	return asked.Check()
}

// set sets the setting of a key, if the question has it.
func set(asked *question.Asked, key, value string) error {
	for _, s := range asked.Settings() {
		if s.Key == key {
			return s.Set(value)
		}
	}
	return nil
}

// finished returns the answer, from what is being computed where it is a long
// job.
func (v *visit) finished(asked *question.Asked, c *colony) (*question.Answer, error) {
	if _, is := long[asked.Question.Name]; !is {
		return v.server.answer(v.Context(), asked, c.Folder)
	}
	values := v.Query()
	values.Del("format")
	j, err := v.server.jobs.job(c, asked, values)
	if err != nil {
		return nil, err
	}
	select {
	case <-j.done:
		return j.answer, j.err
	case <-v.Context().Done():
		return nil, v.Context().Err()
	}
}

// birdPage shows one bird.
func birdPage(v *visit) (*view, error) {
	id := v.request.PathValue("bird")
	if id == "" {
		id = v.Query().Get("bird")
	}
	if id == "" {
		return v.askFirst(question.Named("bird"), "")
	}
	fixed := url.Values{"bird": {id}}
	asked, x, err := v.answer(question.Named("bird"), fixed)
	if err != nil {
		return nil, err
	}
	lead, err := body("bird", map[string]any{"V": v, "ID": id, "Kinds": eventsOf(v.colony.Colony, id), "Typed": typed(v.colony.Colony, id)})
	if err != nil {
		return nil, err
	}
	return v.show(asked, fixed, x, lead)
}

// typed reports whether a bird has a genotype.
func typed(c *studbook.Colony, id string) bool {
	return slices.ContainsFunc(c.Genotypes, func(g studbook.Genotype) bool { return g.ID == id })
}

// birdsPage lists the birds, those that match what was typed alone. What fits one
// bird leads to its page, and what fits no living bird is looked for among the
// dead.
func birdsPage(v *visit) (*view, error) {
	values := v.Query()
	find := strings.TrimSpace(values.Get("find"))
	values.Del("find")
	c, err := v.read()
	if err != nil {
		return nil, err
	}
	if find != "" && c.Has(find) {
		return &view{To: v.Bird(find)}, nil
	}
	asked, d, err := v.birds(c, values)
	if err != nil {
		return nil, err
	}
	if find != "" {
		ids := only(d, find)
		if len(ids) == 0 && values.Get("all") == "" {
			values.Set("all", "true")
			if asked, d, err = v.birds(c, values); err != nil {
				return nil, err
			}
			ids = only(d, find)
		}
		if len(ids) == 1 {
			return &view{To: v.Bird(ids[0])}, nil
		}
		d.Lead = report.Capital(fmt.Sprintf("%s %q.", document.FormatThings(len(ids), "bird with", "birds with"), find))
	}
	if c.Colony != nil {
		homeFirst(d, c.Colony.Settings.Home)
	}
	bound(d)
	fragment, err := v.fragment(d)
	if err != nil {
		return nil, err
	}
	page := answered{visit: v, Question: asked.Question, Asked: asked, Document: fragment, Fields: v.fields(asked, values), Files: downloads(asked.Question, values)}
	b, err := body("birds", struct {
		answered
		Find string
	}{page, find})
	return &view{Title: d.Title, Body: b}, err
}

// mostBirds is how many rows a list of birds has: with more a browser takes long to show it.
const mostBirds = 5_000

// homeFirst puts the birds at home in front of a list of birds.
func homeFirst(d *document.Document, home string) {
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			t, ok := block.(*document.Table)
			if !ok || home == "" {
				continue
			}
			at := slices.IndexFunc(t.Columns, func(c document.Column) bool { return c.Name == "At" })
			if at < 0 {
				continue
			}
			away := func(r document.Row) int {
				if r.Cells[at].Text == home {
					return 0
				}
				return 1
			}
			slices.SortStableFunc(t.Rows, func(x, y document.Row) int { return away(x) - away(y) })
		}
	}
}

// bound leaves the first rows of a list of birds.
func bound(d *document.Document) {
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			if t, ok := block.(*document.Table); ok && len(t.Rows) > mostBirds {
				t.More = fmt.Sprintf("The first %s of %s are shown. Filter finds the others; saved as a table it has all.", document.FormatCount(mostBirds), document.FormatCount(len(t.Rows)))
				t.Rows = t.Rows[:mostBirds]
			}
		}
	}
}

// birds asks for the list of birds.
func (v *visit) birds(c *colony, values url.Values) (*question.Asked, *document.Document, error) {
	asked, err := question.Named("birds").Parse(values)
	if err != nil {
		return nil, nil, err
	}
	x, err := v.server.answer(v.Context(), asked, c.Folder)
	if err != nil {
		return nil, nil, err
	}
	return asked, x.Document(), nil
}

// only leaves the rows of a document that have a text, and returns what names
// them.
func only(d *document.Document, text string) (names []string) {
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			if t, ok := block.(*document.Table); ok {
				t.Rows = slices.DeleteFunc(t.Rows, func(r document.Row) bool { return !holds(r, text) })
				for _, r := range t.Rows {
					names = append(names, r.Cells[0].Text)
				}
			}
		}
	}
	return names
}

// holds reports whether a row has a text in one of its cells, in any case.
func holds(r document.Row, text string) bool {
	return slices.ContainsFunc(r.Cells, func(c document.Cell) bool {
		return strings.Contains(strings.ToLower(c.Text), strings.ToLower(text))
	})
}
