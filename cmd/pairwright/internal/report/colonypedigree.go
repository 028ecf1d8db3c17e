package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// PedigreeBird is a bird of a colony's pedigree, or one that may link birds of
// the colony.
type PedigreeBird struct {
	ID, Name   string
	Sex        studbook.Sex
	Dead       bool
	Home       bool    // living in the colony
	Inbreeding float64 // F; above 0 the parents are kin
	Link       string  // anchor in the document; "" for none
	Sire, Dam  string  // ids; "" for a parent that is not known for certain
}

// PedigreePair is a bonded pair of the colony by its ids.
type PedigreePair struct {
	A, B string
	Kin  bool // the two are kin
}

// ColonyPedigree is what the pedigree of a colony is drawn from. Birds may hold
// the whole studbook: only what links birds of the colony is drawn.
type ColonyPedigree struct {
	Of    string // the colony as a sentence begins with it: "The colony at Harrow Fell"
	Birds []PedigreeBird
	Pairs []PedigreePair
}

// Limits of a pedigree. A part of the drawing is as wide and high as a sheet of
// A4 shows legibly.
const (
	mostDrawn      = 150 // birds, with as many generations of ancestors as that allows
	mostAncestors  = 2   // generations
	partWidth      = 900.0
	partHeight     = 950.0
	kinFont        = 11.0
	kinLine        = 12.5
	kinLabelMost   = 80.0
	kinRadius      = 9.0
	kinSlotSpace   = 10.0 // between the labels of neighbours
	kinTrackSpace  = 7.0
	kinFamilySpace = 22.0
)

// ColonyPedigreeFigures draws the living birds of a colony with their bonded
// mates and those parents and grandparents, dead or living elsewhere, that link them: a generation in a row, in the symbols of Bennett et
// al. 2008 (J Genet Couns 17:424–433). As many generations are drawn as do not
// take more than 150 birds. A family wider than a sheet of paper is parted
// where one of its birds joins two families, and then a letter marks that bird
// in both places; families stand side by side, and what does not fit one figure
// goes into the next. Without a bird there is no figure but a sentence that
// says so; nor is there one of more than 150 living birds, which nobody could
// follow.
func ColonyPedigreeFigures(in ColonyPedigree) (figures []*Figure, why string) {
	living := 0
	for _, b := range in.Birds {
		if b.Home {
			living++
		}
	}
	if living > mostDrawn {
		return nil, fmt.Sprintf("There is no pedigree of the colony: %s birds are too many to follow in one; at most %d are drawn.", FormatCount(living), mostDrawn)
	}
	k := newKindred(in)
	if len(k.shown) == 0 {
		return nil, "There is no pedigree of the colony: no living birds."
	}
	families := k.families()
	parts := pack(families)
	home := 0
	for _, i := range k.shown {
		if k.birds[i].Home {
			home++
		}
	}
	caption := clean(in.Of) + ": pedigree of " + FormatThings(home, "living bird", "living birds")
	if others := len(k.shown) - home; others > 0 {
		caption += " with " + FormatThings(others, "other that links them", "others that link them")
	}
	for n, p := range parts {
		f := &Figure{SVG: k.draw(p), Alt: p.words(k), Caption: caption, Key: p.key(k)}
		if len(parts) > 1 {
			f.Caption += fmt.Sprintf(" (part %d of %d)", n+1, len(parts))
		}
		f.Caption += "."
		figures = append(figures, f)
	}
	return figures, ""
}

// kindred is the birds of a drawing with who is whose parent.
type kindred struct {
	birds   []PedigreeBird // by id
	index   map[string]int
	sire    []int // place in birds, -1 where it is not known
	dam     []int
	shown   []int // the birds that are drawn, ascending
	drawn   []bool
	couples []couple
	depth   int // generations of ancestors

	marks    map[int]string // letter of a bird that stands in several places
	captions map[int]caption
}

