package drawing

import (
	"encoding/xml"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

func TestAncestryGolden(t *testing.T) {
	golden.File(t, "ancestry.svg", func(w io.Writer) error {
		_, err := io.WriteString(w, sampleFigure().SVG+"\n")
		return err
	})
}

// shapes counts the elements of a drawing with an attribute that has a value;
// a key of "" counts all with the name.
func shapes(t *testing.T, svg, name, key, value string) int {
	t.Helper()
	n := 0
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return n
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == name {
			found := key == ""
			for _, a := range e.Attr {
				found = found || a.Name.Local == key && a.Value == value
			}
			if found {
				n++
			}
		}
	}
}

// TestAncestrySymbols counts the symbols of the sample by hand: figure 1 of
// Bennett et al. 2008 (from memory) has squares for males, circles for
// females, diamonds for unknown sex.
func TestAncestrySymbols(t *testing.T) {
	f := sampleFigure()
	// Whin is drawn twice with his parents once, Sorrel three times.
	assert.Equal(t, 9, shapes(t, f.SVG, "rect", "stroke", svg.Ink), "males")
	assert.Equal(t, 9, shapes(t, f.SVG, "circle", "", ""), "females")
	assert.Equal(t, 6, shapes(t, f.SVG, "rect", "stroke-dasharray", "3 2.5")+shapes(t, f.SVG, "circle", "stroke-dasharray", "3 2.5"), "not identified")
	assert.Equal(t, 2, strings.Count(f.SVG, ">a · Whin<"))
	assert.Equal(t, 3, strings.Count(f.SVG, ">b · Sorrel<"))
	assert.Contains(t, f.SVG, "Rook &lt;the &#34;loud&#34;&gt; &amp; sons")
	assert.Equal(t, 1, strings.Count(f.SVG, ">C0012 70%<"))
	assert.Contains(t, f.Alt, "Dam's dam's sire: Whin (C0004), male, dead, also sire's sire's sire\n")
	assert.Contains(t, f.Key, "double line")
}

func TestAncestryOfOneBird(t *testing.T) {
	f := AncestryFigure(&Ancestor{ID: "A1", Sex: studbook.Female})
	assert.Equal(t, 1, shapes(t, f.SVG, "circle", "", ""))
	assert.Equal(t, "Ancestors of A1", f.Caption)
	assert.Equal(t, "A1, female\n", f.Alt)
	assert.Equal(t, "Square: male; circle: female.", f.Key)
}

// TestAncestryEndsAtGenerations has a bird whose sire is the bird itself, as a
// faulty caller could have it.
func TestAncestryEndsAtGenerations(t *testing.T) {
	loop := &Ancestor{ID: "A1", Sex: studbook.Male}
	loop.Sire = loop
	f := AncestryFigure(loop)
	assert.Contains(t, f.Alt, "Sire: A1, male, the bird itself")

	line := &Ancestor{ID: "0", Sex: studbook.Male}
	for i := range 10 {
		line = &Ancestor{ID: strconv.Itoa(i + 1), Sex: studbook.Male, Sire: line}
	}
	assert.Equal(t, 1+Generations, shapes(t, AncestryFigure(line).SVG, "rect", "stroke", svg.Ink))
}

// randomAncestry draws a tree with gaps, long and strange names, and birds
// that stand in several places.
func randomAncestry(rng *rand.Rand) *Ancestor {
	names := append([]string{"Ash", "Bryony", "Whin of the Long Ledge at Northgate Hide", "WWWWWWWWWWWWWWWWWWWW", "日本語の名前はとても長いことがあります"}, golden.Hostile...)
	var known []*Ancestor
	var grow func(generation int, sex studbook.Sex) *Ancestor
	grow = func(generation int, sex studbook.Sex) *Ancestor {
		switch k := rng.IntN(12); {
		case generation > 0 && k == 0:
			return nil
		case generation > 0 && k < 3:
			return &Ancestor{Sex: sex, Standing: Unidentified}
		case generation > 0 && k == 3:
			a := &Ancestor{Sex: sex, Standing: Uncertain}
			for i := range rng.IntN(8) {
				a.Candidates = append(a.Candidates, ParentCandidate{fmt.Sprintf("C%04d", i), 0.1})
			}
			return a
		case generation > 0 && k == 4 && len(known) > 0:
			if a := known[rng.IntN(len(known))]; a.Sex == sex {
				return a
			}
		}
		a := &Ancestor{ID: fmt.Sprintf("C%04d", rng.IntN(10000)), Name: names[rng.IntN(len(names))], Sex: sex, Dead: rng.IntN(2) == 0, Inbreeding: float64(rng.IntN(2)) * rng.Float64()}
		if generation < Generations {
			a.Sire, a.Dam = grow(generation+1, studbook.Male), grow(generation+1, studbook.Female)
		}
		known = append(known, a)
		return a
	}
	return grow(0, studbook.Unsexed)
}

// TestAncestryLayout checks in random trees that texts, as wide as they are
// estimated, and symbols keep apart and within the drawing, and that it goes
// into a page.
func TestAncestryLayout(t *testing.T) {
	type box struct {
		what           string
		x1, y1, x2, y2 float64
	}
	for seed := range uint64(300) {
		bird := randomAncestry(rand.New(rand.NewPCG(seed, 1)))
		tree := newAncestry(bird)
		var boxes []box
		for _, n := range tree.nodes {
			x := tree.column[n.generation].x
			boxes = append(boxes, box{"symbol of " + n.who(), x, n.y - symbolSize/2, x + symbolSize, n.y + symbolSize/2})
			y := n.y - float64(len(n.texts))*lineHeight/2
			for _, l := range n.texts {
				w := l.width()
				require.LessOrEqual(t, w, labelMost, "seed %d: %q", seed, l.text)
				boxes = append(boxes, box{l.text, x + symbolSize + symbolGap, y, x + symbolSize + symbolGap + w, y + lineHeight})
				y += lineHeight
			}
			if n.sire != nil && n.dam != nil {
				require.Less(t, n.sire.y, n.dam.y, "seed %d: the sire stands above", seed)
			}
		}
		const slack = 1e-6
		for i, a := range boxes {
			require.True(t, a.x1 >= 0 && a.y1 >= 0 && a.x2 <= tree.width && a.y2 <= tree.height, "seed %d: %q is cut off", seed, a.what)
			for _, b := range boxes[:i] {
				require.False(t, a.x1 < b.x2-slack && b.x1 < a.x2-slack && a.y1 < b.y2-slack && b.y1 < a.y2-slack, "seed %d: %q is over %q", seed, a.what, b.what)
			}
		}
		require.NoError(t, document.WriteHTML(io.Discard, &document.Document{Sections: []document.Section{{Blocks: []document.Block{AncestryFigure(bird)}}}}), "seed %d", seed)
	}
}

func TestLetter(t *testing.T) {
	assert.Equal(t, "a", letter(0))
	assert.Equal(t, "z", letter(25))
	assert.Equal(t, "aa", letter(26))
	assert.Equal(t, "ba", letter(52))
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

func sampleFigure() *document.Figure { return AncestryFigure(sampleAncestor()) }
