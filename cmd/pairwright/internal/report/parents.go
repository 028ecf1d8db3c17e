package report

import (
	"cmp"
	"fmt"
	"slices"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// shownParents is how many candidates a document lists that are as good as out.
const shownParents = 5

// ParentsDocument says by DNA who the parents of one bird are.
func ParentsDocument(p *pairing.Programme, x *pairing.Parentage) *document.Document {
	d := &document.Document{Title: "Parents of " + p.Name(x.Bird) + " by DNA", About: about(p), Footer: Advice}
	if x.Typed == 0 {
		d.Lead = "Nothing can be said: " + p.Name(x.Bird) + " has no genotype" + noGenotypes(p) + "."
	} else {
		d.Lead = Capital(parentInWords(p, &x.Sire)) + ". " + Capital(parentInWords(p, &x.Dam)) + "."
		d.About = append(d.About, document.Fact{Name: "Markers", Value: fmt.Sprintf(
			"%s; they show a bird taken at random not to be a parent with a chance of %s where the other parent is known, %s where it is not",
			document.FormatCount(x.Typed), document.FormatPercent(x.ExcludesKnown), document.FormatPercent(x.ExcludesUnknown))})
	}
	if steps := ParentSteps(p, x); len(steps) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "What to do", Blocks: []document.Block{document.List(steps)}})
	}
	for _, s := range x.Sides() {
		if len(s.Candidates) > 0 || s.Untyped > 0 {
			d.Sections = append(d.Sections, document.Section{Title: "Who could be the " + ParentWord(s.Sex), Blocks: []document.Block{parentTable(p, s)}})
		}
	}
	d.Notes = sentences(Assumptions(p))
	if x.Typed > 0 {
		d.Notes = append(parentNotes(p), d.Notes...)
	}
	return d
}

// noGenotypes says that the colony has none at all, "" if it has some.
func noGenotypes(p *pairing.Programme) string {
	if len(p.Book.Colony.Genotypes) > 0 {
		return ""
	}
	return ", as there is no genotypes.csv with any"
}

// parentNotes say how parents are judged.
func parentNotes(p *pairing.Programme) []string {
	return []string{
		fmt.Sprintf("The chance after the test follows by Bayes' rule from the chance before it and from how likely the genotypes are with each pair of parents (Kalinowski, Taper & Marshall 2007), if one in %s findings at a marker is wrong (genotypes.error_rate).",
			document.FormatNumber(1/p.Settings().GenotypeErrors, 0)),
		"Before the test a parent that the studbook names for certain has 99%, one of several its weight, and the rest is shared evenly among all others of the right sex, alive, of breeding age and at the same place when the chick hatched, and somebody else (common practice, no source).",
		"From 95% on a bird is taken to be the parent (Marshall et al. 1998). Close kin of the parent, its full siblings above all, can come near it; birds that were not typed cannot be told from somebody else.",
		"A marker does not fit if the bird could not have given the chick either of its genes there. One that does not fit may be an error of the laboratory or a mutation; several are not. A sample that was mixed up looks just like a wrong parent.",
	}
}

// parentInWords says who a parent is by DNA, in one sentence without full stop.
func parentInWords(p *pairing.Programme, s *pairing.ParentSide) string {
	word, recorded := ParentWord(s.Sex), recordedParent(p, s)
	switch s.Answer {
	case pairing.ParentWild:
		return "the " + word + " was a wild bird"
	case pairing.ParentNotTested:
		if _, certain := s.Recorded.Known(); certain {
			return fmt.Sprintf("the %s in the studbook, %s, was not typed", word, recorded)
		}
		return "nobody who could be the " + word + " was typed"
	case pairing.ParentAgrees:
		return fmt.Sprintf("the %s is %s, as the studbook has it: chance %s", word, bestParent(p, s), document.FormatChance(s.Candidates[0].Chance.After))
	case pairing.ParentFound:
		return fmt.Sprintf("the %s is %s: chance %s; the studbook has %s", word, bestParent(p, s), document.FormatChance(s.Candidates[0].Chance.After), recorded)
	case pairing.ParentContradicted:
		who := "it is none of the birds that were typed"
		switch _, sure := s.Sure(); {
		case sure:
			who = "it is " + bestParent(p, s) + ": chance " + document.FormatChance(s.Candidates[0].Chance.After)
		case s.Best() != nil:
			who = "the likeliest is " + bestParent(p, s) + ": chance " + document.FormatChance(s.Candidates[0].Chance.After)
		}
		return fmt.Sprintf("the %s in the studbook, %s, cannot be it; %s", word, recorded, who)
	}
	likely := "somebody who was not typed is the likeliest"
	if s.Best() != nil {
		likely = "the likeliest is " + bestParent(p, s) + ", chance " + document.FormatChance(s.Candidates[0].Chance.After)
	}
	return fmt.Sprintf("who the %s is stays open: %s; the studbook has %s", word, likely, recorded)
}

