package web

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
	"pairwright/pedigree/studbook/exchange"
	"pairwright/pedigree/studbook/journal"
)

// importFile shows what would become of a file, with a control for each thing
// that is to be decided or was likely. The form has
//
//	mapping   what was decided so far, as a mapping in TOML
//	choice?…  the answer to a choice, which is in its name; only one other than
//	          that which stands decides anything
//	again     the place of a decision to be taken back; again for each
//	home      the code of the user's own institution
//	sheet     a sheet to be read; all of them, where none may be left out
//	from      "open" where the colony that is open is the file, with all beside it
//	into      "open" where it is to be laid over the colony that is open
//	keep      of a newer export, the side that is kept where both have changed
//	seen      the sum of what a newer export was seen to change
//	do        "write" makes a colony folder of it, or takes what it changes in the
//	          open one; "mapping" sends the mapping
func importFile(v *visit) (*view, error) {
	if !v.mayOpen() || v.server.config.Imports == "" {
		return nil, errOpen
	}
	x, err := v.uploaded()
	if err != nil {
		return nil, err
	}
	over := ""
	if v.request.PostFormValue("into") == "open" {
		if over = v.LaidOver(); over == "" {
			return nil, errors.New("nothing can be laid over the colony that is open: it has no file studbook.csv that may be written")
		}
	}
	known := []byte(v.request.PostFormValue("mapping"))
	first := over != "" && !v.request.PostForm.Has("mapping")
	if first && exchange.FromImport(over) { // what made the folder makes it again
		if known, err = os.ReadFile(filepath.Join(over, exchange.MappingFile)); err != nil {
			return nil, err
		}
	}
	before, err := exchange.ReadMapping(known)
	if err != nil {
		return nil, fmt.Errorf("the decisions cannot be read: %w", err)
	}
	said, err := decide(before, v.request.PostForm)
	if err != nil {
		return nil, err
	}
	home := v.request.PostFormValue("home")
	res, err := v.imported(x, said, first, home, over)
	if err != nil {
		return nil, err
	}
	if res.Report.Anew {
		said = said.WithoutLayout()
	}
	do := v.request.PostFormValue("do")
	changed := said.Text() != before.Text()
	switch {
	case do == "mapping":
		return &view{File: &file{Name: exchange.MappingFile, Type: "application/toml", Content: []byte(res.Report.Mapping)}}, nil
	case over != "":
	case do == "write" && res.Colony != nil && !changed && (home != "" || len(res.Report.Places()) < 2):
		return v.writeImport(x, res)
	}
	page := importView{visit: v, Name: x.name, Report: &res.Report, Ready: res.Colony != nil, Home: home, Unseen: do == "write" && changed, Said: said.Text(), Used: res.Report.Mapping}
	page.fill(said)
	if page.Newer = over != ""; page.Newer {
		page.Ready = false
		if res.Colony != nil {
			done, err := page.lay(over, res, do == "write" && !changed)
			if err != nil || done != nil {
				return done, err
			}
		}
	}
	d, err := v.account(res, "")
	if err != nil {
		return nil, err
	}
	d.Lead = ""
	d.Sections = slices.DeleteFunc(d.Sections, func(s document.Section) bool { return report.ImportAsked(s.Title) })
	if page.Document, err = v.fragment(d); err != nil {
		return nil, err
	}
	b, err := body("import", &page)
	return &view{Title: "Import " + x.name, Body: b}, err
}

// importView is what its template takes.
type importView struct {
	*visit
	Name     string
	Report   *exchange.Report
	Ready    bool   // it can be written as it is
	Home     string // the user's own institution
	Unseen   bool   // it was to be written, with decisions of which nobody saw what comes of them
	Said     string // the decisions, as a mapping
	Used     string // the mapping that was used
	First    []importChoice
	Likely   []importChoice
	More     int // of what is likely, beyond those shown
	Certain  []importColumn
	Words    []importChoice
	Dates    *importChoice
	Sheets   []exchange.SheetRead // that may be read or not
	Decided  []importDecided
	Document template.HTML
	Newer    bool        // it is a newer export of the colony that is open
	Over     *importOver // what it changes there; nil where that is not known yet
}

// importOver is what a newer export changes in the colony that is open.
type importOver struct {
	*exchange.Merged
	Folder   string
	Keep     string
	Unseen   bool // it was to be taken, but something has changed since it was shown
	Wrong    bool // with it the files would contradict each other
	Document template.HTML
}

