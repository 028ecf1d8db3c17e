package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// source is a file cut into sheets, before anyone asks what they mean.
type source struct {
	name     string
	format   string // "xlsx", "ods", "csv", "fam", "gedcom"
	encoding string // of a text
	sheets   []sheet
	from1904 bool       // a workbook that counts days from 1904
	likely   []Decision // what had to be guessed on the way
	settings []byte     // the programme.toml of the folder whose studbook it is
	described
}

// sheet is a table of a file, as an import goes through it.
type sheet struct {
	sheets.Sheet
	of string // the sheet of the file that it is a part of; see stacked
	// fixed names the columns of a format that has its own: no header is
	// looked for, and nothing has to agree with anything.
	fixed []string
}

// called reports whether a name is the one of the sheet, or of that which it is a part of.
func (s *sheet) called(name string) bool {
	return strings.EqualFold(s.Name, name) || strings.EqualFold(s.of, name)
}

// dayOf returns the date of a cell stored as one.
func dayOf(c sheets.Cell) studbook.Day { return studbook.Day(c.Num) }

// mostRows is how many rows of a sheet, or birds of a family tree, are imported: an
// import takes some 4 kB for each, and a gigabyte in all. A variable for the sake of
// tests.
var mostRows = 200_000

// mostColumns and mostCells bound a sheet in memory, whatever its file says.
const (
	mostColumns = 1000
	mostCells   = 6_000_000
)

// most bounds what a workbook may grow to.
func most() sheets.Bounds {
	return sheets.Bounds{Unzipped: 1 << 27, Rows: mostRows, Columns: mostColumns, Cells: mostCells}
}

var (
	errTooBig  = errors.New("it grows to more than can be read")
	errTooLong = errors.New("it has more rows than can be imported")
)

// tooLong refuses a file of too many rows.
func tooLong() *refusal {
	return &refusal{fmt.Sprintf("the file has more than %s birds or rows", studbook.Number(mostRows)),
		"take those that matter to a file of their own; or write them as studbook.csv with our names of columns, which is read as it stands"}
}

// refusal is a file that cannot be read, with the cure.
type refusal struct{ message, help string }

func (r *refusal) Error() string { return r.message + "; " + r.help }

// open reads a file and tells by its content what it is.
func open(fsys fs.FS, name string, opt *Options) (*source, error) {
	raw, err := studbook.ReadFile(fsys, name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, &studbook.NoFileError{Name: name, Err: err}
		}
		return nil, err
	}
	s := &source{name: path.Base(name)}
	switch {
	case len(bytes.TrimSpace(raw)) == 0:
		return nil, &refusal{"the file is empty", "save it again from the program that has the birds"}
	case sheets.Zipped(raw):
		if err := s.openBook(raw); err != nil || !s.ofFolder() {
			return s, err
		}
		return s, s.takeSettings(fsys, path.Dir(name))
	}
	if what, help := studbook.Foreign(raw); what != "" {
		return nil, &refusal{what, help}
	}
	if err := s.describe(fsys, name); err != nil {
		return nil, err
	}
	encoding := opt.Mapping.Encoding
	if encoding == "" {
		encoding = s.described.encoding
	}
	text, encodingName, err := decode(raw, encoding)
	if err != nil {
		return nil, &refusal{err.Error(), "give another encoding"}
	}
	s.encoding = encodingName
	if gedcomStart().MatchString(text) {
		s.format = "gedcom"
		return s, s.readGEDCOM(raw, text, opt.Mapping.Encoding != "")
	}
	if strings.ContainsRune(text, 0) {
		return nil, &refusal{"this is neither a table nor a workbook", "save the birds as .xlsx, .ods or CSV"}
	}
	if table, ok := readFAM(s.name, text); ok {
		s.format, s.sheets = "fam", []sheet{table}
		s.likely = append(s.likely, Decision{Code: "all_alive", Sheet: table.Name, Taken: "living",
			Text: "the format has no dates and no deaths: every bird counts as living"})
		return s, nil
	}
	s.format = "csv"
	delimiter := s.described.delimiter
	if delimiter == 0 {
		delimiter = findDelimiter(text)
		if tabbed, ok := blanksToTabs(text); ok {
			text, delimiter = tabbed, '\t'
		}
	}
	table, err := readTable(strings.TrimSuffix(s.name, path.Ext(s.name)), text, delimiter)
	if errors.Is(err, errTooLong) {
		return nil, tooLong()
	}
	if err != nil {
		return nil, &refusal{"the file is too big: " + err.Error(), "leave the birds in it alone"}
	}
	s.describeCells(&table)
	s.sheets = []sheet{table}
	if s.name == "studbook.csv" {
		return s, s.takeFolder(fsys, path.Dir(name))
	}
	return s, nil
}

