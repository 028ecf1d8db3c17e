package exchange

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// Books of clutches that name both birds of a pair in one cell, as "Max x Frieda".

// mayNamePairs reports whether a sheet has a row that heads clutches and one column for both
// birds of a pair.
func (im *importer) mayNamePairs(s *sheet) bool {
	if s.fixed != nil || ownFile(s) != "" {
		return false
	}
	mapped := im.mapped(s)
	for i := range min(len(s.Rows), searched) {
		if im.pairHeadings(s.heading(i, false), mapped) != nil || i+1 < len(s.Rows) && s.belong(i) && im.pairHeadings(s.heading(i, true), mapped) != nil {
			return true
		}
	}
	return false
}

// pairHeadings returns the places of the headings that may be of both birds of a pair, in a
// header of clutches that has no column for either bird and none that is of single birds.
func (im *importer) pairHeadings(head []string, mapped map[string]column) (may []int) {
	if im.namesIDs(head, mapped) {
		return nil
	}
	eggs, chicks := false, false
	for j, h := range head {
		c := im.known(nestNames(), h, mapped, false)
		if c == unclaimed {
			c = im.known(nestNames(), h, mapped, true)
		}
		switch {
		case c == colPair:
			return []int{j} // on the user's word
		case c == colFemale || c == colMale || im.known(birdNames(), h, mapped, false) == colSex:
			return nil
		case c == colLaid || c == colEggs || c == colFertile || c == colInfertile:
			eggs = true
		case c == colHatched || c == colFledged:
			chicks = true
		}
	}
	for j, h := range head {
		if mappedTo(mapped, h) != unclaimed {
			continue
		}
		// Beside a day of hatching alone, parents are those of a chick.
		if (eggs || chicks) && im.known(nestNames(), h, mapped, false) == colNest || eggs && im.known(birdNames(), h, mapped, false) == colParents {
			may = append(may, j)
		}
	}
	return may
}

// pairColumn returns the place of the column whose cells name both birds of a pair, as most of
// those of a sheet of clutches do; -1 if none does.
func (im *importer) pairColumn(head []string, body []sheets.Row, mapped map[string]column) int {
	may := im.pairHeadings(head, mapped)
	if may == nil {
		return -1
	}
	known := im.calledKeys()
	isBird := func(s string) bool {
		inner, outer, _ := inBrackets(s)
		return slices.ContainsFunc([]string{s, inner, outer}, func(x string) bool {
			k := key(strings.TrimLeft(x, "0"))
			return k != "" && known[k]
		})
	}
	for _, j := range may {
		if mappedTo(mapped, head[j]) == colPair {
			return j
		}
		all, pairs := 0, 0
		for _, r := range body {
			x := r.At(j)
			if x.Kind == sheets.Blank || isDitto(x.Text) {
				continue
			}
			all++
			if _, _, ok := twoOfCell(x.Text, isBird); ok {
				pairs++
			}
		}
		if pairs*2 > all {
			return j
		}
	}
	return -1
}

// twoOfCell cuts a cell in two birds. What is a bird as it stands is not cut, nor is anything
// at a blank alone.
func twoOfCell(s string, isBird func(string) bool) (first, second string, ok bool) {
	if s = strings.TrimSpace(s); isBird(s) {
		return "", "", false
	}
	if first, second, ok = pairIn(s, isBird); ok {
		return first, second, true
	}
	first, second, ok = atOnlyX(s)
	return first, second, ok && isBird(first) && isBird(second)
}

// cutPairs cuts the cells with both birds of a pair in two, for those whose parents are named
// by the nest that the pair held.
func (im *importer) cutPairs() {
	for k := range im.held {
		if h := &im.held[k]; h.at.t.has(colPair) {
			h.female, h.male, _ = twoOfCell(h.pair, im.isBird)
		}
	}
}

func (im *importer) isBird(s string) bool {
	_, ok := im.oneAtMost(s)
	return ok
}

// coupleIn finds the pair that a cell names, in which the sexes say who is who; why says what
// keeps it from being one, "" if nothing does.
func (im *importer) coupleIn(cell string) (c couple, why string) {
	if strings.TrimSpace(cell) == "" {
		return c, "no pair is named"
	}
	first, second, _ := twoOfCell(cell, im.isBird)
	i, ok1 := im.oneAtMost(first)
	j, ok2 := im.oneAtMost(second)
	if !ok1 || !ok2 || i == j {
		return c, fmt.Sprintf("%q does not name two birds of the file for certain", shorten(cell))
	}
	a, b := im.birds[i], im.birds[j]
	for _, x := range []*bird{a, b} {
		if x.sex == studbook.Unsexed {
			return c, fmt.Sprintf("which of %q is the female is not known, for %s has no sex", shorten(cell), x.id)
		}
	}
	if a.sex == b.sex {
		return c, fmt.Sprintf("both birds of %q are of one sex", shorten(cell))
	}
	return im.coupleOf(i, j), ""
}

// unpaired are the rows of a sheet whose cell of the pair names none, for one reason.
type unpaired struct {
	t         *table
	cell, why string
	lines     []int
}

// leavePair notes a row whose pair is none, with the others of the same cell.
func leavePair(list []unpaired, h holding, why string) []unpaired {
	k := slices.IndexFunc(list, func(x unpaired) bool { return x.t == h.at.t && x.cell == h.pair })
	if k < 0 {
		k = len(list)
		list = append(list, unpaired{t: h.at.t, cell: h.pair, why: why})
	}
	list[k].lines = append(list[k].lines, h.at.line)
	h.at.t.unpaired++
	return list
}

// sayUnpaired lists the rows that are left out for their pair, by their lines.
func (im *importer) sayUnpaired(list []unpaired) {
	const most = 20 // lines that are named
	for _, x := range list {
		var lines []string
		for _, l := range x.lines[:min(len(x.lines), most)] {
			lines = append(lines, strconv.Itoa(l))
		}
		if more := len(x.lines) - most; more > 0 {
			lines = append(lines, fmt.Sprintf("and %d more", more))
		}
		which, rows := "line", "the row is"
		if len(x.lines) > 1 {
			which, rows = "lines", "the rows are"
		}
		im.likely(Decision{Code: "clutch_of_no_pair", Sheet: x.t.Name, Line: x.lines[0], Column: colPair.String(), Value: x.cell, Taken: "left out",
			Text: fmt.Sprintf("%s %s: %s; %s left out", which, strings.Join(lines, ", "), x.why, rows)})
	}
}
