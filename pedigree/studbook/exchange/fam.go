package exchange

import (
	"strconv"
	"strings"

	"pairwright/pedigree/studbook/sheets"
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
	id := func(family, individual string) sheets.Cell {
		switch {
		case individual == "0":
			return sheets.Cell{}
		case shared:
			return sheets.TextCell(family + "-" + individual)
		}
		return sheets.TextCell(individual)
	}
	s := sheet{Sheet: sheets.Sheet{Name: strings.TrimSuffix(name, ".fam")}, fixed: []string{"id", "sire", "dam", "sex"}}
	if traits {
		s.fixed = append(s.fixed, "trait")
	}
	s.Rows = make([]sheets.Row, len(people))
	for i, p := range people {
		sex := ""
		switch p.fields[4] {
		case "1":
			sex = "M"
		case "2":
			sex = "F"
		}
		cells := []sheets.Cell{id(p.fields[0], p.fields[1]), id(p.fields[0], p.fields[2]), id(p.fields[0], p.fields[3]), sheets.TextCell(sex)}
		if traits {
			cells = append(cells, sheets.TextCell(p.fields[5]))
		}
		s.Rows[i] = sheets.Row{Line: p.line, Cells: cells}
	}
	return s, true
}
