package report

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// shownRows, shownDecisions and shownFates are how many rows that were left out, how
// many decisions, and the fates of the birds of how many places and sexes a document
// lists; the JSON has all.
const (
	shownRows      = 60
	shownDecisions = 60
	shownFates     = 600
)

// ImportDocument is the account of an import. f is nil where it stopped; dir is
// the folder that was written, "" if none was.
func ImportDocument(r *exchange.Report, f *exchange.Figures, dir string) *document.Document {
	d := &document.Document{Title: "Import of " + r.Source}
	birds := document.FormatThings(r.Birds, "bird", "birds")
	switch {
	case len(r.Stops) > 0:
		d.Lead = fmt.Sprintf("Nothing was written: %s must be decided first.", document.FormatThings(len(r.Stops), "thing", "things"))
	case r.Stopped():
		d.Lead = fmt.Sprintf("Nothing was written: the birds as they were read have %s.", document.FormatThings(studbook.Errors(r.Findings), "error", "errors"))
	case dir == "":
		d.Lead = fmt.Sprintf("%s would be written. This is a preview: nothing was.", birds)
	default:
		d.Lead = fmt.Sprintf("%s were written to %s.", birds, dir)
	}
	if n := len(r.Decisions); n > 0 {
		d.Lead += fmt.Sprintf(" %s likely and not certain: look at them below.", document.FormatThings(n, "thing is", "things are"))
	}
	for k := range r.Decisions {
		if x := &r.Decisions[k]; x.Code == exchange.ParentsWithoutBond && x.Choice.Taken != exchange.BondsOfParents {
			d.Lead += " " + Capital(x.Text) + ". With " + ImportFlag(x) + " a bond is written for each."
		}
	}
	d.Lead += sheetsUnread(r) + whichHome(r)
	d.Facts = document.Facts{{Name: "File", Value: r.Source + ", read as " + formatWord(r.Format)}}
	if r.Encoding != "" {
		value := r.Encoding
		if len(r.Accented) > 0 {
			value += ": " + strings.Join(r.Accented, ", ")
			if !strings.HasPrefix(r.Encoding, "UTF-") { // guessed by its letters, or given
				value += " (if these are no words, --encoding NAME)"
			}
		}
		d.Facts = append(d.Facts, document.Fact{Name: "Encoding", Value: value})
	}
	if r.Settings {
		d.Facts = append(d.Facts, document.Fact{Name: "Settings", Value: "programme.toml beside it, as it stands"})
	}
	if r.Beside != "" {
		d.Facts = append(d.Facts, document.Fact{Name: "Described by", Value: r.Beside})
	}
	if r.DateOrder != "" {
		order := map[string]string{"dmy": "day-month-year", "mdy": "month-day-year", "ymd": "year-month-day"}[r.DateOrder]
		d.Facts = append(d.Facts, document.Fact{Name: "Order of dates", Value: order + ": " + r.DateProof})
	}
	if len(r.Stops) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: importStops, Blocks: []document.Block{importDecisions(r.Stops, false)}})
	}
	d.Sections = append(d.Sections, rowSection(r), columnSection(r))
	if len(r.Stops) == 0 {
		d.Sections = append(d.Sections, parentSection(r), fateSection(r))
	}
	if len(r.Decisions) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: importLikely, Blocks: []document.Block{
			document.Paragraph("What was likely, not certain; the first are those on which the largest part of the living birds' genes hangs."), importDecisions(r.Decisions, true)}})
	}
	if f != nil {
		d.Sections = append(d.Sections, figureSection(f))
	}
	if !r.Settings && !r.Stopped() {
		d.Sections = append(d.Sections, document.Section{Title: "What the file does not say", Blocks: []document.Block{document.Paragraph(
			"In which months the birds lay: until it is set, the coming season is taken to begin on the day of each answer and to last a year, and no day is named by which a bird must have moved. " + Capital(setMonths) + ".")}})
	}
	if len(r.Findings) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "What check finds", Blocks: []document.Block{firstFindings(r.Findings)}})
	}
	return d
}

