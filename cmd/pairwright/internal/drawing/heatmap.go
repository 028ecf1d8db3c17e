package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
)

// MapBird is a bird of a kinship map.
type MapBird struct {
	ID, Name string
	Link     string // anchor in the document; "" for none
}

// KinshipMap is the kinship of every two of a colony's birds.
type KinshipMap struct {
	Of      string      // the colony as a sentence begins with it: "The colony at Harrow Fell"
	Birds   []MapBird   // in the order in which they are drawn
	Kinship [][]float64 // by that order, symmetric; the diagonal is not read
	Pairs   [][2]int    // bonded pairs by their places in Birds
}

// The most birds that a map draws, and the most with room for numbers.
const (
	mostMapped   = 80
	mostNumbered = 40
)

// kinLevels are the greys of a map, each from a kinship on.
var kinLevels = []struct {
	from         float64
	words, grey  string
	ink          string
	each, plural string
}{
	{0, "unrelated, 0", svg.Paper, svg.Ink, "unrelated", "unrelated"},
	{math.SmallestNonzeroFloat64, "more distant", "#eceef0", svg.Ink, "pair below 0.0625", "pairs below 0.0625"},
	{1.0 / 16, "first cousins, 0.0625", "#cdd0d5", svg.Ink, "pair from 0.0625", "pairs from 0.0625"},
	{1.0 / 8, "half siblings, 0.125", "#969ba2", svg.Ink, "pair from 0.125", "pairs from 0.125"},
	{1.0 / 4, "full siblings, 0.25 or more", "#44484e", svg.Paper, "pair from 0.25", "pairs from 0.25"},
}

func kinLevel(f float64) int {
	level := 0
	for i, l := range kinLevels {
		if f >= l.from-1e-9 && (f > 0 || i == 0) {
			level = i
		}
	}
	return level
}

// KinshipMapFigure draws a square for every two birds, darker the nearer their
// kin; of up to 40 birds with the kinship in it. Bonded pairs have a frame. Of
// fewer than two birds and of more than 80, which nobody could read, there is
// no figure but a sentence that says so.
func KinshipMapFigure(m KinshipMap) (f *document.Figure, why string) {
	switch n := len(m.Birds); {
	case n < 2:
		return nil, "There is no kinship map: it takes two birds."
	case n > mostMapped:
		return nil, fmt.Sprintf("There is no kinship map: %s birds are too many to read in one; at most %d are drawn.", document.FormatCount(n), mostMapped)
	}
	caption := fmt.Sprintf("%s: kinship of every two of %d birds.", document.Clean(m.Of), len(m.Birds))
	key := "Each shade from the kinship named on. Crossed out: a bird with itself."
	if len(m.Pairs) > 0 {
		key = "Frame: bonded pair. " + key
	}
	if len(m.Birds) <= mostNumbered {
		key = "Numbers are kinships, 0 left blank. " + key
	}
	return &document.Figure{SVG: m.draw(), Alt: m.words(), Caption: caption, Key: key}, ""
}

func (b MapBird) label() string {
	if name := document.Clean(b.Name); name != "" {
		return name
	}
	return document.Clean(b.ID)
}

// kinMap is a map on its way to a drawing.
type kinMap struct {
	*KinshipMap
	*svg.Sheet
	names  []string // as they are written
	cell   float64  // side of a square
	left   float64  // of the squares, as far as their top is down
	legend []svg.Point
}

// Measures of a map in pixels.
const (
	mapName   = 104.0 // longer names are cut
	mapMargin = 6.0
	legendBox = 14.0
	legendRow = 22.0
)

func (m *KinshipMap) draw() string {
	k := &kinMap{KinshipMap: m, cell: 22}
	if len(m.Birds) > mostNumbered {
		k.cell = 14
	}
	room := 0.0
	for _, b := range m.Birds {
		name := note.Truncate(b.label(), mapName)
		k.names = append(k.names, name)
		room = max(room, note.Width(name))
	}
	k.left = mapMargin + room + 6
	side := float64(len(m.Birds)) * k.cell
	width := max(k.left+side+mapMargin, 420)
	foot := k.placeLegend(width, k.left+side+16)
	k.Sheet = svg.New(width, foot+legendBox+8)
	k.drawNames()
	k.drawSquares()
	k.drawGrid(side)
	k.drawPairs()
	k.drawLegend()
	return k.String()
}

// edge is where the row and the column of a bird begin.
func (k *kinMap) edge(i int) float64 { return k.left + float64(i)*k.cell }

func (k *kinMap) square(i, j int) svg.Box {
	return svg.Box{X0: k.edge(j), Y0: k.edge(i), X1: k.edge(j + 1), Y1: k.edge(i + 1)}
}

// placeLegend finds the places of the legend, which stands below in as many lines as it
// takes, and returns the top of the last.
func (k *kinMap) placeLegend(width, y float64) float64 {
	x := mapMargin
	for _, l := range kinLevels {
		w := legendBox + 6 + note.Width(l.words) + 16
		if x > mapMargin && x+w > width {
			x, y = mapMargin, y+legendRow
		}
		k.legend = append(k.legend, svg.Point{X: x, Y: y})
		x += w
	}
	return y
}