// takeFolder takes in what stands beside the studbook of a colony folder.
func (s *source) takeFolder(fsys fs.FS, dir string) error {
	for _, f := range studbook.Files() {
		if f.Name == s.name {
			continue
		}
		raw, err := studbook.ReadFile(fsys, path.Join(dir, f.Name))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		text, _, err := decode(raw, "")
		if err != nil {
			return err
		}
		t, err := readTable(strings.TrimSuffix(f.Name, ".csv"), text, findDelimiter(text))
		if err != nil {
			return &refusal{f.Name + " is too big: " + err.Error(), "import the studbook alone"}
		}
		t.Rows = slices.DeleteFunc(t.Rows, func(r sheets.Row) bool { return r.Used() == 0 || strings.HasPrefix(r.At(0).Text, "#") })
		s.sheets = append(s.sheets, t)
	}
	return s.takeSettings(fsys, dir)
}

// takeSettings takes in the settings of the colony folder.
func (s *source) takeSettings(fsys fs.FS, dir string) error {
	settings, err := studbook.ReadFile(fsys, path.Join(dir, settingsFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	s.settings = settings
	return err
}

// ofFolder reports whether a workbook is a colony folder: one sheet is a file of it.
func (s *source) ofFolder() bool {
	return slices.ContainsFunc(s.sheets, func(x sheet) bool { return ownFile(&x) != "" })
}

// settingsFile is the file of a colony folder with its settings.
const settingsFile = "programme.toml"

// openBook reads a workbook.
func (s *source) openBook(raw []byte) error {
	book, err := sheets.Open(raw, most())
	if err != nil {
		return refused(err)
	}
	s.format, s.from1904 = book.Format, book.From1904
	all, err := book.Sheets()
	if err != nil {
		return refused(err)
	}
	for _, x := range all {
		if err := x.Fill(most()); err != nil {
			return refused(err)
		}
		s.sheets = append(s.sheets, sheet{Sheet: x})
	}
	return nil
}

// refused says what a file is that gives no sheets.
func refused(err error) error {
	switch {
	case errors.Is(err, sheets.ErrDocument):
		return &refusal{"this is a document of a word processor, not a table", "copy the table into a spreadsheet and save that as .xlsx or .ods"}
	case errors.Is(err, sheets.ErrBinary):
		return &refusal{"this is a workbook in a format that only one program reads (.xlsb)", "open it there and save it as .xlsx"}
	case errors.Is(err, sheets.ErrArchive):
		return &refusal{"this is a zip archive, not a workbook", "unpack it and import the file inside"}
	case errors.Is(err, sheets.ErrLocked):
		return &refusal{"the workbook is locked with a password", "open it and save it again as .xlsx without a password"}
	case errors.Is(err, sheets.ErrTooManyRows):
		return tooLong()
	case errors.Is(err, sheets.ErrTooManyCells), errors.Is(err, sheets.ErrTooLarge):
		return &refusal{"the workbook is too big: it grows to more than can be read", "copy the sheets with the birds into a workbook of their own"}
	case errors.Is(err, sheets.ErrNoSheets):
		return &refusal{"the workbook has no sheet with cells", "save the sheet with the birds as .xlsx"}
	}
	return &refusal{"the workbook is damaged", "open it in a spreadsheet program and save it again as .xlsx"}
}

// today is the day that decides two-digit years.
func (o *Options) today() studbook.Day {
	if o.Today == 0 {
		return studbook.DayOf(9999, 12, 31)
	}
	return o.Today
}
