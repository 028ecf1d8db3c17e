package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// MateID returns the other bird of a bond.
func MateID(b studbook.Bond, id string) string {
	if b.Female == id {
		return b.Male
	}
	return b.Female
}

// during reports whether the date falls within the bond, as far as the files
// tell: a pair may have parted and come together again.
func during(b studbook.Bond, on studbook.Date) bool {
	return (!b.Since.Known() || b.Since.First <= on.Last) && (!b.Until.Known() || on.First <= b.Until.Last)
}

// ancestry returns a bird and its ancestors as they are drawn.
func ancestryOf(p *pairing.Programme, bird *studbook.Bird, generations int) *drawing.Ancestor {
	node, _ := p.Pedigree.Index(bird.ID)
	out := &drawing.Ancestor{ID: bird.ID, Name: bird.Name, Sex: bird.Sex, Dead: bird.Death.Known(), Inbreeding: p.Pedigree.F(node), Link: anchor(bird.ID)}
	if generations > 0 {
		out.Sire = parentOf(p, bird.Sire, studbook.Male, generations-1)
		out.Dam = parentOf(p, bird.Dam, studbook.Female, generations-1)
	}
	return out
}

func parentOf(p *pairing.Programme, is studbook.Parentage, sex studbook.Sex, generations int) *drawing.Ancestor {
	if id, ok := is.Known(); ok {
		return ancestryOf(p, p.Book.Bird(id), generations)
	}
	out := &drawing.Ancestor{Sex: sex, Standing: drawing.Unidentified}
	switch {
	case is.Wild:
		out.Standing = drawing.WildParent
	case is.Uncertain():
		out.Standing = drawing.Uncertain
		for _, c := range is.Candidates {
			out.Candidates = append(out.Candidates, drawing.ParentCandidate{ID: c.ID, Chance: c.Weight})
		}
	}
	return out
}

// BirdDocument shows one bird.
func BirdDocument(p *pairing.Programme, x *pairing.Profile) *document.Document {
	bird := &p.Book.Birds[x.Bird]
	d := &document.Document{Title: p.Name(x.Bird), About: about(p), Footer: Advice, Notes: sentences(Assumptions(p))}
	d.Lead = lifeText(p, x) + "."
	if x.Best != nil {
		d.Lead += " " + Capital(DecisionText(p, x.Best)) + "."
	}
	d.Sections = append(d.Sections, bestMates(p, x),
		document.Section{Title: "Ancestors", Blocks: []document.Block{drawing.AncestryFigure(ancestryOf(p, bird, drawing.Generations))}},
		document.Section{Title: "In figures", Blocks: []document.Block{figuresOf(p, x)}})
	if len(x.InbredThrough) > 0 {
		t := &document.Table{Columns: []document.Column{{Name: "Common ancestor of its parents", Key: true}, nameColumn, {Name: "Part of F", Right: true}, {Name: "Share", Right: true}}}
		for _, m := range x.InbredThrough {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: p.Pedigree.Name(m.Ancestor)}, {Text: nodeName(p, m.Ancestor)},
				kinshipCell(m.Contribution), shareCell(m.Contribution / x.Inbreeding)}})
		}
		if x.InbredThroughOthers > 0 {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: farther}, {},
				kinshipCell(x.InbredThroughOthers), shareCell(x.InbredThroughOthers / x.Inbreeding)}})
		}
		d.Sections = append(d.Sections, document.Section{Title: "Inbred through", Blocks: []document.Block{t}})
	}
	kin := &document.Table{Columns: []document.Column{birdColumn, nameColumn, sexColumn, atColumn, {Name: "Kinship", Right: true}, {Name: "How close", Wide: true}}}
	for _, k := range x.Closest {
		r := &p.Book.Birds[k.Bird]
		kin.Rows = append(kin.Rows, document.Row{Cells: []document.Cell{{Text: r.ID}, {Text: r.Name}, {Text: r.Sex.String()}, word(r.Location), kinshipCell(k.Kinship), {Text: KinWords(p.KinInWordsOf(x.Bird, k.Bird, k.Kinship))}}})
	}
	closest := document.Section{Title: "Closest living kin", Blocks: []document.Block{kin}}
	if len(kin.Rows) == 0 {
		closest.Blocks = []document.Block{document.Paragraph("No living bird is kin of it on record.")}
	}
	d.Sections = append(append(d.Sections, closest), familySections(p, x)...)
	if x.Best != nil {
		d.Notes = append(sentences(RankingNotes(p, x.Best)), "All mates with their reasons: pairwright mates "+bird.ID+".")
	}
	return d
}