func (k *kinMap) drawNames() {
	for i, bird := range k.Birds {
		middle := k.edge(i) + k.cell/2
		k.Link(bird.Link, func() {
			k.Label(note.To(svg.End), svg.Point{X: k.left - 5, Y: middle + 4}, k.names[i], bird.ID)
		})
		k.Upright(note, svg.Point{X: middle + 4, Y: k.left - 5}, k.names[i])
	}
}

func (k *kinMap) drawSquares() {
	number := svg.Lettering{Size: 9}
	for i := range k.Birds {
		for j := range k.Birds {
			b := k.square(i, j)
			f := k.Kinship[i][j]
			switch {
			case i == j:
				k.Lines(svg.Stroke{Colour: svg.Light, Width: 1}, svg.Point{X: b.X0, Y: b.Y0}, svg.Point{X: b.X1, Y: b.Y1}, svg.Point{X: b.X1, Y: b.Y0}, svg.Point{X: b.X0, Y: b.Y1})
			case f > 0:
				level := kinLevels[kinLevel(f)]
				k.Group(k.Birds[i].label()+", "+k.Birds[j].label()+": "+document.FormatKinship(f), func() {
					k.Rect(level.grey, noLine, b)
					if text := strings.TrimPrefix(document.FormatNumber(f, 2), "0"); len(k.Birds) <= mostNumbered && text != ".00" {
						k.Text(number.In(level.ink).To(svg.Middle), svg.Point{X: (b.X0 + b.X1) / 2, Y: (b.Y0+b.Y1)/2 + 3}, text)
					}
				})
			}
		}
	}
}

// drawGrid draws the lines between the squares; every fifth is darker, to keep to a row.
func (k *kinMap) drawGrid(side float64) {
	var fine, strong []svg.Point
	for i := range len(k.Birds) + 1 {
		lines := []svg.Point{{X: k.left, Y: k.edge(i)}, {X: k.left + side, Y: k.edge(i)}, {X: k.edge(i), Y: k.left}, {X: k.edge(i), Y: k.left + side}}
		fine = append(fine, lines...)
		if i%5 == 0 || i == len(k.Birds) {
			strong = append(strong, lines...)
		}
	}
	k.Lines(svg.Stroke{Colour: svg.Light, Width: 0.5}, fine...)
	k.Lines(svg.Stroke{Colour: svg.Quiet, Width: 0.8}, strong...)
}

// drawPairs draws the frames of bonded pairs.
func (k *kinMap) drawPairs() {
	for _, p := range k.Pairs {
		for _, b := range [2]svg.Box{k.square(p[0], p[1]), k.square(p[1], p[0])} {
			k.Rect(svg.None, svg.Stroke{Colour: svg.Paper, Width: 4}, b)
			k.Rect(svg.None, svg.Stroke{Colour: svg.Ink, Width: 2.2}, b)
		}
	}
}

func (k *kinMap) drawLegend() {
	for i, l := range kinLevels {
		at := k.legend[i]
		k.Rect(l.grey, svg.Stroke{Colour: svg.Ink, Width: 0.8}, svg.Box{X0: at.X, Y0: at.Y, X1: at.X + legendBox, Y1: at.Y + legendBox})
		k.Text(note, svg.Point{X: at.X + legendBox + 6, Y: at.Y + 11}, l.words)
	}
}

func (m *KinshipMap) words() string {
	type two struct {
		i, j int
		f    float64
	}
	var all []two
	counts := make([]int, len(kinLevels))
	sum := 0.0
	for i := range m.Birds {
		for j := range i {
			f := m.Kinship[i][j]
			all = append(all, two{j, i, f})
			counts[kinLevel(f)]++
			sum += f
		}
	}
	slices.SortStableFunc(all, func(a, b two) int { return cmp.Compare(b.f, a.f) })
	say := func(i, j int) string {
		return fmt.Sprintf("%s and %s: %s", m.Birds[i].label(), m.Birds[j].label(), document.FormatKinship(m.Kinship[i][j]))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Two of the %d birds have a kinship of %s on average\n", len(m.Birds), document.FormatKinship(sum/float64(len(all))))
	var parts []string
	for k := len(kinLevels) - 1; k >= 0; k-- {
		if counts[k] > 0 {
			name := kinLevels[k].plural
			if counts[k] == 1 {
				name = kinLevels[k].each
			}
			parts = append(parts, document.FormatCount(counts[k])+" "+name)
		}
	}
	b.WriteString(document.FormatList(parts, 0) + "\n")
	for _, p := range m.Pairs {
		b.WriteString("Bonded: " + say(p[0], p[1]) + "\n")
	}
	for _, t := range all[:min(8, len(all))] {
		if t.f > 0 {
			b.WriteString("Nearest kin: " + say(t.i, t.j) + "\n")
		}
	}
	return b.String()
}
