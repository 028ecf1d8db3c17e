package studbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"iter"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// workbook is an .xlsx file with the files of a colony folder as sheets.
type workbook struct {
	file   *excelize.File
	raw    []byte // where it is to be rewritten
	name   string
	sheets map[string]string // file of the folder -> name of its sheet
	epoch  bool              // dates are counted from 1904, not from 1900
	dates  map[int]bool      // style -> it shows a date
}

// workbookName reports whether a file name is that of a workbook.
func workbookName(name string) bool {
	ext := strings.ToLower(path.Ext(name))
	return ext == ".xlsx" || ext == ".xlsm"
}

// foreign says what a file is that is no studbook by its content, whatever its
// name, and what to do; "" if it may be one.
func foreign(name string, raw []byte) (what, help string) {
	head := raw[:min(len(raw), 128)]
	zipped, workbook := bytes.HasPrefix(head, []byte("PK\x03\x04")), workbookName(name)
	switch {
	case bytes.HasPrefix(head, []byte("\xD0\xCF\x11\xE0")): // a compound file
		return "this is a workbook in the old .xls format, or one with a password", "save it as .xlsx without a password"
	case zipped && bytes.Contains(head, []byte("application/vnd.oasis.opendocument.spreadsheet")):
		return "this is an OpenDocument spreadsheet (.ods)", importIt(path.Base(name))
	case zipped && !workbook:
		return "this is a workbook or an archive, whatever its name says", "call it .xlsx if it is one, or " + importIt(path.Base(name))
	case workbook && !zipped:
		return "this is no workbook, whatever its name says", "save it as .xlsx, or call it .csv if it is a table of text"
	}
	return Foreign(raw)
}

// importIt says how to make a colony folder of a file.
func importIt(name string) string {
	return "import " + name + ", which makes a colony folder of it"
}

// unzipped bounds what a workbook may grow to: about 20,000 birds. The library that
// can write it again takes 0.4 s of processor time for a megabyte, and twenty times
// its size in memory; import, which reads alone, takes a fortieth of that.
const unzipped = 12 << 20

// errLarge stands for a workbook that grows to more.
var errLarge = errors.New("it is larger than a workbook can be that is worked with as it stands")

// mostSpread is how many cells a sheet may have, with the blank ones that lie before
// others of their row, which the library keeps too: five times those of 20,000 birds.
const mostSpread = 1 << 20

// errSpread stands for a sheet that has more.
var errSpread = errors.New("its cells lie so far to the right that it has too many with the blank ones before them")

// errPanicked stands for a fault inside the workbook library.
var errPanicked = errors.New("it is damaged")

// guard runs a step through the workbook library, which can panic on files
// that are damaged in ways it does not expect.
func guard(step func() error) (err error) {
	defer func() {
		if recover() != nil {
			err = errPanicked
		}
	}()
	return step()
}

// grows reports whether a zipped file says that it unzips to more than is worked with.
// Of one that says less the library stops at the bound.
func grows(raw []byte) bool {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return false // which the library tells
	}
	size := uint64(0)
	for _, f := range z.File {
		if size += f.UncompressedSize64; size > unzipped || f.UncompressedSize64 > unzipped {
			return true
		}
	}
	return false
}

// openWorkbook opens a workbook and finds its sheets.
func openWorkbook(name string, raw []byte) (w *workbook, err error) {
	w = &workbook{name: name, sheets: make(map[string]string), dates: make(map[int]bool)}
	err = guard(func() error {
		var err error
		if grows(raw) {
			return errLarge
		}
		w.file, err = excelize.OpenReader(bytes.NewReader(raw), excelize.Options{UnzipSizeLimit: unzipped, UnzipXMLSizeLimit: unzipped})
		if err != nil {
			return err
		}
		props, err := w.file.GetWorkbookProps()
		if err != nil {
			return err
		}
		w.epoch = props.Date1904 != nil && *props.Date1904
		for _, sheet := range w.file.GetSheetList() {
			if file := NormalHeader(sheet); w.sheets[file] == "" {
				w.sheets[file] = sheet
			}
		}
		return nil
	})
	return w, err
}

// label names a sheet in findings.
func (w *workbook) label(sheet string) string { return fmt.Sprintf("%s[%s]", w.name, sheet) }

// studbookSheet returns the sheet with the birds: the one of that name, or the
// only one there is.
func (w *workbook) studbookSheet() (string, bool) {
	if sheet, ok := w.sheets[studbookFile]; ok {
		return sheet, true
	}
	if list := w.file.GetSheetList(); len(list) == 1 {
		return list[0], true
	}
	return "", false
}