// LaidOver returns the folder of the open colony where a newer export or the sheet of
// one institution can be laid over it, "" elsewhere.
func (v *visit) LaidOver() string {
	if !v.mayOpen() || v.ReadOnly() || v.colony.name != "studbook.csv" || !exchange.IsColony(v.colony.folder) {
		return ""
	}
	return v.colony.folder
}

// lay shows what a newer export changes in a folder, or takes it.
func (p *importView) lay(folder string, res *exchange.Result, take bool) (*view, error) {
	v := p.visit
	keep, seen := v.request.PostFormValue("keep"), v.request.PostFormValue("seen")
	if keep != "theirs" && keep != "ours" {
		keep = ""
	}
	opt := exchange.LayOptions{Keep: keep, Today: studbook.Today(), Journal: journal.Options{Wait: writeWait}}
	if take {
		opt.Agree = func(m *exchange.Merged) bool { return m.Sum() == seen }
	}
	m, change, err := exchange.Lay(v.Context(), folder, res, opt)
	if err != nil {
		return nil, err
	}
	if change > 0 {
		v.server.uploads.drop(v.visitor)
		v.server.reader.changed()
		return &view{To: doneAt(change)}, nil
	}
	p.Over = &importOver{Merged: m, Folder: folder, Keep: keep, Unseen: take && m.Sum() != seen, Wrong: studbook.Errors(m.Findings) > 0}
	d := report.MergeDocument(res.Report.Source, folder, m, false, 0)
	d.Lead = ""
	p.Over.Document, err = v.fragment(d)
	return nil, err
}

// Stuck reports whether no side that could be kept makes it fit to be taken.
func (o *importOver) Stuck() bool { return o.Wrong && !o.Asks() || o.Wrong && o.Keep != "" }

// importChoice is a choice with its control.
type importChoice struct {
	*exchange.Choice
	ID    string // of its control
	Text  string // what there is to say of it; "" for nothing
	Where string
	Row   []exchange.Cell
	Birds int // how many it is about, where that is known
	Open  bool
}

// importColumn is a column of the file with what was made of it.
type importColumn struct {
	exchange.ColumnRead
	Control *importChoice // nil where nothing can be changed
}

// Has says what the column was taken for.
func (c importColumn) Has() string {
	if has := report.ImportColumn(c.Ours); has != "" {
		return report.Capital(has)
	}
	return "Kept as it stands"
}

// importDecided is a decision that can be taken back.
type importDecided struct {
	Place          int
	Question, Text string
}

// likelyShown is how many things that were likely have a control.
const likelyShown = 60

// fill makes the controls.
func (p *importView) fill(said exchange.Mapping) {
	r := p.Report
	n := 0
	control := func(c *exchange.Choice) importChoice {
		n++
		return importChoice{Choice: c, ID: fmt.Sprintf("choice-%d", n)}
	}
	seen := map[string]bool{}
	list := func(of []exchange.Decision, open bool) (out []importChoice) {
		for _, d := range of {
			x := importChoice{Text: report.Sentence(d.Text), Where: report.ImportWhere(d.Sheet, d.Line), Row: d.Row, Open: open}
			if r.Format == "csv" { // it has one sheet, which its owner never named
				x.Where = report.ImportWhere("", d.Line)
			}
			if d.Choice != nil {
				c := control(d.Choice)
				if name := c.Name(); !seen[name] {
					seen[name] = true
					x.Choice, x.ID = c.Choice, c.ID
				} else if open {
					continue // asked already
				}
			}
			out = append(out, x)
		}
		return out
	}
	p.First = list(r.Stops, true)
	p.Likely = list(r.Decisions, false)
	if p.More = len(p.Likely) - likelyShown; p.More > 0 {
		p.Likely = p.Likely[:likelyShown]
	}
	asked := func(c importChoice) *importChoice {
		if name := c.Name(); seen[name] {
			return nil // further up
		}
		return &c
	}
	for _, c := range r.Columns {
		col := importColumn{ColumnRead: c}
		if c.Choice != nil {
			col.Control = asked(control(c.Choice))
		}
		p.Certain = append(p.Certain, col)
	}
	for k := range r.Words {
		if c := asked(control(&r.Words[k].Choice)); c != nil {
			c.Birds = r.Words[k].Birds
			p.Words = append(p.Words, *c)
		}
	}
	if r.Dates != nil {
		p.Dates = asked(control(r.Dates))
	}
	for _, s := range r.Sheets {
		if s.Optional {
			p.Sheets = append(p.Sheets, s)
		}
	}
	if len(p.Sheets) < 2 {
		p.Sheets = nil
	}
	for k, c := range said.Decided() {
		p.Decided = append(p.Decided, importDecided{k, report.ImportQuestion(&c), report.ImportAnswer(&c, c.Taken)})
	}
}

