package layout

import (
	"math"
)

// Sheets lays out kinship as far as one sheet shows it clearly: kin as far as
// four steps apart, or nearer ones alone where those would not fit one sheet or
// stand in many places. A family wider than the sheet is parted where one of its
// birds joins two families. Families stand side by side, in the end the birds
// without close kin, and what does not fit one sheet goes onto the next.
func (k *Kindred) Sheets() []*Sheet {
	for reach := MostReach; reach > LeastReach; reach-- {
		k.choose(reach)
		if len(k.shown) > Most {
			continue
		}
		if families, ok := k.families(mostSeveral); ok {
			if sheets := k.pack(families); len(sheets) == 1 && sheets[0].Width <= sheetWidth+2*Margin && len(k.marks) <= mostSeveral {
				return sheets
			}
		}
	}
	k.choose(LeastReach)
	families, _ := k.families(math.MaxInt)
	return k.pack(families)
}

// Whole lays out every bird that was given, however far their kinship reaches.
func (k *Kindred) Whole() []*Sheet {
	in := make([]bool, len(k.birds))
	for i := range in {
		in[i] = true
	}
	k.take(in)
	families, _ := k.families(math.MaxInt)
	return k.pack(families)
}

// Sheet is families with their places on it.
type Sheet struct {
	Families      []*Family
	Headings      []float64 // heights at which birds without close kin begin
	Width, Height float64
}

// pack sets families side by side in rows, those without kin last and below a
// heading, and rows onto sheets.
func (k *Kindred) pack(families []*Family) []*Sheet {
	const headingHeight = 26
	sheets := []*Sheet{{}}
	x, y, row := 0.0, 0.0, 0.0
	heading := false
	for _, f := range families {
		p := sheets[len(sheets)-1]
		first := !f.Kin() && !heading
		if x > 0 && (first || x+f.Width > sheetWidth) {
			x, y, row = 0, y+row+familyGap, 0
		}
		if y > 0 && y+f.Height > sheetHeight && x == 0 {
			p, y = &Sheet{}, 0
			sheets = append(sheets, p)
			first = !f.Kin()
		}
		if first {
			heading = true
			p.Headings = append(p.Headings, y+Margin)
			y += headingHeight
			p.Width = max(p.Width, k.text.Heading+2*Margin)
		}
		f.X, f.Y = x+Margin, y+Margin
		x += f.Width + familyGap
		row = max(row, f.Height)
		p.Families = append(p.Families, f)
		p.Width = max(p.Width, f.X+f.Width+Margin)
		p.Height = max(p.Height, f.Y+f.Height+Margin)
	}
	return sheets
}
