package studbook

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"unicode"
)

// checkUnread names what stands beside the studbook, or in its workbook, and
// seems to be a file of the colony but was not read: one under another name is
// easily taken for one that counts.
func (r *reader) checkUnread() {
	if r.book != nil {
		r.checkSheets()
	}
	entries, err := fs.ReadDir(r.fsys, path.Dir(r.name))
	if err != nil {
		return // some file systems cannot list, and nothing hangs on it
	}
	there := make(map[string]bool, len(entries))
	for _, e := range entries {
		there[e.Name()] = true
	}
	for _, e := range entries {
		name := e.Name()
		base := meantFile(strings.TrimSuffix(name, path.Ext(name)))
		ending := strings.ToLower(path.Ext(name))
		if ending == ".toml" && base == "" && slices.Contains([]string{"program.toml", "settings.toml", "config.toml"}, strings.ToLower(name)) {
			base = strings.TrimSuffix(programmeFile, ending)
		}
		switch {
		case e.IsDir() || name == r.colony.Source || base == "" || !strings.Contains(".csv.tsv.txt.xlsx.xlsm.xls.ods.toml.", ending+"."):
			continue
		case base == studbookFile:
			continue // it is the user who says which one is read
		}
		ours := base + ".csv"
		if base+".toml" == programmeFile {
			ours = programmeFile
		}
		label := r.labels[strings.TrimSuffix(ours, ".csv")]
		switch {
		case name == ours && label != "" && label != ours:
			r.warn(place{file: name}, codeUnreadFile, "the file is not read, because the workbook has a sheet for it", "delete one of the two, the file or the sheet "+label)
		case name == ours, label != "" && !strings.EqualFold(name, ours), label != "" && !there[ours]:
			// It was read; or an older copy of one that was; or the system does
			// not tell its name from ours.
		default:
			r.colony.Unread = append(r.colony.Unread, Unread{name, ours})
			cure := "name it " + ours
			if slices.Contains([]string{".xlsx", ".xlsm", ".xls", ".ods"}, ending) {
				cure = "save its sheet as CSV under the name " + ours
			}
			r.warn(place{file: name}, codeUnreadFile, "the file is not read: its name is not "+ours, cure+" if it is meant, or move it to another folder")
		}
	}
}

// checkSheets does for the sheets of a workbook what checkUnread does for files.
func (r *reader) checkSheets() {
	var others []string
	for k, sheet := range r.book.Names {
		isRead := func(f File) bool {
			of, there := r.book.sheetOf(strings.TrimSuffix(f.Name, ".csv"))
			return there && of == k
		}
		if slices.ContainsFunc(Files(), isRead) {
			continue
		}
		base := meantFile(sheet)
		if base == "" || base == studbookFile || base+".toml" == programmeFile {
			others = append(others, sheet)
			continue
		}
		if r.labels[base] == "" {
			r.colony.Unread = append(r.colony.Unread, Unread{r.book.label(sheet), base + ".csv"})
			r.warn(place{file: r.book.label(sheet)}, codeUnreadFile, "the sheet is not read: its name is not "+base, fmt.Sprintf("name it %s if it is meant", base))
		} else {
			others = append(others, sheet)
		}
	}
	if len(others) > 0 {
		r.note("%s: sheets that are not read: %s", r.colony.Source, QuoteAll(others))
	}
}

// meantFile returns the file of the folder that a name without its ending
// seems to be meant for: one of its words is the file's name, in the singular
// or the plural. "" if there is none.
func meantFile(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return !unicode.IsLetter(c) })
	one := func(s string) string {
		if s == clutchesFile {
			return "clutch"
		}
		return strings.TrimSuffix(s, "s")
	}
	bases := []string{strings.TrimSuffix(programmeFile, ".toml")}
	for _, f := range Files() {
		bases = append(bases, strings.TrimSuffix(f.Name, ".csv"))
	}
	for _, base := range bases {
		parts := strings.Split(one(base), "_")
		for k := 0; k+len(parts) <= len(words); k++ {
			same := true
			for i, part := range parts {
				same = same && one(words[k+i]) == part
			}
			if same {
				return base
			}
		}
	}
	return ""
}

// sheetErrors are what spreadsheets show in place of a value that they could
// not compute.
var sheetErrors = []string{"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NUM!", "#NULL!", "#SPILL!", "#CALC!", "#NV", "#BEZUG!", "#WERT!", "#ZAHL!"}

// SheetError reports whether a cell shows an error in place of a value that its
// spreadsheet could not compute, as #N/A.
func SheetError(cell string) bool {
	return strings.HasPrefix(cell, "#") && slices.Contains(sheetErrors, strings.ToUpper(cell))
}

// totals are words that stand where ids do in the last row of many tables.
var totals = []string{"total", "totals", "sum", "count", "average", "mean", "summe", "gesamt", "insgesamt", "anzahl", "totale", "totaal", "suma", "soma", "somme"}

// total reports whether a row of the studbook holds a total and no bird: a word
// for it as the id, alone or before counts, and nothing that a bird would have.
func (s spot) total(b *Bird) bool {
	if !b.Founder() || b.Hatch.Known() || b.Death.Known() || !totalWord(b.ID) {
		return false
	}
	sex := s.cell("sex")
	return sex == "" || s.countsBirds(sex)
}

// totalWord reports whether an id is a word for a total, alone or before counts.
func totalWord(id string) bool {
	words := strings.FieldsFunc(strings.ToLower(id), func(c rune) bool { return !unicode.IsLetter(c) })
	return len(words) > 0 && slices.Contains(totals, words[0]) && len(words) <= 3
}

// countsBirds reports whether a cell of sexes counts birds, as "12.11": that of a row
// of totals that has nothing else of a bird.
func (s spot) countsBirds(sex string) bool {
	if sex == "" || sex[0] < '0' || sex[0] > '9' || !totalWord(s.cell("id")) || slices.ContainsFunc(sexWords, func(w word[Sex]) bool { return w.text == sex }) {
		return false
	}
	return !slices.ContainsFunc([]string{"sire", "dam", "hatch_date", "death_date"}, func(c string) bool { return s.cell(c) != "" })
}

// bare reports whether a row of the studbook has an id and nothing else, as the row
// of a count under a table may have.
func (s spot) bare(b *Bird) bool {
	if b.Name != "" || b.Band != "" || b.Location != "" || b.Notes != "" || b.Origin != OriginUnstated {
		return false
	}
	for j, ours := range s.t.ours {
		if ours != "id" && s.cellAt(j) != "" {
			return false
		}
	}
	return len(s.t.ours) > 1
}
