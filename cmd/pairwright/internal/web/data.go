package web

import (
	"fmt"
	"html/template"
	"io/fs"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// dataPage shows what all answers rest on: what is wrong with the files, where
// and what to do; the gaps; the settings and where each comes from; what was
// read; how to get in and out.
func dataPage(v *visit) (*view, error) {
	asked, x, err := v.answer(question.Named("check"), nil)
	if err != nil {
		return nil, err
	}
	c := v.colony
	d := x.Document()
	page := dataView{visit: v, Lead: d.Lead, Exports: exports, Downloads: downloads(asked.Question, v.Query())}
	if page.Findings, page.More = v.findings(x.Findings); page.More != "" {
		page.More += " The list below as a file has all of them."
	}
	d.Lead, d.Title = "", "Data"
	d.Sections = slices.DeleteFunc(d.Sections, func(s document.Section) bool { return s.Anchor == report.FindingsAnchor })
	if page.Document, err = v.fragment(d); err != nil {
		return nil, err
	}
	if c.Colony != nil {
		page.Settings, page.Files = settingRows(&c.Colony.Settings), fileRows(c)
	}
	b, err := body("data", page)
	return &view{Title: "Data", Body: b}, err
}

// dataView is what its template takes.
type dataView struct {
	*visit
	Lead      string
	Findings  []findingView
	More      string
	Document  template.HTML
	Settings  []settingRow
	Files     []fileRow
	Exports   []link
	Downloads []link
}

// Folder is the folder of the files, "" for the example.
func (d dataView) Folder() string { return d.colony.folder }

// MayOpen reports whether the visitor may turn to other files.
func (d dataView) MayOpen() bool { return d.visit.mayOpen() }

// findingView is a finding with the lines it is about.
type findingView struct {
	studbook.Finding
	Where  string
	Header *sourceLine // the first line of the file, which names the columns
	Line   *sourceLine
	Mend   string // address of the form that puts it right; "" where there is none
	Anew   bool   // the folder can be written anew without it
}

// Bad reports whether the finding stops every computation.
func (f findingView) Bad() bool { return f.Severity == studbook.Error }

// sourceLine is a line of a file, with the part that is wrong between others.
type sourceLine struct {
	Number               int
	Before, Wrong, After string
}

// findingsShown is how many findings the page shows with their lines.
const findingsShown = 200

// findings are the findings with their lines, the errors first, and a sentence
// on those that are left out.
func (v *visit) findings(all []studbook.Finding) (shown []findingView, more string) {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b studbook.Finding) int { return int(b.Severity) - int(a.Severity) })
	texts := map[string][]string{}
	for _, f := range all[:min(findingsShown, len(all))] {
		x := findingView{Finding: f, Where: f.File}
		if f.Line > 0 {
			x.Where = fmt.Sprintf("%s, line %d", f.File, f.Line)
			lines, read := texts[f.File]
			if !read {
				lines = v.lines(f.File)
				texts[f.File] = lines
			}
			x.Line = lineAt(lines, f.Line, f.Value)
			if x.Line != nil && f.Line > 1 && strings.EqualFold(filepath.Ext(f.File), ".csv") {
				x.Header = heading(lines, f)
			}
		}
		if x.Anew = f.Code == studbook.CodeDateOrder && v.mayOpen() && v.server.config.Imports != ""; !x.Anew && !v.ReadOnly() {
			x.Mend = v.mend(f)
		}
		shown = append(shown, x)
	}
	if len(all) > len(shown) {
		more = fmt.Sprintf("%s of %s findings are shown.", document.FormatCount(len(shown)), document.FormatCount(len(all)))
	}
	return shown, more
}

// mends are the events that put right what is in a column of the studbook.
var mends = map[string]string{
	"name": "correction", "notes": "correction", "hatch_date": "correction", "death_date": "correction", "location": "correction", "origin": "correction",
	"sex": "sex", "band": "band", "sire": "parent", "dam": "parent",
}

// mend is the address of the form that puts right what a finding is about: a bond
// that is not on record, or a cell of the studbook. It is "" where there is none:
// another file or column, or no bird of that id alone.
func (v *visit) mend(f studbook.Finding) string {
	if f.Code == studbook.CodeParentsUnbonded && v.colony.Colony != nil {
		pair := url.Values{"female": {f.Value}}
		for k := range v.colony.Colony.Birds {
			if b := &v.colony.Colony.Birds[k]; b.Line == f.Line {
				if sire, ok := b.Sire.Known(); ok {
					pair.Set("male", sire)
				}
			}
		}
		return "/record/bond?" + pair.Encode()
	}
	event := mends[f.Column]
	if event == "" || f.Bird == "" {
		return ""
	}
	return "/record/" + event + "?" + url.Values{"bird": {f.Bird}}.Encode()
}

// heading is the line that names the columns: the first that is neither blank nor
// a remark.
func heading(lines []string, f studbook.Finding) *sourceLine {
	for k, line := range lines[:f.Line-1] {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			return lineAt(lines, k+1, f.Column)
		}
	}
	return nil
}

// largestText is the most bytes of a file whose lines are shown.
const largestText = 64 << 20

// lines returns the lines of one of the colony's own text files, none of any
// other.
func (v *visit) lines(name string) []string {
	info, err := fs.Stat(v.colony.dir, name) // no name of a fs.FS leads out of it
	if err != nil || !info.Mode().IsRegular() || info.Size() > largestText || strings.EqualFold(filepath.Ext(name), ".xlsx") {
		return nil
	}
	text, err := studbook.Text(v.colony.dir, name)
	if err != nil {
		return nil // it went away meanwhile
	}
	return strings.Split(text, "\n")
}