// couple is a pair with chicks or a bond, or the one known parent of chicks.
type couple struct {
	sire, dam int // -1 for a parent that is not drawn
	chicks    []int
	kin       bool
	bonded    bool
}

func newKindred(in ColonyPedigree) *kindred {
	k := &kindred{birds: slices.Clone(in.Birds), index: make(map[string]int)}
	slices.SortStableFunc(k.birds, func(a, b PedigreeBird) int { return strings.Compare(a.ID, b.ID) })
	k.birds = slices.CompactFunc(k.birds, func(a, b PedigreeBird) bool { return a.ID == b.ID })
	for i, b := range k.birds {
		k.index[b.ID] = i
	}
	at := func(id string) int {
		if i, ok := k.index[id]; ok && id != "" {
			return i
		}
		return -1
	}
	for i, b := range k.birds {
		s, d := at(b.Sire), at(b.Dam)
		if s == i {
			s = -1
		}
		if d == i || d == s {
			d = -1
		}
		k.sire, k.dam = append(k.sire, s), append(k.dam, d)
	}
	for depth := 1; depth <= mostAncestors; depth++ {
		shown, couples := k.choose(depth, in.Pairs)
		if depth > 1 && len(shown) > mostDrawn {
			break
		}
		k.shown, k.couples, k.depth = shown, couples, depth
	}
	k.drawn = make([]bool, len(k.birds))
	for _, i := range k.shown {
		k.drawn[i] = true
	}
	return k
}

// choose returns the birds at home, and of their ancestors and bonded mates
// those that link them, with the couples among them.
func (k *kindred) choose(depth int, pairs []PedigreePair) (shown []int, couples []couple) {
	in := make([]bool, len(k.birds))
	var wave []int
	for i, b := range k.birds {
		if b.Home {
			in[i] = true
			wave = append(wave, i)
		}
	}
	for range depth {
		var next []int
		for _, i := range wave {
			for _, p := range [2]int{k.sire[i], k.dam[i]} {
				if p >= 0 && !in[p] {
					in[p] = true
					next = append(next, p)
				}
			}
		}
		wave = next
	}
	for {
		couples = k.couplesAmong(in, pairs)
		if !k.prune(in, couples) {
			break
		}
	}
	for i := range k.birds {
		if in[i] {
			shown = append(shown, i)
		}
	}
	return shown, couples
}

func (k *kindred) couplesAmong(in []bool, pairs []PedigreePair) []couple {
	at := make(map[[2]int]int)
	var out []couple
	get := func(s, d int) *couple {
		key := [2]int{s, d}
		if _, ok := at[key]; !ok {
			at[key] = len(out)
			out = append(out, couple{sire: s, dam: d})
		}
		return &out[at[key]]
	}
	for i := range k.birds {
		s, d := k.sire[i], k.dam[i]
		if s >= 0 && !in[s] {
			s = -1
		}
		if d >= 0 && !in[d] {
			d = -1
		}
		if !in[i] || s < 0 && d < 0 {
			continue
		}
		c := get(s, d)
		c.chicks = append(c.chicks, i)
		c.kin = c.kin || k.birds[i].Inbreeding > 0 && s >= 0 && d >= 0
	}
	for _, p := range pairs {
		a, okA := k.index[p.A]
		b, okB := k.index[p.B]
		if !okA || !okB || a == b || !in[a] || !in[b] {
			continue
		}
		if _, known := at[[2]int{b, a}]; known || k.birds[a].Sex == studbook.Female && k.birds[b].Sex != studbook.Female {
			a, b = b, a
		}
		c := get(a, b)
		c.bonded, c.kin = true, c.kin || p.Kin
	}
	slices.SortFunc(out, func(a, b couple) int {
		return cmp.Or(cmp.Compare(a.sire, b.sire), cmp.Compare(a.dam, b.dam))
	})
	return out
}

