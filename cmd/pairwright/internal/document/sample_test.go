package document

import (
	"os"
	"path/filepath"
	"strings"

	"pairwright/cmd/pairwright/internal/golden"
)

func formatGain(x float64) string { return FormatChange(x, 5) }

func wordsCell(s string) Cell { return Cell{Text: s} }

func figureCell(x float64, format func(float64) string) Cell { return Cell{Text: format(x), Value: x} }

// sample is a document with everything in it that a document can have.
func sample() *Document {
	mate := func(rank int, id, name, sex, where, verdict string, f, gain, km float64, years, off float64, why string) Row {
		return Row{Anchor: "bird " + id, Cells: []Cell{
			{Text: FormatCount(rank), Value: rank}, {Text: id, Link: "bird " + id}, wordsCell(name), wordsCell(sex), wordsCell(where),
			wordsCell(verdict), figureCell(f, FormatKinship), figureCell(gain, formatGain), figureCell(km, FormatKm),
			{Text: FormatAge(years, off, true), Value: years}, wordsCell(why),
		}}
	}
	mates := &Table{
		Caption: "Mates for Tamsin, best first",
		Columns: []Column{
			{Name: "Rank", Right: true}, {Name: "Id", Key: true}, {Name: "Name"}, {Name: "Sex"}, {Name: "Place"}, {Name: "Verdict"},
			{Name: "F of the chicks", Right: true}, {Name: "Expected gain", Unit: "of gene diversity", Right: true},
			{Name: "Distance", Unit: "km", Right: true}, {Name: "Age", Unit: "years", Right: true},
			{Name: "Why", Wide: true},
		},
		Rows: []Row{
			mate(1, "C0871", "Orrin", "M", "HAR", "recommended", 0, 0.001234, 0, 7.4, 0, "At home, free, and less related to the living than most: his chicks with her would carry genes that few others have."),
			mate(2, "C0902", "Dunnock the Elder of Northgate", "M", "LIS", "acceptable", 1.0/32, 0.000512, 412.3, 5, 0.5, "Would have to move 412 km."),
			mate(3, "C0455", "柳 Yanagi", "M", "QUM", "not advised", 0.00003, -0.000071, 1204, 19, 5, "Old; the hatch date is known only by its decade."),
		},
		More: "12 more birds are not shown; --top 15 shows them.",
	}
	out := &Table{
		Caption: "Ruled out",
		Columns: []Column{{Name: "Id"}, {Name: "Reason", Wide: true}},
		Rows: []Row{
			{Anchor: "bird C0777", Cells: []Cell{wordsCell("C0777"), wordsCell("A brother: the chicks would have F 0.2500, above the limit of 0.1250.")}},
			{Anchor: "bird C0912", Cells: []Cell{wordsCell("C0912"), wordsCell("On hold until 2026-09-01: treated for aspergillosis.")}},
		},
	}
	return &Document{
		Title: "Mates for Tamsin (C0888)",
		Lead:  "Orrin (C0871) at home is the best of 15 possible mates. One chick of the pair is expected to add 0.00123 to the programme's gene diversity, compared with a chick of the average pair.",
		Facts: Facts{
			{"Studbook", "studbook.csv, 1,104 birds"},
			{"As of", "12 May 2026"},
			{"Population", "the programme: 402 living birds at 9 institutions"},
			{"Gene diversity", "0.9732 (97.3%)"},
		},
		Sections: []Section{
			{Title: "Ranked mates", Anchor: "mates", Blocks: []Block{
				Paragraph("The figures compare each pair with the average pair that could breed in the programme this season. A gain above zero is good for the programme; − stands before a loss."),
				mates,
			}},
			{Title: "Ruled out", Anchor: "ruled-out", Blocks: []Block{out}},
			{Title: "Ancestry", Anchor: "ancestry", Blocks: []Block{sampleFigure()}},
			{Title: "What to do", Blocks: []Block{List{
				"Put Orrin and Tamsin into neighbouring nests before the laying months, and watch whether they call to each other.",
				"If they have not bonded by the end of the season, ask LIS for C0902.",
			}}},
			{Title: "Nobody waits", Blocks: []Block{&Table{Columns: []Column{{Name: "Id"}, {Name: "Kin", Unit: "f", Right: true}}}}},
		},
		Notes: []string{
			"Breeding ages are not set in programme.toml: 3 to 25 years are used.",
			"One unknown parent counts as an unrelated founder of its own, so mean kinship is rather too low.",
		},
		Footer: "This is advice. The programme's coordinator, the veterinarians and the law of the place decide.",
	}
}