// grid cuts a sheet into cells. Dates come out as 2019-05-12, numbers as they
// are stored, whatever their format shows of them.
func (w *workbook) grid(sheet string) (*grid, error) {
	g := &grid{file: w.label(sheet), ragged: true}
	err := guard(func() error {
		if spread(w.part(sheet)) > mostSpread {
			return errSpread
		}
		rows, err := w.file.Rows(sheet)
		if err != nil {
			return err
		}
		defer rows.Close()
		for line := 1; rows.Next() && !g.full; line++ {
			cells, err := rows.Columns(excelize.Options{RawCellValue: true})
			if err != nil {
				return err
			}
			for j := range cells {
				if cells[j], err = w.cell(sheet, j+1, line, cells[j]); err != nil {
					return err
				}
			}
			if len(cells) > 0 {
				g.keep(cells, line)
			}
		}
		if err := rows.Error(); err != nil {
			return err
		}
		g.unstored = unstored(w.part(sheet))
		g.merged, err = w.merged(sheet)
		return err
	})
	return g, err
}

// part returns the XML of a sheet, nil if it cannot be found.
func (w *workbook) part(sheet string) []byte {
	var rels struct {
		Relationship []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:",attr"`
		}
	}
	load := func(name string) []byte {
		part, _ := w.file.Pkg.Load(name)
		raw, _ := part.([]byte)
		return raw
	}
	if xml.Unmarshal(load("xl/_rels/workbook.xml.rels"), &rels) != nil {
		return nil
	}
	for _, s := range w.file.WorkBook.Sheets.Sheet {
		for _, rel := range rels.Relationship {
			if s.Name == sheet && rel.ID == s.ID {
				if target, ok := strings.CutPrefix(rel.Target, "/"); ok {
					return load(target)
				}
				return load("xl/" + rel.Target)
			}
		}
	}
	return nil
}

// unstored returns the cells of a sheet's XML that have a formula and no value, as
// programs write them that do not compute (ISO/IEC 29500-1, 18.3.1.4, 40 and 96). A
// blank that was computed is there as a text of no letters. The library does not
// tell the two apart.
func unstored(raw []byte) (cells []hole) {
	if !bytes.Contains(raw, []byte("f>")) && !bytes.Contains(raw, []byte("<f ")) {
		return nil
	}
	formula, value, text := false, false, false
	for at, x := range tags(raw) {
		switch {
		case x.name == "c" && !x.closes:
			formula, value, text = false, false, x.attr("t") == "str"
		case x.name == "f" && !x.closes:
			formula = true
		case x.name == "v" && !x.closes:
			value = text || len(x.after) > 0 && x.after[0] != '<' && !bytes.HasSuffix(x.text, []byte("/"))
		case x.name == "c" && formula && !value:
			cells = append(cells, at)
		}
	}
	return cells
}

// spread returns how many cells the library keeps of a sheet's XML: those of each row
// up to its last, blank ones too.
func spread(raw []byte) (cells int) {
	line, last := 0, 0
	for at, x := range tags(raw) {
		if x.name != "c" || x.closes {
			continue
		}
		if at.line != line {
			line, last = at.line, 0
		}
		if at.column >= last {
			cells += at.column + 1 - last
			last = at.column + 1
		}
	}
	return cells
}

// tag is one of a sheet's XML.
type tag struct {
	name        string // without that of its namespace
	closes      bool
	text, after []byte // what stands in it, and all that follows
}

func (t *tag) attr(name string) string {
	_, rest, _ := bytes.Cut(t.text, []byte(" "+name+`="`))
	value, _, _ := bytes.Cut(rest, []byte(`"`))
	return string(value)
}

// tags goes through the tags of a sheet's XML, each with the cell that it is in.
func tags(raw []byte) iter.Seq2[hole, *tag] {
	return func(yield func(hole, *tag) bool) {
		at := hole{column: -1}
		for {
			var x tag
			var ok bool
			if _, raw, ok = bytes.Cut(raw, []byte("<")); !ok {
				return
			}
			if x.text, raw, ok = bytes.Cut(raw, []byte(">")); !ok {
				return
			}
			name := x.text
			if end := bytes.IndexAny(name, " \t\r\n"); end >= 0 {
				name = name[:end]
			}
			x.closes = bytes.HasPrefix(name, []byte("/"))
			name = bytes.Trim(name, "/")
			if colon := bytes.IndexByte(name, ':'); colon >= 0 {
				name = name[colon+1:]
			}
			x.after = raw
			switch x.name = string(name); {
			case x.closes:
			case x.name == "row":
				at.line, at.column = at.line+1, -1
				if n, err := strconv.Atoi(x.attr("r")); err == nil {
					at.line = n
				}
			case x.name == "c":
				at.column++
				if column, line, err := excelize.CellNameToCoordinates(x.attr("r")); err == nil {
					at = hole{line, column - 1}
				}
			}
			if !yield(at, &x) {
				return
			}
		}
	}
}

// merged returns the merged cells of a sheet.
func (w *workbook) merged(sheet string) ([]area, error) {
	list, err := w.file.GetMergeCells(sheet, true)
	if err != nil {
		return nil, err
	}
	all := make([]area, 0, len(list))
	for _, m := range list {
		a := area{name: m.GetStartAxis() + ":" + m.GetEndAxis()}
		for _, end := range []struct {
			axis string
			at   *hole
		}{{m.GetStartAxis(), &a.first}, {m.GetEndAxis(), &a.last}} {
			column, line, err := excelize.CellNameToCoordinates(end.axis)
			if err != nil {
				return nil, err
			}
			*end.at = hole{line, column - 1}
		}
		all = append(all, a)
	}
	return all, nil
}

// checkSheetCells reports cells of a sheet that are read as blank and show a value
// all the same: it would be lost without a word.
func (r *reader) checkSheetCells(t *table, columns []Column) {
	form := func(column int) (name string, form Form) {
		if column < len(t.ours) {
			name = t.ours[column]
		}
		for _, c := range columns {
			if c.Name == name {
				return name, c.Form
			}
		}
		return "", ""
	}
	for _, h := range t.unstored {
		name, f := form(h.column)
		if name == "" {
			continue
		}
		severity := Error
		if f == FormText {
			severity = Warning
		}
		r.find(severity, place{file: t.file, line: h.line, column: name}, codeUnstored, "the cell has a formula whose value is not stored, so it is read as blank",
			"open the workbook in a spreadsheet program and save it again, or type the value")
	}
	for _, a := range t.merged {
		if a.last.line <= t.headerLine || a.first == a.last {
			continue
		}
		value := ""
		if row, ok := t.find(a.first.line); ok {
			value = t.cell(row, a.first.column)
		}
		if value == "" || SheetError(value) {
			continue
		}
		// Across a row of one value, as under a title, no cell is meant.
		severity, name := Warning, ""
		for j := a.first.column; j <= min(a.last.column, len(t.ours)-1); j++ {
			if n, f := form(j); n != "" && f != FormText && (j > a.first.column || a.last.line > a.first.line) {
				severity = Error
				if name == "" {
					name = n
				}
			}
		}
		r.find(severity, place{t.file, a.first.line, name, value}, codeMerged, fmt.Sprintf("the cells %s are merged: the first of them has the value, and the others are read as blank", a.name),
			"part them and write the value into each that it is meant for, or "+importIt(t.bookName()))
	}
}

// bookName is the name of the workbook of a sheet.
func (g *grid) bookName() string {
	name, _, _ := strings.Cut(g.file, "[")
	return name
}

// cell turns the stored value of a cell that shows a date into the date.
func (w *workbook) cell(sheet string, column, line int, raw string) (string, error) {
	if day, ok := strings.CutSuffix(raw, "T00:00:00"); ok {
		return day, nil
	}
	days, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return raw, nil
	}
	name, err := excelize.CoordinatesToCellName(column, line)
	if err != nil {
		return raw, err
	}
	style, err := w.file.GetCellStyle(sheet, name)
	if err != nil {
		return raw, err
	}
	dated, known := w.dates[style]
	if !known {
		s, err := w.file.GetStyle(style)
		dated = err == nil && showsDate(s)
		w.dates[style] = dated
	}
	if !dated {
		return raw, nil
	}
	t, err := excelize.ExcelDateToTime(days, w.epoch)
	if err != nil {
		return raw, nil // a negative number; the date's own check will tell
	}
	return t.Format("2006-01-02"), nil
}

