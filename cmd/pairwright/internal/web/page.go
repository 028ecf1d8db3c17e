package web

import (
	"bytes"
	"cmp"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// page is what answers one kind of request. What writes is a POST; only those
// pages are asked with the token of a form.
type page struct {
	pattern string // as http.ServeMux takes it: "GET /bird/{bird}"
	show    func(*visit) (*view, error)
	largest int64 // bytes of a form; 0 for largestForm
	sends   bool  // it is a file or a word for a program, and nothing to look at meanwhile
	decides bool  // it rests on the season's decision
}

// pages are all there are.
func pages() []page {
	return []page{
		{pattern: "GET /{$}", show: boardPage, decides: true},
		{pattern: "GET /season", show: seasonPage, decides: true},
		{pattern: "POST /season/keep", show: keepSeason},
		{pattern: "GET /birds", show: birdsPage, decides: true},
		{pattern: "GET /bird", show: birdPage, decides: true},
		{pattern: "GET /bird/{bird...}", show: birdPage, decides: true},
		{pattern: "GET /kin", show: answerPage("kin"), decides: true},
		{pattern: "GET /parents", show: answerPage("parents")},
		{pattern: "GET /mates", show: answerPage("mates"), decides: true},
		{pattern: "GET /plan", show: answerPage("plan"), decides: true},
		{pattern: "GET /letters", show: lettersPage, decides: true},
		{pattern: "GET /transfers", show: transfersPage("list=true"), decides: true},
		{pattern: "GET /requests", show: transfersPage("requests=true"), decides: true},
		{pattern: "GET /transfer", show: transfersPage(""), decides: true},
		{pattern: "GET /review", show: jobPage("review")},
		{pattern: "GET /forecast", show: jobPage("forecast")},
		{pattern: "GET /data", show: dataPage},
		{pattern: "GET /export/{kind}", show: export, sends: true},
		{pattern: "GET /open", show: openPage},
		{pattern: "POST /open", show: openFolder},
		{pattern: "POST /home", show: chooseHome},
		{pattern: "POST /import", show: importFile, largest: largestImport},
		{pattern: "GET /help", show: helpPage},
		{pattern: "GET /record", show: recordHome},
		{pattern: "GET /record/{kind}", show: recordPage},
		{pattern: "POST /record/{kind}", show: record},
		{pattern: "GET /undo", show: undo},
		{pattern: "POST /undo", show: undo},
		{pattern: "GET /download/{question}", show: download, sends: true},
		{pattern: "POST /download/{question}", show: download},
		{pattern: "GET /send-along", show: sendAlong, sends: true},
		{pattern: "POST /stop/{job}", show: stop},
		{pattern: "POST /quit", show: quit},
		{pattern: "GET " + RunningPath, show: running, sends: true},
		{pattern: "GET /state", show: stateOfFiles, sends: true},
	}
}

// menu is what every page leads to.
var menu = []link{
	{"/", "Colony"},
	{"/record", "Write down"},
	{"/birds", "Birds"},
	{"/mates", "Mates"},
	{"/season", "Season"},
	{"/transfers", "Transfers"},
	{"/review", "Review"},
	{"/forecast", "Forecast"},
	{"/data", "Data"},
	{"/help", "Help"},
}

// under says which entry of the menu the pages belong to that have none.
var under = map[string]string{
	"/bird": "/birds", "/kin": "/birds", "/parents": "/birds", "/plan": "/season", "/letters": "/season", "/requests": "/transfers", "/transfer": "/transfers", "/open": "/data", "/import": "/data", "/undo": "/record",
}

// link is an address with the words for it.
type link struct{ Path, Text string }

// view is what a page shows.
type view struct {
	Title string
	Body  template.HTML
	Class string // of the whole page; "" for none
	// Status is that of HTTP; 0 for OK.
	Status int
	// Refresh is after how many seconds the page is to be asked for again by
	// itself; 0 for never.
	Refresh int
	// To is where to go instead of showing anything; "" for nowhere.
	To string
	// File is sent instead of a page; nil for none.
	File *file
}

// file is what is downloaded.
type file struct {
	Name, Type string
	Content    []byte
}

// visit is one request for a page.
type visit struct {
	request *http.Request
	server  *Server
	colony  *colony // nil where the files cannot be read
	fault   error   // why they cannot
	visitor string
}

// Context ends when nobody waits for the page any more, or too long.
func (v *visit) Context() context.Context { return v.request.Context() }

// MayQuit reports whether the pages have a button that ends the program.
func (v *visit) MayQuit() bool { return v.server.config.Quit != nil }

// Path is that of the page's own address.
func (v *visit) Path() string { return v.request.URL.Path }

// Again is the address to come back to.
func (v *visit) Again() string {
	if v.request.Method == http.MethodPost {
		return "/"
	}
	return v.request.URL.RequestURI()
}

// Query returns the keys and values of the address.
func (v *visit) Query() url.Values { return v.request.URL.Query() }

// ReadOnly reports whether nothing can be written: it was asked for, or the
// colony is the example.
func (v *visit) ReadOnly() bool {
	return v.server.config.ReadOnly || v.colony == nil || v.colony.Example()
}

// Example reports whether the colony is the one in the program.
func (v *visit) Example() bool { return v.colony != nil && v.colony.Example() }

// records are what is in the files; nil where they cannot be read, or not without errors.
func (v *visit) records() *studbook.Colony {
	if v.colony == nil {
		return nil
	}
	return v.colony.Colony
}

// Token is what every form that writes has to have in its field "token".
func (v *visit) Token() string { return v.server.seal(v.visitor) }

// Day returns the day that the pages were asked for, "" for the colony's own.
func (v *visit) Day() string { return v.request.FormValue("as-of") }

// filesDay is the day that the files of the colony are kept to, today where they do not
// say.
func (v *visit) filesDay() studbook.Day {
	today := studbook.Today()
	if c := v.records(); c != nil {
		return cmp.Or(c.FilesDay, today)
	}
	return today
}

// Past reports whether the pages were asked for on a day before that of the files.
func (v *visit) Past() bool {
	date, err := studbook.ParseDate(v.Day())
	return v.Day() != "" && (err != nil || date.Last < v.filesDay())
}

// Link returns an address on the site, with the keys and values given in turn
// and on the day of this page.
func (v *visit) Link(path string, keysAndValues ...string) string {
	query := url.Values{}
	for k := 0; k+1 < len(keysAndValues); k += 2 {
		query.Add(keysAndValues[k], keysAndValues[k+1])
	}
	if day := v.Day(); day != "" {
		query.Set("as-of", day)
	}
	to := url.URL{Path: path, RawQuery: query.Encode()}
	return to.String()
}

// Bird returns the address of a bird's page.
func (v *visit) Bird(id string) string { return v.Link("/bird", "bird", id) }

// HasPlaces reports whether the files say where birds live, so that one can be moved.
func (v *visit) HasPlaces() bool { return v.colony.Colony.HasLocation }

// site is what documents and texts are linked with.
func (v *visit) site() *document.Site {
	if v.colony == nil {
		return &document.Site{}
	}
	return &document.Site{
		Address: func(id string) string {
			if !v.colony.Has(id) {
				return ""
			}
			return v.Bird(id)
		},
		Called: v.colony.NameOf, Longest: v.colony.LongestPhrase(), Before: report.BeforeBirds,
	}
}

// marked writes a text with the ids in it as links to their birds.
func (v *visit) marked(text string) template.HTML { return v.site().Marked(text) }

// named writes a bird with its id as a link, whatever the id is.
func (v *visit) named(b *studbook.Bird) template.HTML {
	to, id := template.HTMLEscapeString(v.Bird(b.ID)), template.HTMLEscapeString(b.ID)
	return template.HTML(`<a href="` + to + `">` + id + `</a>` + template.HTMLEscapeString(strings.TrimPrefix(b.Named(), b.ID)))
}

// fragment writes a document as a part of a page.
func (v *visit) fragment(d *document.Document) (template.HTML, error) { return v.write(d, v.site()) }

// fillable writes a document as a part of a page that has the form which the blanks of the
// document belong to.
func (v *visit) fillable(d *document.Document) (template.HTML, error) {
	site := v.site()
	site.Fields = true
	return v.write(d, site)
}

func (v *visit) write(d *document.Document, site *document.Site) (template.HTML, error) {
	done, err := v.server.writing.take(v.Context())
	if err != nil {
		return "", err
	}
	defer done()
	forPage(d)
	var b bytes.Buffer
	err = site.WriteFragment(&b, d)
	return template.HTML(b.String()), err
}

//go:embed templates static
var files embed.FS

// templates are read when the first page is asked for, not by every command.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{"count": document.FormatCount}).ParseFS(files, "templates/*.html"))
})

