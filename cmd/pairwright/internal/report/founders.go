package report

import (
	"fmt"
	"strconv"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// shownFounders is how many pairs of founders a document lists, shownSteps how many things
// to do.
const (
	shownFounders = 50
	shownSteps    = 20
)

// FounderKinDocument says by DNA which founders are kin.
func FounderKinDocument(p *pairing.Programme, x *pairing.FounderKin, found []pairing.FoundShare) *document.Document {
	d := &document.Document{Title: "Kin among the founders, by DNA", About: about(p), Footer: Advice, Notes: sentences(Assumptions(p))}
	switch {
	case x.Typed == 0:
		d.Lead = "No founder has a genotype" + noGenotypes(p) + ", so nothing can be said of their kinship."
		return d
	case x.Pairs == 0:
		d.Lead = fmt.Sprintf("%s typed, and no two at the same markers, so nothing can be said of their kinship.", Capital(document.FormatThings(x.Typed, "founder was", "founders were")))
		return d
	}
	count := map[pairing.FounderAnswer]int{}
	for _, pair := range x.Told {
		count[pair.Answer]++
	}
	d.Lead = fmt.Sprintf("%s typed, which makes %s. ", Capital(document.FormatThings(x.Typed, "founder was", "founders were")), document.FormatThings(x.Pairs, "pair", "pairs"))
	switch unrecorded, wrong := count[pairing.FoundersFound], count[pairing.FoundersContradicted]; {
	case unrecorded+wrong == 0:
		d.Lead += "The kinship of none need be written down or corrected."
	case wrong == 0:
		d.Lead += Capital(document.FormatThings(unrecorded, "of them is kin that is", "of them are kin that are")) + " not on record."
	default:
		d.Lead += fmt.Sprintf("%s kin that is not on record; of %s what is on record is wrong.", Capital(document.FormatThings(unrecorded, "of them is", "of them are")), document.FormatCount(wrong))
	}
	if steps := FounderSteps(p, x); len(steps) > 0 {
		if more := len(steps) - shownSteps; more > 0 {
			steps = append(steps[:shownSteps], fmt.Sprintf("And %s more; json has all.", document.FormatCount(more)))
		}
		d.Sections = append(d.Sections, document.Section{Title: "What to do", Blocks: []document.Block{document.List(steps)}})
	}
	if len(x.Told) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Founders that may be kin", Blocks: []document.Block{founderTable(p, x)}})
	}
	d.Sections = append(d.Sections, document.Section{Title: "What these markers can show", Blocks: []document.Block{foundTable(found)}})
	d.Notes = append(founderNotes(p), d.Notes...)
	return d
}

// founderNotes say how the kinship of founders is judged.
func founderNotes(p *pairing.Programme) []string {
	return []string{
		"A founder is a bird without a parent in the studbook. Founders are taken to be unrelated unless founder_kinship.csv says otherwise, and all kinships of their descendants rest on that.",
		fmt.Sprintf("The chance after the test follows by Bayes' rule from the chance before it and from how likely the two genotypes are in such kin (Thompson 1975), if one in %s findings at a marker is wrong (genotypes.error_rate) and neither bird is inbred. From 95%% on they are taken to be kin.",
			document.FormatNumber(1/p.Settings().GenotypeErrors, 0)),
		"Before the test two founders are kin with 5%, or less where so many were typed that each would have more than one kin among them, and each relation as often; what is on record has 99% instead, and two of whom nothing is on record are full siblings with 50% if they hatched like siblings at one place (common practice, no source).",
		"Half siblings cannot be told from other kin of the second degree, as an uncle and his niece. The likeliest kinship is what fits the genotypes best, nothing being thought before (Milligan 2003): with few markers it lies well above 0 for many birds that are no kin.",
		"How common an allele is comes from all birds that were typed: where those are mostly of one family, its alleles look common, and kin in it are found less often.",
	}
}

