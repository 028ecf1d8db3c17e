package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// shownCandidates is how many possible parents a document names.
const shownCandidates = 6

// FindingsAnchor is where a check lists the findings.
const FindingsAnchor = "findings"

// CheckDocument says whether the files are sound and which gaps in parentage
// cost most. p is nil where errors stopped the computation; path is that of the studbook.
func CheckDocument(source, path string, findings []studbook.Finding, notes []string, p *pairing.Programme, gaps []pairing.Gap) *document.Document {
	d := &document.Document{Title: "Check of " + source, Notes: sentences(notes)}
	bad := studbook.Errors(findings)
	warnings := document.FormatThings(len(findings)-bad, "warning", "warnings")
	switch {
	case bad > 0:
		d.Lead = fmt.Sprintf("The files have %s and %s. Nothing can be computed before the errors are mended.", document.FormatThings(bad, "error", "errors"), warnings)
	case len(findings) > 0:
		d.Lead = fmt.Sprintf("The files are sound, with %s.", warnings)
	default:
		d.Lead = "The files are sound: no errors, no warnings."
	}
	if p != nil {
		d.About = about(p)
		if taken := takenWildText(p); taken != "" {
			d.Lead += " " + taken
		}
	}
	if len(findings) > 0 {
		found := document.Section{Title: "Findings", Anchor: FindingsAnchor, Blocks: []document.Block{findingTable(findings)}}
		if slices.ContainsFunc(findings, func(f studbook.Finding) bool { return f.Code == studbook.CodeDateOrder }) {
			found.Blocks = append(found.Blocks, document.Paragraph(fmt.Sprintf("What reads the dates of all files at once and writes them to a new folder NEW: pairwright import %s --into NEW. Where no date shows whether the day or the month comes first, it asks for --dates.", quotedArgument(path))))
		}
		d.Sections = append(d.Sections, found)
	}
	if p != nil {
		d.Sections = append(d.Sections, gapSection(p, gaps))
		d.Notes = sentences(Assumptions(p))
		if text := NoSeasonText(p); text != "" {
			d.Notes = append(sentences([]string{text}), d.Notes...)
		}
		for _, n := range notes { // the assumptions tell of these columns
			if !strings.Contains(n, "no location column") && !strings.Contains(n, "no origin column") {
				d.Notes = append(d.Notes, sentences([]string{n})...)
			}
		}
	}
	return d
}

// findingTable lists findings.
func findingTable(findings []studbook.Finding) *document.Table {
	t := &document.Table{Columns: []document.Column{
		{Name: "Where", Key: true}, {Name: "Kind"}, {Name: "What is wrong", Wide: true}, {Name: "What to do", Wide: true},
	}}
	for _, f := range findings {
		where := cmp.Or(f.File, "as told") // of what is to be written down
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
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: where}, {Text: f.Severity.String()}, {Text: what}, {Text: f.Help}}})
	}
	return t
}

// ChicksFindings warn where the clutches on record speak against chicks_per_season, on which
// all chicks to be expected rest.
func ChicksFindings(p *pairing.Programme) []studbook.Finding {
	s, set := p.SeasonsOnRecord(), p.Settings().ChicksPerSeason
	if !s.Speaks(set) {
		return nil
	}
	e, _ := s.Chicks()
	return []studbook.Finding{{
		Severity: studbook.Warning, File: "programme.toml", Column: "chicks_per_season", Value: AsInFiles(set), Code: "chicks_against_record",
		Message: fmt.Sprintf("on record a pair hatches %s ± %s chicks in a season in which its eggs would be left to it: it laid in %s of %s, and hatched %s in a season when its eggs were left",
			document.FormatNumber(e.Value, 2), document.FormatNumber(e.StandardError, 2), document.FormatCount(s.Laid), document.FormatThings(s.Seasons, "season", "seasons"), document.FormatNumber(float64(s.Hatched)/float64(s.Left), 2)),
		Help: fmt.Sprintf("set it to %s; if clutches that were replaced or failed are not all on record, write those down", document.FormatNumber(e.Value, 2)),
	}}
}