func bestParent(p *pairing.Programme, s *pairing.ParentSide) string {
	return p.Name(s.Candidates[0].Bird)
}

// recordedParent is what the studbook has for a parent, in words.
func recordedParent(p *pairing.Programme, s *pairing.ParentSide) string {
	if s.Recorded.Unknown() {
		return "nobody"
	}
	return candidatesText(p, s.Recorded)
}

// ParentSteps are what a keeper ought to do after the test of a bird, most urgent first.
func ParentSteps(p *pairing.Programme, x *pairing.Parentage) []string {
	steps := []string{}
	id := p.Book.Birds[x.Bird].ID
	for _, s := range x.Sides() {
		word := ParentWord(s.Sex)
		b, sure := s.Sure()
		write := "write down that it is unknown"
		if sure {
			write = "write down " + p.Name(b)
		}
		switch {
		case s.Answer == pairing.ParentContradicted:
			steps = append(steps, fmt.Sprintf("Look whether the samples or the bands of %s and of the %s on record, %s, were mixed up, and ask the laboratory. If they were not, %s (record parent).", id, word, recordedParent(p, s), write))
		case s.Answer == pairing.ParentFound:
			steps = append(steps, "The "+word+" is found: "+write+" (record parent).")
		case s.Answer == pairing.ParentOpen && s.Untyped > 0 && s.UntypedChance.After+s.Else.After > 0.5:
			steps = append(steps, fmt.Sprintf("Have %s typed that could be the %s.", document.FormatThings(s.Untyped, "more bird", "more birds"), word))
		case s.Answer == pairing.ParentOpen:
			steps = append(steps, "Ask the laboratory for more markers: these do not tell the birds apart that could be the "+word+".")
		}
	}
	return steps
}

// parentTable lists who could be a parent: whoever is likely or named, and some others.
func parentTable(p *pairing.Programme, s *pairing.ParentSide) *document.Table {
	t := &document.Table{Columns: []document.Column{
		birdColumn, nameColumn, {Name: "In the studbook"}, {Name: "Markers compared", Right: true}, {Name: "Do not fit", Right: true},
		{Name: "Chance before", Right: true}, deciding(document.Column{Name: "Chance after", Right: true}),
	}}
	out := 0
	for _, c := range s.Candidates {
		if !c.Named && c.Chance.After < 0.01 {
			if out++; out > shownParents {
				continue
			}
		}
		bird := &p.Book.Birds[c.Bird]
		fits, named := document.Cell{Text: document.Unknown}, "no"
		if c.Compared > 0 {
			fits = countCell(c.Mismatches)
		}
		if c.Named {
			named = "yes"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: bird.ID}, {Text: bird.Name}, {Text: named}, countCell(c.Compared), fits, shareCell(c.Chance.Before), shareCell(c.Chance.After),
		}})
	}
	if out > shownParents {
		t.More = fmt.Sprintf("and %s more with a chance below 1%%; csv and json have all", document.FormatCount(out-shownParents))
	}
	group := func(who string, c pairing.Chance) {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: who}, {}, {}, {}, {}, shareCell(c.Before), shareCell(c.After)}})
	}
	if s.Untyped > 0 {
		group(document.FormatThings(s.Untyped, "bird that was not typed", "birds that were not typed"), s.UntypedChance)
	}
	group("somebody else", s.Else)
	return t
}