// body fills in a template for the body of a page.
func body(name string, data any) (template.HTML, error) {
	var b bytes.Buffer
	err := templates().ExecuteTemplate(&b, name, data)
	return template.HTML(b.String()), err
}

// handle answers requests by a page.
func (s *Server) handle(p page) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		largest := p.largest
		if largest == 0 {
			largest = largestForm
		}
		r.Body = http.MaxBytesReader(w, r.Body, largest)
		id := visitor(w, r)
		if mayAskAgain(r, p) {
			s.wait(w, r, p, id)
			return
		}
		ctx, cancel := context.WithTimeout(r.Context(), longestAnswer)
		defer cancel()
		if r.Method == http.MethodPost {
			// Going back to what a form led to shows it as it was: without this the browser asks
			// whether to send the form again.
			w.Header().Set("Cache-Control", "private, no-cache")
		}
		v := &visit{request: r.WithContext(ctx), server: s, visitor: id}
		out := v.shown(p)
		if r.Context().Err() != nil {
			return // nobody waits any more
		}
		s.answerWith(w, v, out)
	})
}

// shown makes a page, or the one that says what went wrong.
func (v *visit) shown(p page) *view {
	out, err := v.answered(p)
	if err != nil {
		out = v.failed(err)
	}
	return out
}

