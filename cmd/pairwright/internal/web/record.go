package web

import (
	"cmp"
	"crypto/rand"
	"errors"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// errReadOnly is that the pages write nothing.
var errReadOnly = errors.New("these pages write nothing")

// journal returns the folder to write to.
func (v *visit) journal() (*journal.Folder, error) {
	if v.ReadOnly() {
		if v.fault != nil {
			return nil, v.fault
		}
		return nil, errReadOnly
	}
	return journal.Open(filepath.Join(v.colony.folder, v.colony.name), journal.Options{Columns: v.server.config.Columns, Wait: writeWait, Check: question.CheckPedigree}), nil
}

// writeWait is how long a page waits for another program that writes.
const writeWait = 5 * time.Second

// recordHome lists what can be written down, and the last changes.
func recordHome(v *visit) (*view, error) {
	if v.fault != nil {
		return nil, v.fault
	}
	data := struct {
		*visit
		Kinds   []*journal.Kind
		Done    string // what was just written
		Changes template.HTML
		Undo    bool // something can be taken back
		Last    bool // what was just written is what would be
	}{visit: v, Kinds: journal.Kinds}
	if !v.Example() {
		all, err := journal.Open(filepath.Join(v.colony.folder, v.colony.name), journal.Options{}).Changes()
		if err != nil {
			return nil, err
		}
		if data.Changes, err = v.fragment(report.ChangesDocument(all)); err != nil {
			return nil, err
		}
		done, _ := strconv.Atoi(v.Query().Get("done"))
		for _, e := range all { // the newest first
			stands := e.Undoes == 0 && !e.Undone
			if e.Number == done {
				data.Done, data.Last = report.DoneWords(e), stands && !data.Undo
			}
			data.Undo = data.Undo || stands
		}
	}
	b, err := body("record", data)
	return &view{Title: "Write down", Body: b}, err
}

// eventsOf are the kinds of events that can be about a bird, by its sex where
// that is known.
func eventsOf(c *studbook.Colony, id string) []*journal.Kind {
	sex := studbook.Unsexed
	for i := range c.Birds {
		if c.Birds[i].ID == id {
			sex = c.Birds[i].Sex
		}
	}
	var kinds []*journal.Kind
	for _, k := range journal.Kinds {
		first := k.Field(k.Args[0])
		if first.List == journal.Birds && first.Needed && (first.Name != "dam" || sex != studbook.Male) {
			kinds = append(kinds, k)
		}
	}
	return kinds
}

// recordPage is the form for an event of a kind, filled in with the keys of the
// address.
func recordPage(v *visit) (*view, error) {
	k := journal.KindOf(v.request.PathValue("kind"))
	if k == nil {
		return nowhere(v)
	}
	if v.fault != nil {
		return nil, v.fault
	}
	return v.recordForm(k, v.Query(), nil)
}

// recordForm shows the form of a kind with what was told and what is wrong with
// it.
func (v *visit) recordForm(k *journal.Kind, told url.Values, findings []studbook.Finding) (*view, error) {
	data := struct {
		*visit
		Kind          *journal.Kind
		Usual, Rare   []recordField
		Open          bool // what is seldom told was told
		Wrong         []recordWrong
		Birds, Places []link
		ByHand        string // address of the form with dates to be typed; "" if it is that
	}{visit: v, Kind: k, Birds: v.birdsToName(), Places: v.placesToName()}
	typed := told.Get("typed") != ""
	stands := v.onRecord(k, told)
	for _, f := range k.Fields {
		field := recordField{Field: f, Value: told.Get(f.Name), typed: typed}
		if f.Corrects {
			if field.Was, field.Stood = stands[f.Name]; field.Stood && !told.Has(f.Name) {
				field.Value = field.Was
			}
		}
		if f.Form == studbook.FormDate && field.Value == "" && f.Else == "today" && findings == nil {
			field.Value = time.Now().Format(time.DateOnly)
		}
		for _, x := range findings {
			if x.Column == f.Name && x.File == "" {
				field.Wrong = append(field.Wrong, report.Sentence(x.Message)+" "+report.Sentence(x.Help))
			}
		}
		if f.Rare {
			data.Rare = append(data.Rare, field)
			data.Open = data.Open || told.Get(f.Name) != "" || field.Wrong != nil
		} else {
			data.Usual = append(data.Usual, field)
		}
	}
	for _, x := range findings {
		data.Wrong = append(data.Wrong, recordWrong{Finding: x, field: k.Field(x.Column) != nil && x.File == ""})
	}
	if dated := func(f journal.Field) bool { return f.Form == studbook.FormDate }; !typed && slices.ContainsFunc(k.Fields, dated) {
		again := url.Values{"typed": {"yes"}}
		for _, f := range k.Fields {
			if value := told.Get(f.Name); value != "" {
				again.Set(f.Name, value)
			}
		}
		data.ByHand = v.Path() + "?" + again.Encode()
	}
	b, err := body("record-form", data)
	out := &view{Title: report.KindWord(k), Body: b}
	if findings != nil {
		out.Status = http.StatusUnprocessableEntity
	}
	return out, err
}

// recordField is a field of an event in its form.
type recordField struct {
	journal.Field
	Value string
	Wrong []string
	Was   string // what the field corrects, where Stood is set
	Stood bool
	typed bool
}

// wasField begins the name of a field that says what stood in another when the
// form was made.
const wasField = "was-"

// WasName is the name of the field that says what stood in this one.
func (f recordField) WasName() string { return wasField + f.Name }

// ID is that of the field in the page.
func (f recordField) ID() string { return "tell-" + f.Name }

// Label is what the field is called.
func (f recordField) Label() string {
	if f.Name == "id" {
		return "ID"
	}
	return label(f.Name)
}

// Help says what is to be told.
func (f recordField) Help() string { return report.Sentence(report.FieldWord(&f.Field)) }

// Kind is the type of the input. A date that the calendar of a browser cannot
// show is typed.
func (f recordField) Kind() string {
	day, err := time.Parse(time.DateOnly, f.Value)
	switch {
	case f.Form == studbook.FormCount:
		return "number"
	case f.Form == studbook.FormDate && !f.typed && (f.Value == "" || err == nil && !day.IsZero()):
		return "date"
	}
	return "text"
}

// Is reports whether a word is the one told.
func (f recordField) Is(word string) bool { return strings.EqualFold(f.Value, word) }

// Names is the list that the field takes its names from, "" for none.
func (f recordField) Names() string {
	return map[journal.List]string{journal.Birds: "birds", journal.Places: "places"}[f.List]
}

// Described are the texts of the page about the field.
func (f recordField) Described() string {
	if f.Wrong != nil {
		return f.ID() + "-wrong " + f.ID() + "-help"
	}
	return f.ID() + "-help"
}

// recordWrong is something wrong with an event.
type recordWrong struct {
	studbook.Finding
	field bool // it is about a field of the form
}

// Target is the id of the field that it is about, "" for none.
func (w recordWrong) Target() string {
	if !w.field {
		return ""
	}
	return "tell-" + w.Column
}

// Text says what is wrong, and what to do.
func (w recordWrong) Text() string {
	at := ""
	switch {
	case w.field:
		at = label(w.Column) + ": "
	case w.File != "":
		at = w.File + ": "
	}
	if w.Column != "" && !w.field {
		at += w.Column + " " + strconv.Quote(w.Value) + ": "
	}
	return strings.TrimSpace(report.Sentence(at+w.Message) + " " + report.Sentence(w.Help))
}

// mostNamed bounds the list of names that a form offers.
const mostNamed = 600

// birdsToName are the living birds that a form offers, those at home first.
func (v *visit) birdsToName() []link {
	c := v.records()
	if c == nil {
		return nil
	}
	home := c.Settings.Home
	now := c.At(v.filesDay())
	var here, elsewhere []link
	for _, i := range now.Living {
		b := &now.Birds[i]
		text := strings.TrimSpace(strings.Join([]string{b.Name, b.Sex.Word(), b.Location}, " "))
		if b.Location == home {
			here = append(here, link{b.ID, text})
		} else {
			elsewhere = append(elsewhere, link{b.ID, text})
		}
	}
	all := append(here, elsewhere...)
	return all[:min(len(all), mostNamed)]
}

// placesToName are the institutions that a form offers.
func (v *visit) placesToName() []link {
	c := v.records()
	if c == nil {
		return nil
	}
	var out []link
	for _, in := range c.Institutions {
		out = append(out, link{in.Code, in.Name})
	}
	return out
}

// onRecord returns the cells that an event would correct, as the files have them;
// none where its bird is not told.
func (v *visit) onRecord(k *journal.Kind, told url.Values) map[string]string {
	c := v.records()
	if c == nil || !slices.ContainsFunc(k.Fields, func(f journal.Field) bool { return f.Corrects }) {
		return nil
	}
	for i := range c.Birds {
		b := &c.Birds[i]
		if b.ID != told.Get(k.Args[0]) {
			continue
		}
		out, cells := map[string]string{}, studbook.Cells(*b)
		for j, column := range studbook.Header[studbook.Bird]() {
			out[column] = cells[j]
		}
		return out
	}
	return nil
}

// record takes what was told: first it is shown as it would be written, then,
// with the seal of what was shown, written.
func record(v *visit) (*view, error) {
	k := journal.KindOf(v.request.PathValue("kind"))
	if k == nil {
		return nowhere(v)
	}
	e, err := toldOf(k, v.request.PostForm)
	if err != nil {
		return nil, err
	}
	return v.propose(e, func(p *journal.Proposal) (*view, error) { return v.recordForm(k, v.request.PostForm, p.Findings) })
}

// toldOf returns the event that a form tells of.
func toldOf(k *journal.Kind, form url.Values) (journal.Event, error) {
	e := journal.Event{Kind: k.Name, Values: make(map[string]string)}
	for _, f := range k.Fields {
		if len(form[f.Name]) > 1 {
			return e, question.Usagef("%s is told twice; open the page again, and tell it once", f.Name)
		}
		value := strings.TrimSpace(form.Get(f.Name))
		if form.Has(wasField + f.Name) {
			switch {
			case value == form.Get(wasField+f.Name):
				continue // it was not touched
			case value == "":
				value = journal.Emptied
			}
		}
		if value != "" {
			e.Values[f.Name] = value
		}
	}
	return e, nil
}

// formAgain is the address of the form that a page came from, with what was typed in it.
func (v *visit) formAgain() string {
	k := journal.KindOf(v.request.PathValue("kind"))
	if k == nil {
		return ""
	}
	e, err := toldOf(k, v.request.PostForm)
	if err != nil {
		return ""
	}
	return formOf(e)
}

// formOf is the address of the form that tells of an event.
func formOf(e journal.Event) string {
	told := url.Values{}
	for name, value := range e.Values {
		told.Set(name, value)
	}
	return "/record/" + e.Kind + "?" + told.Encode()
}

// undo shows what would be taken back.
func undo(v *visit) (*view, error) {
	return v.propose(journal.Event{Kind: journal.Undo}, func(p *journal.Proposal) (*view, error) {
		shown, err := v.fragment(report.RecordDocument(p))
		return &view{Title: report.RecordTitle(p), Body: shown, Status: http.StatusUnprocessableEntity}, err
	})
}

// propose shows an event as it would be written or, with the seal of what was
// shown, writes it. A page that is sent twice, by a double click or after going back,
// writes once. refused answers where it cannot be written.
func (v *visit) propose(e journal.Event, refused func(*journal.Proposal) (*view, error)) (*view, error) {
	folder, err := v.journal()
	if err != nil {
		return nil, err
	}
	seal, page := v.request.PostFormValue("seal"), v.request.PostFormValue("page")
	changed := false
	var p *journal.Proposal
	if seal == "" {
		p, err = folder.Draft(v.Context(), e)
	} else {
		v.server.sent.Lock()
		defer v.server.sent.Unlock()
		if n := v.server.sent.as[page]; n > 0 {
			return &view{To: doneAt(n)}, nil
		}
		if p, err = folder.Commit(v.Context(), e, seal); errors.Is(err, journal.ErrChanged) && p != nil && p.Number == 0 {
			changed = true
			p, err = folder.Draft(v.Context(), e)
		}
	}
	switch {
	case err != nil:
		return nil, err
	case p.Refused():
		return refused(p)
	case p.Number > 0:
		v.server.sent.keep(page, p.Number)
		return &view{To: doneAt(p.Number)}, nil
	}
	looked, written := report.RecordParts(p)
	shown, err1 := v.fragment(looked)
	rows, err2 := v.fragment(written)
	if err := cmp.Or(err1, err2); err != nil {
		return nil, err
	}
	data := struct {
		*visit
		Proposal *journal.Proposal
		Shown    template.HTML
		Rows     template.HTML // as the files will have them
		Changed  bool
		Page     string // tells this page from every other
		Told     []link
		Back     string // address of the form again; "" for none
	}{visit: v, Proposal: p, Shown: shown, Rows: rows, Changed: changed, Page: rand.Text()}
	for _, name := range slices.Sorted(maps.Keys(e.Values)) {
		data.Told = append(data.Told, link{name, e.Values[name]})
	}
	if e.Kind != journal.Undo {
		data.Back = formOf(e)
	}
	b, err := body("record-shown", data)
	return &view{Title: report.RecordTitle(p), Body: b}, err
}

// doneAt is the address that says what a change has written.
func doneAt(change int) string { return "/record?done=" + strconv.Itoa(change) }

// sentPages are those from which something was written, with the number of the change.
type sentPages struct {
	sync.Mutex
	as map[string]int
}

func (s *sentPages) keep(page string, change int) {
	if page == "" {
		return
	}
	if s.as == nil {
		s.as = make(map[string]int)
	}
	s.as[page] = change
}
