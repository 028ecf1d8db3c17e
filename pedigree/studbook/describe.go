package studbook

import (
	"bytes"
	"fmt"
	"strings"
)

// settingsMean is what programme.toml holds, in a table of files.
const settingsMean = "settings"

// FilesHelp returns the files of a colony folder with all their columns as
// plain text.
func FilesHelp() string {
	var b strings.Builder
	b.WriteString("A colony is a folder of these files. Only studbook.csv is needed. * marks the\ncolumns that a file must have.\n")
	for _, f := range Files() {
		f.help(&b)
	}
	fmt.Fprintf(&b, "\n%s: %s\n", programmeFile, settingsMean)
	b.WriteString("\nSeasons of your own, as plan and forecast take them, are kept in files beside\nthese. Bonds that no row parts stay, birds that none pairs stay alone, and a pair\nwithout a hatch hatches nothing.\n")
	seasonTable.describe().help(&b)
	fmt.Fprintf(&b, `
All of them may be the sheets of one .xlsx workbook. It is read up to %d MB unzipped
(about 200,000 birds) and written to up to %d MB (about 20,000); import makes a folder
of a bigger one, for record to write in. In CSV that Pairwright writes, a cell that a
spreadsheet would run as a formula (=1+1, @x) has a ' before it, which makes it a
text there; reading takes it away again.
`, mostOfBook.Unzipped>>20, mostRewritten>>20)
	return b.String()
}

// help writes a file with its columns.
func (f File) help(b *strings.Builder) {
	fmt.Fprintf(b, "\n%s: one row is %s\n", f.Name, f.Row)
	for _, c := range f.Columns {
		mark := " "
		if c.Needed {
			mark = "*"
		}
		fmt.Fprintf(b, "%s %-16s %s\n", mark, c.Name, c.Describe())
	}
	if f.Further != "" {
		fmt.Fprintf(b, "  %-16s %s\n", "...", f.Further)
	}
}

// Describe says what a column means and how its cells are written, without full
// stop.
func (c Column) Describe() string {
	s := strings.ReplaceAll(c.Means, "`", "")
	switch {
	case len(c.Words) > 0:
		s += " (" + strings.Join(c.Words, ", ") + ")"
	case c.Form == FormNumber:
		s += fmt.Sprintf(" (%g to %g%s)", c.Low, c.High, strings.TrimRight(" "+c.Unit, " "))
	case c.Form == FormCount:
		s += " (number of " + c.Unit + ")"
	}
	return s
}

// describe says of a setting what it means, its unit and what stands in for it.
func (s Setting) describe() string {
	text := s.Means
	if s.Unit != "" {
		text += "; " + s.Unit
	}
	if s.Default != "" {
		text += "; default: " + s.Default + " (" + s.Source + ")"
	}
	return text
}

// SettingsHelp returns the keys of programme.toml as plain text.
func SettingsHelp() string {
	var b strings.Builder
	b.WriteString("The settings of a colony stand in programme.toml; each may be left out.\n\n")
	for _, s := range AllSettings() {
		fmt.Fprintf(&b, "%s\n    %s\n    as: %s = %s\n", s.Key, s.describe(), s.Key, s.Example)
	}
	b.WriteString("columns\n    names that your files have for columns\n    as: columns.sire = \"Father\"\n")
	return b.String()
}

// Template returns the files of a new colony folder by name: each table with
// its heading alone, and programme.toml with every key as a remark that says
// what it means, its unit, its default and on whose word.
func Template() map[string][]byte {
	files := make(map[string][]byte)
	for _, f := range Files() {
		names := make([]string, len(f.Columns))
		for i, c := range f.Columns {
			names[i] = c.Name
		}
		files[f.Name] = []byte(strings.Join(names, ",") + "\n")
	}
	files[programmeFile] = settingsTemplate()
	return files
}

// settingsTemplate writes programme.toml with all keys as remarks, so that
// taking away a # sets one.
func settingsTemplate() []byte {
	var b bytes.Buffer
	b.WriteString("# The settings of the colony. Take away the # before a key to set it; without it the default holds.\n")
	table := ""
	for _, s := range AllSettings() {
		key := s.Key
		if name, rest, dotted := strings.Cut(key, "."); dotted {
			if key = rest; name != table {
				table = name
				fmt.Fprintf(&b, "\n[%s]\n", table)
			}
		}
		fmt.Fprintf(&b, "\n# %s\n#%s = %s\n", s.describe(), key, s.Example)
	}
	b.WriteString("\n[columns]\n\n# names that your files have for columns\n#sire = \"Father\"\n")
	return b.Bytes()
}