// hostileDocument has each text in every place that takes one.
func hostileDocument() *Document {
	d := &Document{Title: golden.Hostile[0], Lead: golden.Hostile[1], Footer: golden.Hostile[2], Notes: golden.Hostile}
	table := &Table{Caption: golden.Hostile[3], More: golden.Hostile[3], Columns: []Column{{Name: golden.Hostile[0], Unit: golden.Hostile[1]}, {Name: golden.Hostile[6], Wide: true}}}
	var s Section
	for _, h := range golden.Hostile {
		d.Facts = append(d.Facts, Fact{h, h})
		table.Rows = append(table.Rows, Row{Anchor: h, Cells: []Cell{{Text: h, Link: h}, {Text: h, Value: h}, wordsCell("more cells than columns")}})
		s.Blocks = append(s.Blocks, Paragraph(h))
		d.Sections = append(d.Sections, Section{Title: h, Anchor: h, Blocks: []Block{Paragraph(h)}})
	}
	table.Rows = append(table.Rows, Row{})
	s.Blocks = append(s.Blocks, List(golden.Hostile), table)
	d.Sections = append(d.Sections, s)
	return d
}

// sampleFigure is a drawing of ancestry as the package drawing makes them.
func sampleFigure() *Figure {
	svg, err := os.ReadFile(filepath.Join("testdata", "figure.svg"))
	if err != nil {
		panic(err)
	}
	return &Figure{
		SVG: strings.TrimSpace(string(svg)),
		Alt: "Tamsin (C0888), sex unknown, F 0.1406\n" +
			"Sire: Rook <the \"loud\"> & sons (C0301), male, dead\n" +
			"Dam: 柳 Yanagi (C0333), female\n" +
			"Sire's sire: Ash (C0123), male, dead\n" +
			"Sire's dam: C0166, female, dead, F <0.0001\n" +
			"Dam's sire: Hob (C0140), male\n" +
			"Dam's dam: Bryony of the Long Ledge at Northgate Hide (C0130), female, dead, F 0.2500\n" +
			"Sire's sire's sire: Whin (C0004), male, dead\n" +
			"Sire's sire's dam: Sorrel (C0007), female, dead\n" +
			"Sire's dam's sire: uncertain, one of C0012 70% and C0031 30%\n" +
			"Sire's dam's dam: Madder (C0044), female, dead\n" +
			"Dam's sire's sire: uncertain, one of C0012 40%, C0031 30% and C0099 30%\n" +
			"Dam's sire's dam: Sorrel (C0007), female, dead, also sire's sire's dam\n" +
			"Dam's dam's sire: Whin (C0004), male, dead, also sire's sire's sire\n" +
			"Dam's dam's dam: Sorrel (C0007), female, dead, also sire's sire's dam\n" +
			"Sire's sire's sire's sire: a bird in the wild\n" +
			"Sire's sire's sire's dam: a bird in the wild\n" +
			"Sire's sire's dam's sire: unknown\n" +
			"Sire's sire's dam's dam: unknown",
		Caption: "Ancestors of Tamsin (C0888)",
		Key:     "Square: male; circle: female; diamond: sex unknown; struck through: dead; dashed: not identified; double line: the parents are kin. The same letter marks the same bird; its ancestors are drawn once.",
	}
}
