package report

import (
	"fmt"
	"strings"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// shownCandidates is how many possible parents a document names.
const shownCandidates = 6

// CheckDocument says whether the files are sound and which gaps in parentage
// cost most. p is nil where errors stopped the computation.
func CheckDocument(source string, findings []studbook.Finding, notes []string, p *pairing.Programme, gaps []pairing.Gap) *Document {
	d := &Document{Title: "Check of " + source, Notes: sentences(notes)}
	bad := studbook.Errors(findings)
	warnings := FormatThings(len(findings)-bad, "warning", "warnings")
	switch {
	case bad > 0:
		d.Lead = fmt.Sprintf("The files have %s and %s. Nothing can be computed before the errors are mended.", FormatThings(bad, "error", "errors"), warnings)
	case len(findings) > 0:
		d.Lead = fmt.Sprintf("The files are sound, with %s.", warnings)
	default:
		d.Lead = "The files are sound: no errors, no warnings."
	}
	if p != nil {
		d.Facts = about(p)
	}
	if len(findings) > 0 {
		t := &Table{Columns: []Column{
			{Name: "Where", Key: true}, {Name: "Kind"}, {Name: "What is wrong", Wide: true}, {Name: "What to do", Wide: true},
		}}
		for _, f := range findings {
			where := f.File
			if f.Line > 0 {
				where = fmt.Sprintf("%s:%d", f.File, f.Line)
			}
			what := f.Message
			if f.Column != "" {
				what = f.Column + ": " + what
				if f.Value != "" {
					what = fmt.Sprintf("%s %q: %s", f.Column, f.Value, f.Message)
				}
			}
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: where}, {Text: f.Severity.String()}, {Text: what}, {Text: f.Help}}})
		}
		d.Sections = append(d.Sections, Section{Title: "Findings", Blocks: []Block{t}})
	}
	if p != nil {
		d.Sections = append(d.Sections, gapSection(p, gaps))
		d.Notes = sentences(p.Assumptions())
		for _, n := range notes { // the assumptions tell of these columns
			if !strings.Contains(n, "no location column") && !strings.Contains(n, "no origin column") {
				d.Notes = append(d.Notes, sentences([]string{n})...)
			}
		}
	}
	return d
}

func gapSection(p *pairing.Programme, gaps []pairing.Gap) Section {
	s := Section{Title: "Gaps in parentage"}
	if len(gaps) == 0 {
		s.Blocks = []Block{Paragraph("Every parent through whom genes of the living birds flow is known, or was a wild bird.")}
		return s
	}
	t := &Table{Columns: []Column{
		birdColumn, nameColumn, {Name: "Parent"}, {Name: "Gene pool", Unit: "share", Right: true},
		{Name: "Named in the studbook"}, {Name: "Who else could it be", Wide: true},
	}}
	for _, g := range gaps {
		bird := &p.Book.Birds[g.Bird]
		other := candidates(&g)[len(g.Named):]
		who := "nobody on record"
		switch {
		case !bird.Hatch.Known():
			who = "cannot be said without a hatch date"
		case len(other) > 0:
			who = FormatList(other, shownCandidates)
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: bird.ID}, {Text: bird.Name}, {Text: side(g.Sex)}, shareCell(g.Share), {Text: strings.Join(g.Named, ", ")}, {Text: who},
		}})
	}
	s.Blocks = []Block{
		Paragraph("Each unknown or uncertain parent with the share of the living birds' genes that flows through it, the largest first: a DNA test there clears up most. Who else could it be: birds of the right sex, alive, of breeding age and in the same place when the chick hatched."),
		t,
	}
	return s
}