// Places are the institutions of which one is to be said to be the user's own; none
// if there are no two.
func (p *importView) Places() []string {
	if places := p.Report.Places(); len(places) > 1 {
		return places
	}
	return nil
}

// Read reports whether a sheet is read.
func (p *importView) Read(s exchange.SheetRead) bool { return s.As != exchange.SheetLeftOut }

// Asks reports whether there is something to answer.
func (c importChoice) Asks() bool { return c.Choice != nil }

// Question asks what is to be decided.
func (c importChoice) Question() string { return report.ImportQuestion(c.Choice) }

// Answers are what can be chosen.
func (c importChoice) Answers() []importAnswer {
	out := make([]importAnswer, len(c.May))
	for k, o := range c.May {
		out[k] = importAnswer{o.Answer, report.ImportAnswer(c.Choice, o.Answer), strings.Join(o.Examples, " · "), !c.Open && o.Answer == c.Taken}
	}
	return out
}

// Few reports whether the answers are so few that all of them are shown.
func (c importChoice) Few() bool {
	const few = 8
	return len(c.May) <= few
}

// importAnswer is an answer to a choice. Its value is never blank, which is what
// no answer is.
type importAnswer struct {
	Answer, Text, Examples string
	Taken                  bool
}

// Value is the answer in the form.
func (a importAnswer) Value() string { return "=" + a.Answer }

// choiceField begins the name of the control of a choice.
const choiceField = "choice?"

// Name is that of the control: it has all that decide has to know.
func (c importChoice) Name() string {
	was := ""
	if !c.Open {
		was = "=" + c.Taken
	}
	values := url.Values{"subject": {string(c.Subject)}, "sheet": {c.Sheet}, "of": {c.Of}, "word": {c.Word}, "was": {was}}
	if c.Subject == exchange.OfHeading {
		values.Del("of")
	}
	if c.Subject == exchange.OfRow {
		for _, o := range c.May {
			values.Add("row", o.Answer)
		}
	}
	return choiceField + values.Encode()
}

// decide lays the answers of a form over a mapping.
func decide(m exchange.Mapping, form url.Values) (exchange.Mapping, error) {
	decided := m.Decided()
	for _, again := range form["again"] {
		for k, c := range decided {
			if again == fmt.Sprint(k) {
				m = m.Undecide(c)
			}
		}
	}
	if all := form["sheets"]; len(all) > 0 {
		m.Sheets = form["sheet"]
		if len(m.Sheets) == len(all) {
			m.Sheets = nil
		}
	}
	for _, name := range slices.Sorted(maps.Keys(form)) {
		answer, answered := strings.CutPrefix(form.Get(name), "=")
		encoded, choice := strings.CutPrefix(name, choiceField)
		if !choice || !answered {
			continue
		}
		values, err := url.ParseQuery(encoded)
		if err != nil {
			return m, fmt.Errorf("this is no form of the import: %w", err)
		}
		if values.Get("was") == "="+answer {
			continue
		}
		c := exchange.Choice{Subject: exchange.Subject(values.Get("subject")), Sheet: values.Get("sheet"), Of: values.Get("of"), Word: values.Get("word")}
		if m, err = m.Decide(c, answer); err != nil {
			return m, err
		}
	}
	return m, nil
}

// How large files to import may be, and how many wait for a decision at once.
const (
	largestImport  = 32 << 20
	importsWaiting = 4
)

// upload is a file that somebody wants to import, kept until it is.
type upload struct {
	visitor string
	name    string
	content []byte
	beside  []exchange.File // what else is in the folder whose studbook it is
	folder  string          // the name of that folder; "" where the file was sent
}

// uploads keep the files to import, the last of each visitor.
type uploads struct {
	lock sync.Mutex
	all  []upload // the oldest first
}

func (u *uploads) keep(x upload) {
	u.lock.Lock()
	defer u.lock.Unlock()
	u.all = append(slices.DeleteFunc(u.all, func(other upload) bool { return other.visitor == x.visitor }), x)
	u.all = u.all[max(0, len(u.all)-importsWaiting):]
}

func (u *uploads) of(visitor string) (upload, bool) {
	u.lock.Lock()
	defer u.lock.Unlock()
	k := slices.IndexFunc(u.all, func(x upload) bool { return x.visitor == visitor })
	if k < 0 {
		return upload{}, false
	}
	return u.all[k], true
}

func (u *uploads) drop(visitor string) {
	u.lock.Lock()
	defer u.lock.Unlock()
	u.all = slices.DeleteFunc(u.all, func(x upload) bool { return x.visitor == visitor })
}