// answerWith writes a page as the answer to a request.
func (s *Server) answerWith(w http.ResponseWriter, v *visit, out *view) {
	if err := v.send(w, out); err != nil {
		s.config.Log.Error("a page could not be written", "path", v.Path(), "error", err)
		http.Error(w, "This page could not be written. The program is at fault.", http.StatusInternalServerError)
	}
}

// errForm is a form that is not one of this browser's.
var errForm = errors.New("this form is not one that the server gave to this browser; open its page again")

func (v *visit) answered(p page) (out *view, err error) {
	defer rescue(&err)
	v.colony, v.fault = v.server.reader.now(v.Context())
	if v.request.Method == http.MethodPost {
		err := v.parse()
		if form := v.request.MultipartForm; form != nil {
			defer form.RemoveAll() // what did not fit into memory
		}
		if err != nil {
			return nil, err
		}
		if !same(v.request.PostFormValue("token"), v.Token()) {
			return nil, errForm
		}
		defer v.server.changed()
	}
	return p.show(v)
}

// parse reads the form of a request.
func (v *visit) parse() error {
	const inMemory = 8 << 20 // bytes of files; the rest is on disk meanwhile
	err := v.request.ParseForm()
	if err == nil {
		if err = v.request.ParseMultipartForm(inMemory); errors.Is(err, http.ErrNotMultipart) {
			return nil
		}
	}
	switch tooLarge := new(http.MaxBytesError); {
	case errors.As(err, &tooLarge):
		return fmt.Errorf("what was sent is larger than the %d kB that this page takes", tooLarge.Limit>>10)
	case err != nil:
		return question.Usagef("what was sent is no whole form; open its page again, and send it from there")
	}
	return nil
}

// read returns the colony, or why there is none to compute with.
func (v *visit) read() (*colony, error) {
	if v.fault != nil {
		return nil, v.fault
	}
	return v.colony, nil
}

// nowhere is the page for addresses that there are none of.
func nowhere(v *visit) (*view, error) {
	b, err := body("failed", map[string]any{"Message": "There is no page at this address.", "Ways": []link{{"/", "To the colony"}}, "Places": nil})
	return &view{Title: "Not found", Status: http.StatusNotFound, Body: b}, err
}

// quit ends the program, if its pages may.
func quit(v *visit) (*view, error) {
	if v.server.config.Quit == nil {
		return nowhere(v)
	}
	v.server.config.Quit() // what is being answered is finished first
	b, err := body("quit", nil)
	return &view{Title: "Pairwright has stopped", Body: b}, err
}

// RunningPath is where a server says what it shows.
const RunningPath = "/running"

// stateOfFiles says which state of the files the pages are of, for a page that shows
// itself again when they have changed.
func stateOfFiles(v *visit) (*view, error) {
	return &view{File: &file{Name: "state.txt", Type: "text/plain; charset=utf-8", Content: []byte(v.State())}}, nil
}

// State tells one state of the files from another.
func (v *visit) State() string {
	if v.colony == nil {
		return "none"
	}
	return v.server.seal("state " + v.colony.state)
}

// running tells a program that is started again that it runs already.
func running(v *visit) (*view, error) {
	return &view{File: &file{Name: "running.txt", Type: "text/plain; charset=utf-8", Content: []byte(v.server.config.running())}}, nil
}

