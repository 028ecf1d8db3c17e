package exchange

import (
	"bytes"
	"errors"
	"io/fs"
	"path"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// source is a file cut into sheets, before anyone asks what they mean.
type source struct {
	name     string
	format   string // "xlsx", "ods", "csv", "fam", "gedcom"
	encoding string // of a text
	sheets   []sheet
	likely   []Decision // what had to be guessed on the way
	described
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
	case bytes.HasPrefix(raw, []byte("PK\x03\x04")) || bytes.HasPrefix(raw, []byte("PK\x05\x06")):
		return s, s.openZip(raw)
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
		s.likely = append(s.likely, Decision{Code: "all_alive", Sheet: table.name, Taken: "living",
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
		t.rows = slices.DeleteFunc(t.rows, func(r row) bool { return r.used() == 0 || strings.HasPrefix(r.at(0).text, "#") })
		s.sheets = append(s.sheets, t)
	}
	return nil
}

// openZip reads what is zipped: both kinds of workbooks are.
func (s *source) openZip(raw []byte) error {
	damaged := &refusal{"the workbook is damaged", "open it in a spreadsheet program and save it again as .xlsx"}
	p, err := openParts(raw)
	if err != nil {
		return damaged
	}
	has := func(ending string) bool {
		for _, n := range p.names {
			if strings.HasSuffix(strings.ToLower(n), ending) {
				return true
			}
		}
		return false
	}
	kind, _ := p.read("mimetype")
	switch {
	case p.files["content.xml"] != nil && (bytes.Contains(kind, []byte("spreadsheet")) || kind == nil):
		s.format = "ods"
		s.sheets, err = readODS(p)
	case p.files["content.xml"] != nil || p.files["word/document.xml"] != nil:
		return &refusal{"this is a document of a word processor, not a table", "copy the table into a spreadsheet and save that as .xlsx or .ods"}
	case has("workbook.bin"):
		return &refusal{"this is a workbook in a format that only one program reads (.xlsb)", "open it there and save it as .xlsx"}
	case has("workbook.xml"):
		s.format = "xlsx"
		s.sheets, err = readXLSX(p)
	default:
		return &refusal{"this is a zip archive, not a workbook", "unpack it and import the file inside"}
	}
	switch {
	case errors.Is(err, errLocked):
		return &refusal{"the workbook is locked with a password", "open it and save it again as .xlsx without a password"}
	case errors.Is(err, errTooLong):
		return tooLong()
	case errors.Is(err, errTooBig):
		return &refusal{"the workbook is too big: it grows to more than can be read", "copy the sheets with the birds into a workbook of their own"}
	case errors.Is(err, errNoSheets):
		return &refusal{"the workbook has no sheet with cells", "save the sheet with the birds as .xlsx"}
	case err != nil:
		return damaged
	}
	return nil
}

// today is the day that decides two-digit years.
func (o *Options) today() studbook.Day {
	if o.Today == 0 {
		return studbook.DayOf(9999, 12, 31)
	}
	return o.Today
}