// uploaded returns the file that the form has, or the one it had before.
func (v *visit) uploaded() (upload, error) {
	if v.request.PostFormValue("from") == "open" {
		return v.wholeFolder()
	}
	part, header, err := v.request.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		if x, ok := v.server.uploads.of(v.visitor); ok {
			return x, nil
		}
		return upload{}, errors.New("choose a file to import first")
	}
	if err != nil {
		return upload{}, err
	}
	defer part.Close() // it was read alone
	content, err := io.ReadAll(part)
	if err != nil {
		return upload{}, err
	}
	x := upload{visitor: v.visitor, name: plainName(header.Filename), content: content}
	v.server.uploads.keep(x)
	return x, nil
}

// wholeFolder takes the files of the colony that is open as one to import, as it stands.
func (v *visit) wholeFolder() (upload, error) {
	x := upload{visitor: v.visitor, name: plainName(v.colony.name), folder: plainName(filepath.Base(v.colony.folder))}
	names := []string{v.colony.name, "programme.toml"}
	for _, f := range studbook.Files() {
		names = append(names, f.Name)
	}
	size := 0
	for k, name := range names {
		content, err := studbook.ReadFile(v.colony.dir, name)
		switch size += len(content); {
		case k > 0 && (name == v.colony.name || errors.Is(err, fs.ErrNotExist)):
		case err != nil:
			return x, err
		case size > largestImport:
			return x, fmt.Errorf("the files of the folder are too large to be imported here: more than %d MB", largestImport>>20)
		case k == 0:
			x.content = content
		default:
			x.beside = append(x.beside, exchange.File{Name: name, Content: content})
		}
	}
	v.server.uploads.keep(x)
	return x, nil
}

// plainName makes of what a browser calls a file a name that is no path.
func plainName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_. ", r) {
			return r
		}
		return '_'
	}, name)
	if name = strings.Trim(name, ". "); name == "" {
		return "file"
	}
	return name
}

// imported reads an uploaded file, from a folder of its own that is gone
// afterwards. made says that the mapping is the one which made the folder that the file is
// laid over, and that nothing has been decided besides.
func (v *visit) imported(x upload, mapping exchange.Mapping, made bool, home, over string) (*exchange.Result, error) {
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	dir, err := os.MkdirTemp("", "pairwright-import-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	for _, f := range append(slices.Clone(x.beside), exchange.File{Name: x.name, Content: x.content}) {
		if err := os.WriteFile(filepath.Join(dir, f.Name), f.Content, 0o600); err != nil {
			return nil, err
		}
	}
	today := studbook.Today()
	opt := exchange.Options{Mapping: mapping, Today: today, Home: home, FileDay: today}
	if over != "" {
		opt.Over = os.DirFS(over)
	}
	if made {
		opt.Mapping = exchange.Mapping{}
		return exchange.ImportOver(v.Context(), os.DirFS(dir), x.name, opt, mapping)
	}
	return exchange.Import(v.Context(), os.DirFS(dir), x.name, opt)
}

// account tells what became of a file.
func (v *visit) account(res *exchange.Result, into string) (*document.Document, error) {
	figures, err := res.Figures(v.Context(), studbook.Today())
	if err != nil {
		return nil, err
	}
	return report.ImportDocument(&res.Report, figures, into), nil
}

// writeImport makes a new colony folder and turns to it.
func (v *visit) writeImport(x upload, res *exchange.Result) (*view, error) {
	into, err := v.newFolder(cmp.Or(x.folder, x.name))
	if err != nil {
		return nil, err
	}
	d, err := v.account(res, into)
	if err != nil {
		return nil, err
	}
	var account bytes.Buffer
	if err := document.WriteText(&account, d, 0); err != nil {
		return nil, err
	}
	if _, err := res.Create(into, account.Bytes()); err != nil {
		return nil, err
	}
	v.server.uploads.drop(v.visitor)
	v.server.reader.open(onDisk(filepath.Join(into, "studbook.csv")), nil)
	return &view{To: "/data"}, nil
}

// newFolder names a folder that is not there yet after a file.
func (v *visit) newFolder(file string) (string, error) {
	const most = 1000
	base := strings.TrimSuffix(file, filepath.Ext(file))
	for n := range most {
		name := filepath.Join(v.server.config.Imports, base)
		if n > 0 {
			name = fmt.Sprintf("%s-%d", name, n+1)
		}
		if disk.Free(name) == nil {
			return name, nil
		}
	}
	return "", fmt.Errorf("no new folder can be made in %s", v.server.config.Imports)
}
