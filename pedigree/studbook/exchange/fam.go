package exchange

import (
	"strconv"
	"strings"
)

// readFAM reads a pedigree as PLINK keeps it: no header, six columns by blanks
// or tabs: family, individual, father, mother, sex (1 male, 2 female), and a
// trait. False if the text is something else.
// Format: Purcell et al. 2007; PLINK 1.9 file format reference, ".fam".
func readFAM(name, text string) (sheet, bool) {
	type person struct {
		line   int
		fields []string
	}
	var people []person
	families := make(map[string]string) // individual -> its family
	shared, traits := false, false
	n := 0
	for line := range strings.Lines(text) {
		n++
		f := strings.Fields(line)
		if len(f) == 0 || n == 1 && strings.EqualFold(strings.TrimPrefix(f[0], "#"), "FID") {
			continue
		}
		if len(f) != 6 || strings.ContainsAny(line, ",;|\"") {
			return sheet{}, false
		}
		if sex, err := strconv.Atoi(f[4]); err != nil || sex < -9 || sex > 9 {
			return sheet{}, false
		}
		people = append(people, person{n, f})
		if family, there := families[f[1]]; there && family != f[0] {
			shared = true
		}
		families[f[1]] = f[0]
		traits = traits || f[5] != "0" && f[5] != "-9"
	}
	if len(people) == 0 {
		return sheet{}, false
	}
	id := func(family, individual string) cell {
		switch {
		case individual == "0":
			return cell{}
		case shared:
			return textCell(family + "-" + individual)
		}
		return textCell(individual)
	}
	s := sheet{name: strings.TrimSuffix(name, ".fam"), fixed: []string{"id", "sire", "dam", "sex"}}
	if traits {
		s.fixed = append(s.fixed, "trait")
	}
	s.rows = make([]row, len(people))
	for i, p := range people {
		sex := ""
		switch p.fields[4] {
		case "1":
			sex = "M"
		case "2":
			sex = "F"
		}
		cells := []cell{id(p.fields[0], p.fields[1]), id(p.fields[0], p.fields[2]), id(p.fields[0], p.fields[3]), textCell(sex)}
		if traits {
			cells = append(cells, textCell(p.fields[5]))
		}
		s.rows[i] = row{line: p.line, cells: cells}
	}
	return s, true
}
