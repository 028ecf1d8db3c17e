package report

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	nearly "pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares what write writes with a file of testdata: JSON as numbers,
// all else byte by byte. On a difference it leaves what it got beside the file.
func golden(t *testing.T, name string, write func(io.Writer) error) {
	t.Helper()
	var got bytes.Buffer
	require.NoError(t, write(&got))
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(file, got.Bytes(), 0o644))
		return
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	if filepath.Ext(name) == ".json" && nearly.Nearly(string(want), got.String()) == nil {
		return
	}
	if !bytes.Equal(want, got.Bytes()) {
		require.NoError(t, os.WriteFile(file+".got", got.Bytes(), 0o644))
		assert.Equal(t, string(want), got.String())
	}
}

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

// hostile are texts that people and programs have put into studbooks.
var hostile = []string{
	`<script>alert("x")</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	"</style></svg></title>",
	"javascript:alert(1)",
	"{{.Title}} ${x} %s",
	"a|b\\|c`d`*e*_f_[g](http://h)~~i~~",
	"# 1. - + = > not a heading",
	"1. not a list",
	"--- ",
	"=1+1",
	"tab\there, line\nbreak\r\nand\vmore\u2028",
	"\x1b[31mred\x1b[0m\a\x00",
	"\u202eright to left\u202c אבג עברית العربية",
	"bad \xff\xfe bytes",
	"한국어 日本語 ﬀ 👩‍👩‍👧‍👦 é",
	"Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogochllanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch",
	"&amp; &lt; &#x3c;",
	"   ",
	"",
}

// hostileDocument has each text in every place that takes one.
func hostileDocument() *Document {
	d := &Document{Title: hostile[0], Lead: hostile[1], Footer: hostile[2], Notes: hostile}
	table := &Table{Caption: hostile[3], More: hostile[3], Columns: []Column{{Name: hostile[0], Unit: hostile[1]}, {Name: hostile[6], Wide: true}}}
	var s Section
	for _, h := range hostile {
		d.Facts = append(d.Facts, Fact{h, h})
		table.Rows = append(table.Rows, Row{Anchor: h, Cells: []Cell{{Text: h, Link: h}, {Text: h, Value: h}, wordsCell("more cells than columns")}})
		s.Blocks = append(s.Blocks, Paragraph(h))
		d.Sections = append(d.Sections, Section{Title: h, Anchor: h, Blocks: []Block{Paragraph(h)}})
	}
	table.Rows = append(table.Rows, Row{})
	s.Blocks = append(s.Blocks, List(hostile), table)
	d.Sections = append(d.Sections, s)
	return d
}

// sampleAncestor has four generations in which a pair of cousins bred, and
// each kind of ancestor.
func sampleAncestor() *Ancestor {
	bird := func(id, name string, sex studbook.Sex, dead bool, sire, dam *Ancestor) *Ancestor {
		return &Ancestor{ID: id, Name: name, Sex: sex, Dead: dead, Sire: sire, Dam: dam, Link: "bird " + id}
	}
	wild := func(sex studbook.Sex) *Ancestor { return &Ancestor{Sex: sex, Standing: WildParent} }
	const m, f, u = studbook.Male, studbook.Female, studbook.Unsexed
	whin := bird("C0004", "Whin", m, true, wild(m), wild(f))
	sorrel := bird("C0007", "Sorrel", f, true, &Ancestor{Sex: m, Standing: Unidentified}, &Ancestor{Sex: f, Standing: Unidentified})
	ash := bird("C0123", "Ash", m, true, whin, sorrel)
	bryony := bird("C0130", "Bryony of the Long Ledge at Northgate Hide", f, true, whin, sorrel)
	rook := bird("C0301", "Rook <the \"loud\"> & sons", m, true, ash, bird("C0166", "", f, true,
		&Ancestor{Sex: m, Standing: Uncertain, Candidates: []ParentCandidate{{"C0012", 0.7}, {"C0031", 0.3}}}, bird("C0044", "Madder", f, true, nil, nil)))
	maud := bird("C0333", "柳 Yanagi", f, false, bird("C0140", "Hob", m, false,
		&Ancestor{Sex: m, Standing: Uncertain, Candidates: []ParentCandidate{{"C0012", 0.4}, {"C0031", 0.3}, {"C0099", 0.3}}}, sorrel), bryony)
	rook.Dam.Inbreeding = 0.00001
	maud.Dam.Inbreeding = 0.25
	tamsin := bird("C0888", "Tamsin", u, false, rook, maud)
	tamsin.Inbreeding = 9.0 / 64
	return tamsin
}

func sampleFigure() *Figure { return AncestryFigure(sampleAncestor()) }
