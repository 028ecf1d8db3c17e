package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
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
	{0, "unrelated, 0", "#ffffff", inkColour, "unrelated", "unrelated"},
	{math.SmallestNonzeroFloat64, "more distant", "#eceef0", inkColour, "pair below 0.0625", "pairs below 0.0625"},
	{1.0 / 16, "first cousins, 0.0625", "#cdd0d5", inkColour, "pair from 0.0625", "pairs from 0.0625"},
	{1.0 / 8, "half siblings, 0.125", "#969ba2", inkColour, "pair from 0.125", "pairs from 0.125"},
	{1.0 / 4, "full siblings, 0.25 or more", "#44484e", "#fff", "pair from 0.25", "pairs from 0.25"},
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

func (m *KinshipMap) draw() string {
	const nameFont, numberFont, most, margin = 11.0, 9.0, 104.0, 6.0
	cell := 22.0
	if len(m.Birds) > mostNumbered {
		cell = 14
	}
	names := make([]string, len(m.Birds))
	room := 0.0
	for i, b := range m.Birds {
		names[i] = short(b.label(), most, nameFont)
		room = max(room, textWidth(names[i], nameFont, false))
	}
	left := margin + room + 6
	side := float64(len(m.Birds)) * cell

	// The legend stands below, in as many lines as it takes.
	type entry struct{ x, y float64 }
	var legend []entry
	const box = 14.0
	width := max(left+side+margin, 420)
	x, y := margin, left+side+16
	for _, l := range kinLevels {
		w := box + 6 + textWidth(l.words, nameFont, false) + 16
		if x > margin && x+w > width {
			x, y = margin, y+22
		}
		legend = append(legend, entry{x, y})
		x += w
	}
	height := y + box + 8

	var b strings.Builder
	b.WriteString(svgStart(width, height, "system-ui, sans-serif") + "\n")
	b.WriteString(`<rect width="100%" height="100%" fill="#fff"/>` + "\n")
	for i, bird := range m.Birds {
		middle := left + (float64(i)+0.5)*cell
		if bird.Link != "" {
			fmt.Fprintf(&b, `<a href="#%s">`, document.AnchorID(bird.Link))
		}
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="end" fill="%s"><title>%s</title>%s</text>`, px(left-5), px(middle+4), px(nameFont), inkColour, document.EscapeXML(document.Clean(bird.ID)), document.EscapeXML(names[i]))
		if bird.Link != "" {
			b.WriteString("</a>")
		}
		fmt.Fprintf(&b, `<text transform="translate(%s %s) rotate(-90)" x="0" y="0" font-size="%s" fill="%s">%s</text>`+"\n", px(middle+4), px(left-5), px(nameFont), inkColour, document.EscapeXML(names[i]))
	}
	for i := range m.Birds {
		for j := range m.Birds {
			x, y := left+float64(j)*cell, left+float64(i)*cell
			if i == j {
				fmt.Fprintf(&b, `<path d="M%s %sl%s %[3]sm0 -%[3]sl-%[3]s %[3]s" stroke="#b9bcc1" fill="none"/>`+"\n", px(x), px(y), px(cell))
				continue
			}
			f := m.Kinship[i][j]
			level := kinLevels[kinLevel(f)]
			if f > 0 {
				fmt.Fprintf(&b, `<rect x="%s" y="%s" width="%s" height="%[3]s" fill="%s"><title>%s, %s: %s</title></rect>`, px(x), px(y), px(cell), level.grey,
					document.EscapeXML(m.Birds[i].label()), document.EscapeXML(m.Birds[j].label()), document.FormatKinship(f))
			}
			if s := strings.TrimPrefix(document.FormatNumber(f, 2), "0"); len(m.Birds) <= mostNumbered && f > 0 && s != ".00" {
				fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="middle" fill="%s">%s</text>`, px(x+cell/2), px(y+cell/2+3), px(numberFont), level.ink, s)
			}
			if f > 0 {
				b.WriteByte('\n')
			}
		}
	}
	b.WriteString(`<path fill="none" stroke="#b9bcc1" stroke-width="0.5" d="`)
	for i := range len(m.Birds) + 1 {
		at := left + float64(i)*cell
		fmt.Fprintf(&b, "M%s %sH%sM%[2]s %[1]sV%[3]s", px(left), px(at), px(left+side))
	}
	b.WriteString(`"/>` + "\n")
	// Every fifth line is darker, to keep to a row.
	fmt.Fprintf(&b, `<path fill="none" stroke="%s" stroke-width="0.8" d="`, quietColour)
	for i := 0; i <= len(m.Birds); i++ {
		if i%5 == 0 || i == len(m.Birds) {
			at := left + float64(i)*cell
			fmt.Fprintf(&b, "M%s %sH%sM%[2]s %[1]sV%[3]s", px(left), px(at), px(left+side))
		}
	}
	b.WriteString(`"/>` + "\n")
	for _, p := range m.Pairs {
		for _, q := range [2][2]int{{p[0], p[1]}, {p[1], p[0]}} {
			fmt.Fprintf(&b, `<rect class="pair" x="%s" y="%s" width="%s" height="%[3]s" fill="none" stroke="#fff" stroke-width="4"/>`, px(left+float64(q[1])*cell), px(left+float64(q[0])*cell), px(cell))
			fmt.Fprintf(&b, `<rect x="%s" y="%s" width="%s" height="%[3]s" fill="none" stroke="%s" stroke-width="2.2"/>`+"\n", px(left+float64(q[1])*cell), px(left+float64(q[0])*cell), px(cell), inkColour)
		}
	}
	for i, l := range kinLevels {
		e := legend[i]
		fmt.Fprintf(&b, `<rect x="%s" y="%s" width="%s" height="%[3]s" fill="%s" stroke="%s" stroke-width="0.8"/><text x="%s" y="%s" font-size="%s" fill="%[5]s">%[9]s</text>`+"\n",
			px(e.x), px(e.y), px(box), l.grey, inkColour, px(e.x+box+6), px(e.y+11), px(nameFont), l.words)
	}
	b.WriteString("</svg>")
	return b.String()
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