// showsDate reports whether a style's number format is one of a date.
func showsDate(s *excelize.Style) bool {
	if s.CustomNumFmt == nil {
		// The built-in formats of dates: ECMA-376 part 1, section 18.8.30.
		return s.NumFmt >= 14 && s.NumFmt <= 22 || s.NumFmt >= 27 && s.NumFmt <= 36 || s.NumFmt >= 50 && s.NumFmt <= 58
	}
	// Letters in quotation marks, in brackets and behind a backslash are text,
	// colours and conditions.
	quoted, bracketed, escaped := false, false, false
	for _, c := range strings.ToLower(*s.CustomNumFmt) {
		switch {
		case escaped:
			escaped = false
		case quoted:
			quoted = c != '"'
		case bracketed:
			bracketed = c != ']'
		case c == '\\':
			escaped = true
		case c == '"':
			quoted = true
		case c == '[':
			bracketed = true
		case c == 'y' || c == 'd':
			return true
		}
	}
	return false
}

// sheetNames lists the sheets of a workbook for a message.
func (w *workbook) sheetNames() string { return QuoteAll(w.file.GetSheetList()) }

// PrintWide sets a sheet of a new workbook to be printed as wide as the paper.
func PrintWide(f *excelize.File, sheet string) error {
	size, orientation, fit, one, any := 9, "landscape", true, 1, 0 // 9 is A4
	if err := f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Size: &size, Orientation: &orientation, FitToWidth: &one, FitToHeight: &any}); err != nil {
		return err
	}
	return f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit})
}

// SignWorkbook names the program, and not the library that writes it, as author of a new
// workbook; the title may be "".
func SignWorkbook(f *excelize.File, title string) error {
	const author = "Pairwright"
	if err := f.SetDocProps(&excelize.DocProperties{Title: title, Creator: author, LastModifiedBy: author}); err != nil {
		return err
	}
	return f.SetAppProps(&excelize.AppProperties{Application: author})
}