// AllParentsDocument says of every bird that was typed whether its parents are right.
func AllParentsDocument(p *pairing.Programme, all []*pairing.Parentage) *document.Document {
	d := &document.Document{Title: "Parents by DNA", About: about(p), Footer: Advice, Notes: sentences(Assumptions(p))}
	if len(all) == 0 {
		d.Lead = "No bird has a genotype" + noGenotypes(p) + ", so nothing can be said of parents by DNA. check lists the parents that a test would best clear up."
		return d
	}
	d.Notes = append(parentNotes(p), d.Notes...)
	all = slices.Clone(all)
	unsettled := func(x *pairing.Parentage) int {
		n := 0
		for _, s := range x.Sides() {
			if s.Unsettled() {
				n++
			}
		}
		return n
	}
	slices.SortStableFunc(all, func(a, b *pairing.Parentage) int { return cmp.Compare(unsettled(b), unsettled(a)) })
	t := &document.Table{Columns: []document.Column{
		birdColumn, nameColumn, {Name: "Markers", Right: true}, deciding(document.Column{Name: "Sire by DNA", Wide: true}), deciding(document.Column{Name: "Dam by DNA", Wide: true}),
	}}
	changes := 0
	for _, x := range all {
		changes += min(1, unsettled(x))
		bird := &p.Book.Birds[x.Bird]
		t.Rows = append(t.Rows, document.Row{Anchor: anchor(bird.ID), Cells: []document.Cell{
			{Text: bird.ID}, {Text: bird.Name}, countCell(x.Typed), {Text: parentInShort(p, &x.Sire)}, {Text: parentInShort(p, &x.Dam)},
		}})
	}
	d.Lead = fmt.Sprintf("%s with parents to tell %s typed. ", Capital(document.FormatThings(len(all), "bird", "birds")), map[bool]string{true: "was", false: "were"}[len(all) == 1])
	if changes == 0 {
		d.Lead += "The studbook need not be changed."
	} else {
		d.Lead += fmt.Sprintf("Of %s the studbook ought to say something else.", document.FormatThings(changes, "bird", "birds"))
	}
	d.Sections = []document.Section{{Title: "The birds that were typed", Blocks: []document.Block{t,
		document.Paragraph("parents ID has all who could be the parents of one bird, and what to do; parents --founder-kin says which birds without a parent in the studbook are kin.")}}}
	return d
}

// parentInShort says what DNA says of a parent, for a cell of a table.
func parentInShort(p *pairing.Programme, s *pairing.ParentSide) string {
	best := ""
	if c := s.Best(); c != nil {
		best = p.Book.Birds[c.Bird].ID + " " + document.FormatChance(c.Chance.After)
	}
	recorded := recordedParent(p, s)
	switch s.Answer {
	case pairing.ParentAgrees:
		return "agrees: " + best
	case pairing.ParentFound:
		return "found: " + best + "; studbook: " + recorded
	case pairing.ParentContradicted:
		return "not " + recorded + "; " + cmp.Or(best, "nobody who was typed")
	case pairing.ParentOpen:
		return "open: " + cmp.Or(best, "nobody who was typed") + "; studbook: " + recorded
	case pairing.ParentWild:
		return "a wild bird"
	}
	return "not tested"
}

// ParentFinding is a parent on record whom DNA contradicts, as a finding.
func ParentFinding(p *pairing.Programme, b int, s *pairing.ParentSide) studbook.Finding {
	bird := &p.Book.Birds[b]
	return studbook.Finding{
		Severity: studbook.Warning, File: p.Book.Colony.Source, Line: bird.Line, Column: ParentWord(s.Sex), Value: s.Recorded.String(), Code: "parent_against_dna",
		Message: "the genotypes of " + bird.ID + " and of the birds named here say that none of them is the parent",
		Help:    "look whether samples or bands were mixed up; parents " + bird.ID + " says who it could be",
	}
}