// bestMates has the first mates of a bird, and why the first is that.
func bestMates(p *pairing.Programme, x *pairing.Profile) document.Section {
	s := document.Section{Title: "Best mates"}
	if x.Best == nil {
		s.Blocks = []document.Block{document.Paragraph(Capital(NoMateText(x.NoMate)) + ".")}
		return s
	}
	shown := x.Best.Candidates[:min(BestMatesShown, len(x.Best.Candidates))]
	if len(shown) == 0 {
		s.Blocks = []document.Block{document.Paragraph("No bird may be its mate.")}
		return s
	}
	first := whyFirst(p, x.Best, &shown[0])
	s.Blocks = append([]document.Block{candidateTable(p, x.Best, shown), document.Paragraph(first.Title + ":")}, first.Blocks...)
	return s
}

func lifeText(p *pairing.Programme, x *pairing.Profile) string {
	bird := &p.Book.Birds[x.Bird]
	parts := []string{Capital(bird.Sex.Word())}
	if bird.Hatch.Known() {
		parts = append(parts, "hatched "+document.FormatDateInText(bird.Hatch))
	} else {
		parts = append(parts, "hatch date unknown")
	}
	switch {
	case !bird.Recorded:
		parts = append(parts, "named as a parent but without a row of its own in the studbook")
	case !p.Book.Alive(x.Bird):
		parts = append(parts, endText(p, x.Bird, document.FormatDateInText))
	default:
		if x.AgeKnown {
			parts = append(parts, document.FormatAge(x.Age, x.AgePlusMinus, true)+" years old")
		}
		living := "living"
		if p.Book.Colony.HasLocation {
			living += " at " + p.Place(bird.Location)
		}
		parts = append(parts, living)
	}
	return strings.Join(parts, ", ")
}

func figuresOf(p *pairing.Programme, x *pairing.Profile) document.Facts {
	bird := &p.Book.Birds[x.Bird]
	f := document.Facts{{Name: "State", Value: stateWords(p.State(x.Bird))}, {Name: "Inbreeding coefficient F", Value: document.FormatKinship(x.Inbreeding)}}
	if x.Alive {
		f = append(f,
			document.Fact{Name: "Mean kinship with the programme", Value: document.FormatMeanKinship(x.MeanKinship) + ", " + rankText(p, x.Bird) + " (1 has the fewest relatives)"},
			document.Fact{Name: "Genome uniqueness", Value: document.FormatPlusMinus(x.Uniqueness.Value, x.Uniqueness.StandardError, 3)})
	}
	f = append(f,
		document.Fact{Name: "Ancestral inbreeding", Value: document.FormatKinship(x.AncestralInbreeding) + ", the chance that a gene of it was in an inbred ancestor"},
		document.Fact{Name: "Known ancestry", Value: document.FormatPercent(x.KnownAncestry)},
		document.Fact{Name: "Depth of pedigree", Value: fmt.Sprintf("%s equivalent complete generations; completeness over %d generations %s", document.FormatNumber(x.Generations, 2), pedigree.DefaultDepth, document.FormatProbability(x.Completeness))},
		document.Fact{Name: "Living descendants", Value: document.FormatCount(x.Descendants)},
		document.Fact{Name: "Sire", Value: parentText(p, bird.Sire)},
		document.Fact{Name: "Dam", Value: parentText(p, bird.Dam)})
	if p.Typed(x.Bird) > 0 && bird.Origin != studbook.OriginWild {
		dna := p.Parentage(x.Bird)
		f = append(f, document.Fact{Name: "Parents by DNA", Value: "sire " + parentInShort(p, &dna.Sire) + "; dam " + parentInShort(p, &dna.Dam)})
	}
	for _, named := range []document.Fact{{Name: "Band", Value: bird.Band}, {Name: "Origin", Value: originText(bird.Origin)}, {Name: "Notes", Value: bird.Notes}} {
		if named.Value != "" {
			f = append(f, named)
		}
	}
	for _, h := range x.Holds {
		f = append(f, document.Fact{Name: "On hold", Value: h.Reason})
	}
	return f
}

// originText is where a bird comes from in the notation of studbook.csv.
func originText(o studbook.Origin) string {
	switch o {
	case studbook.OriginWild:
		return "wild"
	case studbook.OriginCaptive:
		return "captive"
	}
	return ""
}

func parentText(p *pairing.Programme, is studbook.Parentage) string {
	switch {
	case is.Wild:
		return "a wild bird"
	case is.Unknown():
		return "unknown"
	case is.Uncertain():
		return "uncertain: " + candidatesText(p, is)
	}
	return candidatesText(p, is)
}

// candidatesText names the birds that a parent may be, with their weights.
func candidatesText(p *pairing.Programme, is studbook.Parentage) string {
	var parts []string
	rest := 1.0
	if id, certain := is.Known(); certain {
		b, _ := p.Book.Index(id)
		return p.Name(b)
	}
	for _, c := range is.Candidates {
		b, _ := p.Book.Index(c.ID)
		parts = append(parts, p.Name(b)+" ("+document.FormatPercent(c.Weight)+")")
		rest -= c.Weight
	}
	if rest > 1e-9 {
		parts = append(parts, "an unknown bird ("+document.FormatPercent(rest)+")")
	}
	return strings.Join(parts, " or ")
}