// longestLine is how many characters of a line are shown.
const longestLine = 400

// lineAt returns a line, from 1, cut at the place of a text in it; nil if there
// is none.
func lineAt(lines []string, number int, wrong string) *sourceLine {
	if number < 1 || number > len(lines) {
		return nil
	}
	line := []rune(strings.TrimRight(lines[number-1], "\r"))
	line = line[:min(longestLine, len(line))]
	text := string(line)
	if at := wholeIn(text, wrong); wrong != "" && at >= 0 {
		return &sourceLine{number, text[:at], wrong, text[at+len(wrong):]}
	}
	return &sourceLine{Number: number, Before: text}
}

// wholeIn returns where a text stands in a line, -1 if nowhere: where it is no part of
// a longer word if there is such a place.
func wholeIn(line, text string) int {
	within := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' }
	for from := 0; text != ""; {
		at := strings.Index(line[from:], text)
		if at < 0 {
			break
		}
		at += from
		before, _ := utf8.DecodeLastRuneInString(line[:at])
		after, _ := utf8.DecodeRuneInString(line[at+len(text):])
		if !within(before) && !within(after) {
			return at
		}
		from = at + len(text)
	}
	return strings.Index(line, text)
}

// settingRow is a setting with where it comes from.
type settingRow struct {
	studbook.Setting
	Value, From string
	Own         bool // it is set in programme.toml
}

// settingRows are all settings with their values.
func settingRows(s *studbook.Settings) []settingRow {
	var rows []settingRow
	for _, declared := range studbook.AllSettings() {
		row := settingRow{Setting: declared, From: "not set"}
		for _, g := range s.Given {
			if g.Key == declared.Key {
				row.Value, row.From, row.Own = g.Value, "programme.toml", true
				if g.Line > 0 {
					row.From = fmt.Sprintf("programme.toml, line %d", g.Line)
				}
			}
		}
		for _, d := range s.Defaulted {
			if d.Key == declared.Key {
				row.Value, row.From = d.Value, "default: "+d.Source
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// fileRow is a file that a colony folder may have.
type fileRow struct {
	studbook.File
	Read bool
	Rows string // how many
}

// Of is what one row of the file is, in plain text.
func (r fileRow) Of() string { return strings.ReplaceAll(r.Row, "`", "") }

// fileRows are the files with what was read from them.
func fileRows(c *colony) []fileRow {
	colony := c.Colony
	recorded := 0
	for k := range colony.Birds {
		if colony.Birds[k].Recorded {
			recorded++
		}
	}
	rows := map[string]int{
		"studbook.csv": recorded, "moves.csv": len(colony.Moves), "bonds.csv": len(colony.Bonds), "clutches.csv": len(colony.Clutches),
		"holds.csv": len(colony.Holds), "institutions.csv": len(colony.Institutions), "founder_kinship.csv": len(colony.FounderKinship), "genotypes.csv": len(colony.Genotypes),
		"requests.csv": len(colony.Requests), "decisions.csv": len(colony.Rulings),
	}
	var out []fileRow
	for _, f := range studbook.Files() {
		row := fileRow{File: f, Read: f.Needed || colony.HasFile(f.Name)}
		if n, counted := rows[f.Name]; counted && row.Read {
			row.Rows = document.FormatThings(n, "row", "rows")
		}
		out = append(out, row)
	}
	return out
}

// exports are the formats that the colony can be had in, with what each is for.
var exports = []link{
	{"studbook", "The colony's files (CSV)"},
	{"xlsx", "One workbook with all of them"},
	{"fam", "Pedigree for genetics programs (.fam)"},
	{"gedcom", "Family tree (GEDCOM 7)"},
	{"dot", "Drawing (Graphviz)"},
	{"kinship", "Kinship of every two living birds"},
}

// export sends the colony in an open format.
func export(v *visit) (*view, error) {
	kind := v.request.PathValue("kind")
	if !slices.Contains(exchange.Kinds, kind) {
		return nowhere(v)
	}
	c, err := v.read()
	if err != nil {
		return nil, err
	}
	if c.Faults != nil {
		return nil, c.Faults
	}
	day := question.Reading("export")
	if err := setDay(day, v.Day()); err != nil {
		return nil, err
	}
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	out, err := exchange.Export(v.Context(), c.Colony, kind, nil, c.Folder.Day(day))
	if err != nil {
		return nil, err
	}
	files := out.Files
	if kind == "studbook" {
		settings, err := c.Folder.SettingsFile()
		if err != nil {
			return nil, err
		}
		files = append(files, settings...)
	}
	if len(out.Lost) > 0 {
		files = append(files, exchange.File{Name: "not-in-this-format.txt", Content: []byte(strings.Join(out.Lost, "\n") + "\n")})
	}
	return sendFiles(kind, files)
}

// setDay reads the day of a page, "" for the colony's own.
func setDay(asked *question.Asked, day string) error {
	if day == "" {
		return nil
	}
	if err := set(asked, "as-of", day); err != nil {
		return question.Usagef("as-of %s: %w", day, err)
	}
	return nil
}

// sendFiles sends one file as it is and several in one archive.
func sendFiles(name string, all []exchange.File) (*view, error) {
	if len(all) == 1 {
		return &view{File: &file{Name: all[0].Name, Type: "application/octet-stream", Content: all[0].Content}}, nil
	}
	content, err := zipped(all)
	return &view{File: &file{Name: name + ".zip", Type: "application/zip", Content: content}}, err
}