// FounderSteps are what ought to be done after the founders were compared, most urgent
// first.
func FounderSteps(p *pairing.Programme, x *pairing.FounderKin) []string {
	steps, open := []string{}, 0
	for _, pair := range x.Told {
		a, b := p.Book.Birds[pair.A].ID, p.Book.Birds[pair.B].ID
		near := pair.Likeliest()
		write := fmt.Sprintf("record kinship %s %s %s", a, b, AsInFiles(near.Kinship))
		switch {
		case pair.Answer == pairing.FoundersOpen:
			open++
		case pair.Answer == pairing.FoundersByParent:
			steps = append(steps, fmt.Sprintf("%s and %s are %s, which follows once a parent that was found is written down: see parents.", a, b, near.Relation))
		case pair.Answer == pairing.FoundersContradicted:
			steps = append(steps, fmt.Sprintf("founder_kinship.csv has %s for %s and %s, and by DNA they are %s. Look where that figure is from, and whether samples were mixed up; if they were not, correct it (%s).",
				AsInFiles(*pair.Recorded), a, b, near.Relation, write))
		case pair.Answer != pairing.FoundersFound:
		case near.Relation == pairing.FoundersSame:
			steps = append(steps, fmt.Sprintf("The genotypes of %s and %s are those of one bird: look whether it stands in the studbook twice, or was sampled twice.", a, b))
		case near.Relation == pairing.FoundersParent:
			steps = append(steps, fmt.Sprintf("%s and %s are parent and chick: if it is known which is the parent, write that down (record parent); otherwise their kinship, %s (%s).", a, b, AsInFiles(near.Kinship), write))
		default:
			steps = append(steps, fmt.Sprintf("Write down the kinship of %s and %s, who are %s: %s (%s).", a, b, near.Relation, AsInFiles(near.Kinship), write))
		}
	}
	if open > 0 {
		steps = append(steps, fmt.Sprintf("Of %s these markers do not tell whether they are kin: ask the laboratory for more.", document.FormatThings(open, "pair", "pairs")))
	}
	return steps
}

// AsInFiles writes a number as it stands in the files.
func AsInFiles(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// founderTable lists founders that may be kin, and those on record.
func founderTable(p *pairing.Programme, x *pairing.FounderKin) *document.Table {
	t := &document.Table{Columns: []document.Column{
		birdColumn, {Name: "And"}, {Name: "Markers compared", Right: true}, {Name: "Kinship on record", Right: true}, deciding(document.Column{Name: "Most likely"}),
		{Name: "Chance of that", Right: true}, {Name: "Chance of any kin", Right: true}, {Name: "Likeliest kinship", Right: true},
	}}
	for k, pair := range x.Told {
		if k == shownFounders {
			t.More = fmt.Sprintf("and %s more pairs; csv and json have all", document.FormatCount(len(x.Told)-k))
			break
		}
		recorded := document.Cell{Text: document.Unknown}
		if pair.Recorded != nil {
			recorded = document.Cell{Text: document.FormatKinship(*pair.Recorded)}
		}
		likeliest := pair.Likeliest()
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: p.Book.Birds[pair.A].ID}, {Text: p.Book.Birds[pair.B].ID}, countCell(pair.Compared), recorded, {Text: string(likeliest.Relation)},
			shareCell(likeliest.Chance.After), shareCell(pair.KinChance()), {Text: document.FormatKinship(pair.Kinship)},
		}})
	}
	return t
}

// foundTable says of how many kin these markers would show that they are.
func foundTable(found []pairing.FoundShare) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "Two founders that are"}, {Name: "Would be found to be kin", Right: true}}}
	for _, f := range found {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: string(f.Relation)}, shareCell(f.Share)}})
	}
	return t
}

// FounderFinding is two founders that are kin by DNA, though nothing is on record, or that
// are not what is on record, as a finding.
func FounderFinding(p *pairing.Programme, x *pairing.FounderPair) studbook.Finding {
	a, b := &p.Book.Birds[x.A], &p.Book.Birds[x.B]
	f := studbook.Finding{
		Severity: studbook.Warning, File: p.Book.Colony.Source, Line: b.Line, Column: "id", Value: b.ID, Code: "founders_against_dna",
		Message: fmt.Sprintf("by DNA it and %s are %s, and the studbook has no parents of either", a.ID, x.Likeliest().Relation),
		Help:    "parents --founder-kin says how sure that is and what to write down",
	}
	if x.Answer == pairing.FoundersContradicted {
		f.File, f.Line, f.Column, f.Value = "founder_kinship.csv", 0, "kinship", AsInFiles(*x.Recorded)
		f.Message = fmt.Sprintf("by DNA %s and %s are %s", a.ID, b.ID, x.Likeliest().Relation)
	}
	return f
}