// UntoldFindings warn of clutches that should have hatched long ago and of which nothing says
// what became of them.
func UntoldFindings(p *pairing.Programme) (found []studbook.Finding) {
	for _, c := range p.Untold() {
		found = append(found, studbook.Finding{
			Severity: studbook.Warning, File: "clutches.csv", Line: c.Line, Column: "hatched", Code: "clutch_untold",
			Message: fmt.Sprintf("the eggs that %s laid on %s should have hatched long ago, and nothing says what became of them", c.Female, c.Laid.Text),
			Help:    "write down how many chicks hatched: 0 if none did, replaced if the eggs were replaced or taken",
		})
	}
	return found
}

// KinBondFinding is a pair of close kin as a finding, in the line that tells of
// the pair.
func KinBondFinding(p *pairing.Programme, x *pairing.KinBond) studbook.Finding {
	female, male := p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID
	f := studbook.Finding{
		Severity: studbook.Warning, File: "bonds.csv", Column: "male", Value: male, Code: "bond_of_kin",
		Message: fmt.Sprintf("it is paired with %s, though it is %s: a chick would have F %s, and from %s on no pair is formed",
			female, kinOf(x.Kin, female), document.FormatKinship(x.F), document.FormatKinship(p.Settings().LimitInbreeding)),
		Help: "replace their eggs by dummies, and part them when the season allows; if a parent on record is wrong, correct it in the studbook",
	}
	if x.ByDNA != nil {
		f.Message = fmt.Sprintf("it is paired with %s, though %s", female, byDNA(x.ByDNA))
		f.Help = "look whether samples were mixed up; if not, write down what DNA has found, replace their eggs by dummies, and part them when the season allows"
	}
	switch {
	case x.Bond != nil:
		f.Line = x.Bond.Line
	case x.Clutch != nil:
		f.File, f.Line = "clutches.csv", x.Clutch.Line
	}
	return f
}

// takenWildText says how many birds without a parent are taken to be wild because nothing
// says where they come from, "" if none is.
func takenWildText(p *pairing.Programme) string {
	n := len(p.TakenWild())
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%s no parent on record, and %s taken to be wild, because the studbook has no origin column.", document.FormatThings(n, "bird has", "birds have"), plural(n, "is", "are"))
}

func gapSection(p *pairing.Programme, gaps []pairing.Gap) document.Section {
	s := document.Section{Title: "Gaps in parentage"}
	if len(gaps) == 0 {
		s.Blocks = []document.Block{document.Paragraph("Every parent through whom genes of the living birds flow is known, or was a wild bird.")}
		if taken := takenWildText(p); taken != "" {
			s.Blocks = []document.Block{document.Paragraph("No parent counts as a gap: " + taken + " Write captive as the origin of those that are not, and their parents are gaps here.")}
		}
		return s
	}
	t := &document.Table{Columns: []document.Column{
		birdColumn, nameColumn, {Name: "Parent"}, {Name: "Gene pool", Unit: "share", Right: true},
		{Name: "Named in the studbook"}, {Name: "Who else could it be", Wide: true},
	}}
	for _, g := range gaps {
		bird := &p.Book.Birds[g.Bird]
		other, more := p.Others(&g, shownCandidates+1)
		who := "nobody on record"
		parent, found := g.DNA.Found()
		switch {
		case found:
			who = p.Book.Birds[parent].ID + " by DNA: write it down"
		case !bird.Hatch.Known():
			who = "cannot be said without a hatch date"
		case len(other) > 0:
			who = document.FormatList(other, 0)
			if more > 0 {
				who = fmt.Sprintf("%s and %s more", strings.Join(other[:shownCandidates], ", "), document.FormatCount(more+1))
			}
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: bird.ID}, {Text: bird.Name}, {Text: ParentWord(g.Sex)}, shareCell(g.Share), {Text: strings.Join(g.Named, ", ")}, {Text: who},
		}})
	}
	tested := ""
	if slices.ContainsFunc(gaps, func(g pairing.Gap) bool { _, found := g.DNA.Found(); return found }) {
		tested = " Where genotypes have found the parent, it stands there; parents ID says how sure that is."
	}
	s.Blocks = []document.Block{
		document.Paragraph("Each unknown or uncertain parent with the share of the living birds' genes that flows through it, the largest first: a DNA test there clears up most. Who else could it be: birds of the right sex, alive, of breeding age and in the same place when the chick hatched." + tested),
		t,
	}
	return s
}

// ParentWord names a parent by its sex: sire or dam.
func ParentWord(sex studbook.Sex) string {
	if sex == studbook.Female {
		return "dam"
	}
	return "sire"
}