// sheetsUnread says which sheets with cells were left out whole, but for those that were not
// asked for, "" if none was.
func sheetsUnread(r *exchange.Report) string {
	var names []string
	rows := 0
	for _, s := range r.Sheets {
		if s.As == exchange.SheetLeftOut && s.Rows > 0 && !s.Optional {
			names = append(names, fmt.Sprintf("“%s”", s.Name))
			rows += s.Rows
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf(" Nothing was read of %s %s (%s): no row of %s names columns that are known; if %s birds, pairs or clutches, --column says which column is what.",
		plural(len(names), "the sheet", "the sheets"), document.FormatList(names, 6), document.FormatThings(rows, "row", "rows"), plural(len(names), "it", "them"), plural(len(names), "it has", "they have"))
}

// whichHome says that nothing tells which of several places is the user's own, "" where
// something does.
func whichHome(r *exchange.Report) string {
	places := r.Places()
	if r.Home != "" || len(places) < 2 || r.Stopped() {
		return ""
	}
	return fmt.Sprintf(" Birds live at %s, and nothing says which is your own: --home CODE does, here or as home in programme.toml.", document.FormatList(places, 6))
}

// ImportNext is the command that ranks the mates of the birds in a new folder; that of the
// place where most live, where nothing says which is the user's own.
func ImportNext(r *exchange.Report, dir string) string {
	command := "pairwright mates --studbook " + quotedArgument(filepath.Join(dir, "studbook.csv"))
	if whichHome(r) != "" {
		command += " --colony " + quotedArgument(r.Largest())
	}
	return command
}

// quotedArgument is an argument as it is typed after a command.
func quotedArgument(s string) string {
	switch {
	case !strings.ContainsFunc(s, func(c rune) bool {
		return !unicode.IsLetter(c) && !unicode.IsDigit(c) && !strings.ContainsRune("-_./:\\", c)
	}):
		return s
	case strings.ContainsAny(s, "\"$`"):
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return `"` + s + `"`
}

// firstFindings lists findings, errors first, and counts the rest of many.
func firstFindings(all []studbook.Finding) *document.Table {
	list := slices.Clone(all)
	slices.SortStableFunc(list, func(a, b studbook.Finding) int { return cmp.Compare(b.Severity, a.Severity) })
	t := findingTable(list[:min(len(list), shownRows)])
	if len(list) > shownRows {
		t.More = fmt.Sprintf("%s more: check has all", document.FormatCount(len(list)-shownRows))
	}
	return t
}

func formatWord(format string) string {
	return map[string]string{"xlsx": "a workbook (.xlsx)", "ods": "a spreadsheet (.ods)", "csv": "a table of text", "fam": "a pedigree of PLINK (.fam)", "gedcom": "a family tree (GEDCOM)"}[format]
}

func importDecisions(list []exchange.Decision, taken bool) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Where", Key: true}, {Name: "What", Wide: true}}}
	if taken {
		t.Columns = append(t.Columns, document.Column{Name: "Gene pool", Unit: "share", Right: true})
	}
	t.Columns = append(t.Columns, document.Column{Name: "What decides it", Wide: true})
	for k, d := range list {
		if k == shownDecisions {
			t.More = fmt.Sprintf("%s more in the JSON format", document.FormatCount(len(list)-k))
			break
		}
		cells := []document.Cell{{Text: where(d.Sheet, d.Line)}, {Text: d.Text}}
		if taken {
			share := document.Cell{}
			if d.Share > 0 {
				share = document.Cell{Text: document.FormatPercent(d.Share), Value: d.Share}
			}
			cells = append(cells, share)
		}
		t.Rows = append(t.Rows, document.Row{Cells: append(cells, document.Cell{Text: ImportFlag(&list[k])})})
	}
	return t
}

func where(sheet string, line int) string {
	if line > 0 {
		return fmt.Sprintf("%s:%d", sheet, line)
	}
	return cmp.Or(sheet, "the file")
}

func rowSection(r *exchange.Report) document.Section {
	s := document.Section{Title: "Rows"}
	s.Blocks = append(s.Blocks, document.Paragraph(fmt.Sprintf("%s read = %s + %s joined to a bird + %s left out.",
		document.FormatThings(r.RowsRead, "row", "rows"), document.FormatThings(r.Birds, "bird", "birds"), document.FormatThings(r.Joined, "row", "rows"), document.FormatCount(len(r.LeftOut)))))
	sheets := &document.Table{Columns: []document.Column{{Name: "Sheet", Key: true}, {Name: "Read as"}, {Name: "Rows", Right: true}, {Name: "Used", Right: true}, {Name: "Why not", Wide: true}}}
	for _, x := range r.Sheets {
		sheets.Rows = append(sheets.Rows, document.Row{Cells: []document.Cell{{Text: x.Name}, {Text: x.As}, count(x.Rows), count(x.Took), {Text: x.Why}}})
	}
	s.Blocks = append(s.Blocks, sheets)
	if len(r.LeftOut) > 0 {
		t := &document.Table{Caption: "Rows left out", Columns: []document.Column{{Name: "Where", Key: true}, {Name: "Why", Wide: true}}}
		for k, l := range r.LeftOut {
			if k == shownRows {
				t.More = fmt.Sprintf("%s more in the JSON format", document.FormatCount(len(r.LeftOut)-k))
				break
			}
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: where(l.Sheet, l.Line)}, {Text: l.Reason}}})
		}
		s.Blocks = append(s.Blocks, t)
	}
	return s
}

func count(n int) document.Cell { return document.Cell{Text: document.FormatCount(n), Value: n} }