// prune takes out parents who link nobody: they are not at home, have one
// chick, no other mate and no parents themselves.
func (k *kindred) prune(in []bool, couples []couple) bool {
	links := make([]int, len(k.birds))
	for _, c := range couples {
		for _, p := range [2]int{c.sire, c.dam} {
			if p >= 0 {
				links[p]++
			}
		}
		for _, i := range c.chicks {
			links[i]++
		}
	}
	idle := func(p int) bool { return p < 0 || links[p] == 1 && !k.birds[p].Home }
	pruned := false
	for _, c := range couples {
		if len(c.chicks) == 1 && idle(c.sire) && idle(c.dam) {
			for _, p := range [2]int{c.sire, c.dam} {
				if p >= 0 {
					in[p], pruned = false, true
				}
			}
		}
	}
	return pruned
}

// part is a figure: families with their places on it.
type part struct {
	families      []*family
	width, height float64
}

// pack sets families side by side in rows, and rows into parts.
func pack(families []*family) []*part {
	var parts []*part
	p, x, y, row := &part{}, 0.0, 0.0, 0.0
	for _, f := range families {
		if x > 0 && x+f.width > partWidth {
			x, y, row = 0, y+row+kinFamilySpace, 0
		}
		if y > 0 && y+f.height > partHeight && x == 0 {
			parts = append(parts, p)
			p, y = &part{}, 0
		}
		f.x, f.y = x+drawingSpace, y+drawingSpace
		x += f.width + kinFamilySpace
		row = max(row, f.height)
		p.families = append(p.families, f)
		p.width = max(p.width, f.x+f.width+drawingSpace)
		p.height = max(p.height, f.y+f.height+drawingSpace)
	}
	return append(parts, p)
}

func (b *PedigreeBird) who() string {
	if name := clean(b.Name); name != "" {
		return name + " (" + clean(b.ID) + ")"
	}
	return clean(b.ID)
}

// caption is the text below a symbol.
type caption struct {
	lines []string
	width float64 // of the widest
}

// caption returns the name and the id of a bird, with its letter first, so that
// it is never cut, as far as they fit.
func (k *kindred) caption(bird int) caption {
	b := &k.birds[bird]
	mark := ""
	if m := k.marks[bird]; m != "" {
		mark = m + " · "
	}
	width := func(s string) float64 { return textWidth(s, kinFont, b.Home) }
	all := []string{mark + clean(b.ID)}
	if name := clean(b.Name); name != "" {
		all = []string{mark + name, clean(b.ID)}
	}
	var c caption
	for _, l := range all {
		l = truncate(l, kinLabelMost, width)
		c.lines = append(c.lines, l)
		c.width = max(c.width, width(l))
	}
	return c
}

// write makes the captions of the birds that are drawn.
func (k *kindred) write() {
	k.captions = make(map[int]caption)
	for _, i := range k.shown {
		k.captions[i] = k.caption(i)
	}
}