// running is what a server says that was asked to show the same.
func (c Config) running() string {
	folder := ""
	if c.Studbook != "" {
		from := onDisk(c.Studbook)
		folder = filepath.Join(from.folder, from.name)
	}
	return "Pairwright shows " + folder
}

// sheet is a page with what stands around it.
type sheet struct {
	*view
	*visit
	Menu []entry
}

// entry is an entry of the menu.
type entry struct {
	To, Text string
	Here     bool
	Note     string // how much there is to look at; "" for nothing
}

// wrong says how much is wrong with the files, "" where nothing is.
func (v *visit) wrong() string {
	switch c := v.colony; {
	case c == nil:
		return ""
	case c.Faults != nil:
		return document.FormatThings(studbook.Errors(c.Faults.Findings), "error", "errors")
	}
	found := v.found()
	if n := studbook.Errors(found); n > 0 {
		return document.FormatThings(n, "error", "errors")
	}
	if len(found) > 0 {
		return document.FormatThings(len(found), "warning", "warnings")
	}
	return ""
}

// found are the findings that the page about the files has; until the programme is there,
// which some of them rest on, those of the files alone.
func (v *visit) found() []studbook.Finding {
	values := url.Values{}
	if day := v.Day(); day != "" {
		values.Set("as-of", day)
	}
	c := v.colony
	asked, err := question.Named("check").Parse(values)
	if err != nil {
		return c.Colony.Warnings
	}
	if programme, _ := c.Ready(asked); !programme {
		return c.Colony.Warnings
	}
	x, err := v.server.answer(v.Context(), asked, c.Folder)
	if err != nil {
		return c.Colony.Warnings
	}
	return x.Findings
}

// Asset returns the address of a file of the site.
func (s sheet) Asset(name string) string { return assets()[name].path }

// Place is the home of the colony.
func (s sheet) Place() string {
	c := s.records()
	if c == nil {
		return ""
	}
	home := c.Settings.Home
	for _, in := range c.Institutions {
		if in.Code == home && in.Name != "" {
			return in.Name
		}
	}
	return home
}

// undated are the parts of the site that are the same whatever the day.
var undated = []string{"record", "undo", "open", "import", "help", "quit"}

// On is the day that the page is for, "" for one that has none.
func (s sheet) On() string {
	if day, ok := s.day(); ok {
		return day.String()
	}
	return ""
}

// OnInWords is the same day as a person writes it.
func (s sheet) OnInWords() string {
	day, _ := s.day()
	return document.FormatDay(day)
}

func (s sheet) day() (day studbook.Day, ok bool) {
	part, _, _ := strings.Cut(strings.TrimPrefix(s.Path(), "/"), "/")
	if s.records() == nil || s.request.Method == http.MethodPost || s.Status > http.StatusOK || slices.Contains(undated, part) {
		return 0, false
	}
	asked := question.Reading("page")
	if date, err := studbook.ParseDate(s.Day()); err == nil && s.Day() != "" && date.Known() {
		asked.AsOf = date.Last
	}
	return s.colony.Folder.Day(asked), true
}

// Same are the keys and values of the address but for the day, for the form that
// asks for this page on another day.
func (s sheet) Same() []link {
	var out []link
	query := s.Query()
	query.Del("as-of")
	for _, key := range slices.Sorted(maps.Keys(query)) {
		for _, value := range query[key] {
			out = append(out, link{key, value})
		}
	}
	return out
}

// send writes a page whole or not at all.
func (v *visit) send(w http.ResponseWriter, out *view) error {
	switch {
	case out.To != "":
		http.Redirect(w, v.request, out.To, http.StatusSeeOther)
		return nil
	case out.File != nil:
		w.Header().Set("Content-Type", out.File.Type)
		w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", out.File.Name))
		_, _ = w.Write(out.File.Content) // the browser may have gone
		return nil
	}
	s := sheet{view: out, visit: v}
	first, _, _ := strings.Cut(strings.TrimPrefix(v.Path(), "/"), "/")
	for _, m := range menu {
		s.Menu = append(s.Menu, entry{To: v.Link(m.Path), Text: m.Text, Here: m.Path == "/"+first || m.Path == under["/"+first]})
		if m.Path == "/data" {
			s.Menu[len(s.Menu)-1].Note = v.wrong()
		}
	}
	var b bytes.Buffer
	if err := templates().ExecuteTemplate(&b, "layout", s); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if out.Status != 0 {
		w.WriteHeader(out.Status)
	}
	_, _ = b.WriteTo(w) // the browser may have gone
	return nil
}
