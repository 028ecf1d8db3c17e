package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// StudbookRows returns birds as rows of a studbook file, with a heading: the
// columns that the studbook itself has, dates as they are written there.
func StudbookRows(c *studbook.Colony, birds []studbook.Bird) (header []string, rows [][]string) {
	columns := []struct {
		name string
		of   func(b *studbook.Bird) string
	}{
		{"id", func(b *studbook.Bird) string { return b.ID }},
		{"name", func(b *studbook.Bird) string { return b.Name }},
		{"band", func(b *studbook.Bird) string { return b.Band }},
		{"sex", func(b *studbook.Bird) string { return b.Sex.String() }},
		{"sire", func(b *studbook.Bird) string { return report.ParentageText(b.Sire) }},
		{"dam", func(b *studbook.Bird) string { return report.ParentageText(b.Dam) }},
		{"hatch_date", func(b *studbook.Bird) string { return b.Hatch.Text }},
		{"death_date", func(b *studbook.Bird) string { return b.Death.Text }},
		{"location", func(b *studbook.Bird) string { return b.Location }},
		{"origin", func(b *studbook.Bird) string { return report.OriginText(b.Origin) }},
		{"notes", func(b *studbook.Bird) string { return b.Notes }},
	}
	rows = make([][]string, len(birds))
	for _, column := range columns {
		if column.name == "origin" && !c.HasOrigin || column.name == "location" && !c.HasLocation {
			continue
		}
		header = append(header, column.name)
		for k := range birds {
			rows[k] = append(rows[k], column.of(&birds[k]))
		}
	}
	return header, rows
}