func familySections(p *pairing.Programme, x *pairing.Profile) []document.Section {
	bird := &p.Book.Birds[x.Bird]
	bonds := &document.Table{Columns: []document.Column{{Name: "Mate", Key: true}, nameColumn, {Name: "Since"}, {Name: "Until"}, {Name: "Ended by"}, {Name: "Nest"}, {Name: "Clutches", Right: true}, {Name: "Eggs", Right: true}, {Name: "Hatched", Right: true}, {Name: "Fledged", Right: true}}}
	for _, b := range x.Bonds {
		mate := p.Book.Bird(MateID(b, bird.ID))
		row := document.Row{Cells: []document.Cell{{Text: mate.ID}, {Text: mate.Name}, word(document.FormatDate(b.Since)), {Text: document.FormatDate(b.Until)}, {Text: b.EndedBy}, {Text: b.Nest}}}
		if !b.Until.Known() {
			row.Cells[3].Text = "now"
		}
		var record pairing.Broods
		for k := range x.Clutches {
			if c := &x.Clutches[k]; c.Female == b.Female && c.Male == b.Male && during(b, c.Laid) {
				record.Add(c, p.Book.AsOf)
			}
		}
		row.Cells = append(row.Cells, countCell(record.Clutches), countedCell(record.Eggs), countedCell(record.Hatched), countedCell(record.Fledged))
		bonds.Rows = append(bonds.Rows, row)
	}
	chicks := &document.Table{Columns: []document.Column{{Name: "Chick", Key: true}, nameColumn, sexColumn, {Name: "Hatched"}, {Name: "Other parent"}, {Name: "Now"}}}
	for _, c := range x.Chicks {
		chick := &p.Book.Birds[c]
		parent := chick.Dam
		if bird.Sex == studbook.Female {
			parent = chick.Sire
		}
		now := endText(p, c, document.FormatDate)
		if now == "" {
			now = "at " + orUnknown(chick.Location)
		}
		chicks.Rows = append(chicks.Rows, document.Row{Cells: []document.Cell{{Text: chick.ID}, {Text: chick.Name}, {Text: chick.Sex.String()},
			word(document.FormatDate(chick.Hatch)), {Text: parentText(p, parent)}, {Text: now}}})
	}
	var s []document.Section
	if len(bonds.Rows) > 0 {
		s = append(s, document.Section{Title: "Mates", Blocks: []document.Block{bonds}})
	}
	if len(chicks.Rows) > 0 {
		s = append(s, document.Section{Title: "Chicks", Blocks: []document.Block{chicks}})
	}
	return append(append(s, clutchSection(p, x)...), moveSection(p, x)...)
}

// clutchSection lists the clutches of a bird, if it has any.
func clutchSection(p *pairing.Programme, x *pairing.Profile) []document.Section {
	if len(x.Clutches) == 0 {
		return nil
	}
	id := p.Book.Birds[x.Bird].ID
	t := &document.Table{Columns: []document.Column{{Name: "First egg", Key: true}, {Name: "With"}, nameColumn, {Name: "Eggs", Right: true}, {Name: "Fertile", Right: true}, {Name: "Hatched", Right: true}, {Name: "Fledged", Right: true}}}
	for _, c := range x.Clutches {
		mate := c.Female
		if mate == id {
			mate = c.Male
		}
		row := document.Row{Cells: []document.Cell{word(document.FormatDate(c.Laid)), {Text: mate}, {}}}
		if bird := p.Book.Bird(mate); bird != nil {
			row.Cells[2].Text = bird.Name
		}
		for k, n := range []int{c.Eggs, c.Fertile, c.Hatched, c.Fledged} {
			cell := document.Cell{Text: document.Unknown}
			switch {
			case n >= 0:
				cell = countCell(n)
			case k == 2 && c.Replaced:
				cell.Text = studbook.EggsReplaced
			}
			row.Cells = append(row.Cells, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return []document.Section{{Title: "Clutches", Blocks: []document.Block{t}}}
}

// moveSection lists the moves of a bird, if it was ever moved.
func moveSection(p *pairing.Programme, x *pairing.Profile) []document.Section {
	if len(x.Moves) == 0 {
		return nil
	}
	place := func(code string) string {
		if code == "" {
			return "outside the programme"
		}
		return p.Place(code)
	}
	t := &document.Table{Columns: []document.Column{{Name: "Moved", Key: true}, {Name: "From"}, {Name: "To"}, {Name: "Why", Wide: true}}}
	for _, m := range x.Moves {
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{word(document.FormatDate(m.Date)), {Text: place(m.From)}, {Text: place(m.To)}, {Text: m.Reason}}})
	}
	return []document.Section{{Title: "Moves", Blocks: []document.Block{t}}}
}

// BestMatesShown is how many mates a profile names.
const BestMatesShown = 3