func columnSection(r *exchange.Report) document.Section {
	t := &document.Table{Columns: []document.Column{{Name: "Sheet"}, {Name: "Theirs", Key: true}, {Name: "Ours"}, {Name: "How", Wide: true}, {Name: "Three cells as read", Wide: true}, {Name: "As written", Wide: true}}}
	for _, c := range r.Columns {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: c.Sheet}, {Text: c.Theirs}, {Text: c.Ours}, {Text: c.How},
			{Text: strings.Join(c.Cells, " | ")}, {Text: strings.Join(c.Taken, " | ")}}})
	}
	return document.Section{Title: importHeadings, Blocks: []document.Block{t}}
}

func parentSection(r *exchange.Report) document.Section {
	p := r.Parents
	t := &document.Table{Columns: []document.Column{{Name: "Found by", Key: true}, {Name: "Parents", Right: true}, {Name: "Words", Wide: true}}}
	for _, k := range []struct {
		name  string
		n     int
		words []exchange.Counted
	}{
		{"id", p.ByID, nil}, {"id written otherwise", p.ByIDWrittenOtherwise, nil}, {"band or other id", p.ByBand, nil}, {"name", p.ByName, nil}, {"nest", p.ByNest, nil}, {"group", p.ByGroup, nil},
		{"possible parents", p.Possible, nil}, {"wild", p.Wild, p.WildWords}, {"unknown", p.Unknown, p.UnknownWords}, {"without a row", p.WithoutRow, p.Rowless},
	} {
		words := make([]string, len(k.words))
		for i, w := range k.words {
			words[i] = w.Word + " " + document.FormatCount(w.Times)
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: k.name}, count(k.n), {Text: document.FormatList(words, 12)}}})
	}
	t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: "together"}, count(p.Sum()), {Text: fmt.Sprintf("two for each of %s", document.FormatThings(r.Birds, "bird", "birds"))}}})
	s := document.Section{Title: "Parents", Blocks: []document.Block{t}}
	if p.WithoutRow > 0 {
		named := p.Sum() - p.Unknown - p.Wild
		s.Blocks = append([]document.Block{document.Paragraph(fmt.Sprintf("%s of %s named parents have no row: F and kinship are too low by what hangs on them.", document.FormatCount(p.WithoutRow), document.FormatCount(named)))}, s.Blocks...)
	}
	return s
}

func fateSection(r *exchange.Report) document.Section {
	t := &document.Table{Columns: []document.Column{{Name: "Place", Key: true}, {Name: "Sex"}, {Name: "Living", Right: true}, {Name: "Died", Right: true}, {Name: "Died", Unit: "on an unknown day", Right: true}, {Name: "Left the programme", Right: true}}}
	for _, a := range r.FatesAt[:min(len(r.FatesAt), shownFates)] {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: cmp.Or(a.Place, document.Unknown)}, {Text: a.Sex.Word()}, count(a.Living), count(a.Died), count(a.DiedUnknownDay), count(a.Left)}})
	}
	f := r.Fates
	t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: "together"}, {}, count(f.Living), count(f.Died), count(f.DiedUnknownDay), count(f.Left)}})
	if more := len(r.FatesAt) - shownFates; more > 0 {
		t.More = fmt.Sprintf("%s more places and sexes in the JSON format", document.FormatCount(more))
	}
	s := document.Section{Title: "Fates", Blocks: []document.Block{t}}
	for _, x := range r.Totals {
		verdict := "the same"
		if !x.Agrees {
			verdict = "not the same"
		}
		s.Blocks = append(s.Blocks, document.Paragraph(fmt.Sprintf("%s has a total of its own, %q: it says %s, counted are %s: %s.", where(x.Sheet, x.Line), x.Text, x.Says, x.Counted, verdict)))
	}
	return s
}

func figureSection(f *exchange.Figures) document.Section {
	facts := document.Facts{
		{Name: "Living birds", Value: fmt.Sprintf("%s on %s", document.FormatCount(f.Living), document.FormatDay(f.AsOf))},
		{Name: "Founders", Value: document.FormatCount(f.Founders)},
		{Name: "Generations", Value: document.FormatFraction(f.Generations, 1) + " complete ones behind a living bird, on average"},
		{Name: "Parents known", Value: document.FormatPercent(f.ParentsKnown)},
		{Name: "Mean F", Value: document.FormatKinship(f.MeanF) + " of the living"},
	}
	s := document.Section{Title: "Do the figures look right?", Blocks: []document.Block{facts}}
	if len(f.Closest) > 0 {
		t := &document.Table{Caption: "The most related living pairs", Columns: []document.Column{{Name: "Birds", Key: true}, {Name: "Kinship", Right: true}}}
		for _, p := range f.Closest {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.A + " and " + p.B}, {Text: document.FormatKinship(p.Kinship), Value: p.Kinship}}})
		}
		s.Blocks = append(s.Blocks, t)
	}
	return s
}