func (k *kindred) draw(p *part) string {
	var b strings.Builder
	b.WriteString(svgStart(p.width, p.height, "system-ui, sans-serif") + "\n")
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="#fff"/>`+"\n"+`<g fill="none" stroke="%s" stroke-width="1.2">`+"\n", inkColour)
	for _, f := range p.families {
		for _, s := range f.lines() {
			fmt.Fprintf(&b, "<path d=\"M%s %sL%s %s\"/>\n", px(f.x+s.x0), px(f.y+s.y0), px(f.x+s.x1), px(f.y+s.y1))
		}
		for _, n := range f.nodes {
			k.drawBird(&b, n, f.x+n.x, f.y+n.y)
		}
	}
	b.WriteString("</g>\n</svg>")
	return b.String()
}

func (k *kindred) drawBird(b *strings.Builder, n *kinNode, x, y float64) {
	bird := &k.birds[n.bird]
	if bird.Link != "" {
		fmt.Fprintf(b, `<a href="#%s">`, anchorID(bird.Link))
		defer b.WriteString("</a>\n")
	}
	fmt.Fprintf(b, `<g><title>%s</title>`, escapeXML(bird.who()))
	defer b.WriteString("</g>\n")
	style := ` fill="#fff"`
	if bird.Home {
		style = ` fill="#fff" stroke-width="2.4"`
	}
	const r = kinRadius
	switch bird.Sex {
	case studbook.Male:
		fmt.Fprintf(b, `<rect x="%s" y="%s" width="%s" height="%[3]s"%s/>`, px(x-r), px(y-r), px(2*r), style)
	case studbook.Female:
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"%s/>`, px(x), px(y), px(r), style)
	default:
		fmt.Fprintf(b, `<path d="M%s %sl%s %[3]sl-%[3]s %[3]sl-%[3]s -%[3]sz"%[4]s/>`, px(x), px(y-r), px(r), style)
	}
	if bird.Dead {
		fmt.Fprintf(b, `<path d="M%s %sL%s %s"/>`, px(x-r-3), px(y+r+3), px(x+r+3), px(y-r-3))
	}
	y += r + 4 + kinFont*0.8
	for _, l := range k.captions[n.bird].lines {
		colour, weight := quietColour, ""
		if bird.Home {
			colour, weight = inkColour, ` font-weight="600"`
		}
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s" text-anchor="middle" fill="%s" stroke="none"%s>%s</text>`, px(x), px(y), px(kinFont), colour, weight, escapeXML(l))
		y += kinLine
	}
}

// words names the couples of a part with their chicks, and who stands alone.
func (p *part) words(k *kindred) string {
	var b strings.Builder
	say := func(i int) string {
		s := k.birds[i].who()
		if k.birds[i].Dead {
			s += ", dead"
		} else if !k.birds[i].Home {
			s += ", elsewhere"
		}
		return s
	}
	for _, f := range p.families {
		if len(f.unions) == 0 {
			for _, n := range f.nodes {
				fmt.Fprintf(&b, "No kin drawn: %s\n", say(n.bird))
			}
		}
		for _, u := range f.unions {
			c := u.couple
			var parents, chicks []string
			for _, i := range [2]int{c.sire, c.dam} {
				if i >= 0 {
					parents = append(parents, say(i))
				}
			}
			for _, i := range c.chicks {
				chicks = append(chicks, say(i))
			}
			b.WriteString(strings.Join(parents, " and "))
			if c.kin {
				b.WriteString(", who are kin")
			}
			if len(chicks) == 0 {
				b.WriteString(": a pair without chicks here\n")
				continue
			}
			b.WriteString(": parents of " + strings.Join(chicks, "; ") + "\n")
		}
	}
	return b.String()
}

// key explains the symbols that a part has.
func (p *part) key(k *kindred) string {
	var dead, away, diamond, kin, marked bool
	for _, f := range p.families {
		for _, n := range f.nodes {
			b := &k.birds[n.bird]
			dead = dead || b.Dead
			away = away || !b.Home
			diamond = diamond || b.Sex != studbook.Male && b.Sex != studbook.Female
			marked = marked || k.marks[n.bird] != ""
		}
		for _, u := range f.unions {
			kin = kin || u.couple.kin
		}
	}
	key := "Square: male; circle: female"
	for _, s := range []struct {
		shown bool
		text  string
	}{
		{diamond, "; diamond: sex unknown"},
		{away, "; bold: living here"},
		{dead, "; struck through: dead"},
		{kin, "; double line: the two are kin"},
		{true, "."},
		{marked, " The same letter marks the same bird."},
		{k.depth < mostAncestors, " Ancestors are drawn " + FormatThings(k.depth, "generation", "generations") + " back."},
		{true, " Parents who link no birds of the colony are left out, and so is kinship farther back."},
	} {
		if s.shown {
			key += s.text
		}
	}
	return key
}
