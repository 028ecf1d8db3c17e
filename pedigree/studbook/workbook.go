package studbook

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"strings"

	"pairwright/pedigree/studbook/sheets"
)

// workbook is an .xlsx file with the files of a colony folder as sheets.
type workbook struct {
	*sheets.Book
	name string
	at   map[string]int // file of the folder -> its sheet
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

// mostOfBook bounds what a workbook may grow to when it is read: 200,000 birds and more, of
// which `check` takes 5 s of processor time and 0.6 GB.
var mostOfBook = sheets.Bounds{Unzipped: 128 << 20, Rows: mostRows, Columns: mostColumns, Cells: 8 << 20}

// errNoXLSX stands for a spreadsheet of another format.
var errNoXLSX = errors.New("it is no .xlsx, whatever its name says")

// openWorkbook opens a workbook and finds its sheets.
func openWorkbook(name string, raw []byte) (*workbook, error) {
	book, err := sheets.Open(raw, mostOfBook)
	if err != nil {
		return nil, err
	}
	if book.Format != "xlsx" {
		return nil, errNoXLSX
	}
	w := &workbook{Book: book, name: name, at: make(map[string]int)}
	for k, sheet := range book.Names {
		if _, twice := w.at[NormalHeader(sheet)]; !twice {
			w.at[NormalHeader(sheet)] = k
		}
	}
	return w, nil
}

// label names a sheet in findings.
func (w *workbook) label(sheet string) string { return fmt.Sprintf("%s[%s]", w.name, sheet) }

// studbookSheet returns the sheet with the birds: the one of that name, or the
// only one there is.
func (w *workbook) studbookSheet() (k int, ok bool) {
	if k, ok := w.at[studbookFile]; ok {
		return k, true
	}
	return 0, len(w.Names) == 1
}

// sheetOf returns the sheet that is a file of the folder.
func (w *workbook) sheetOf(file string) (k int, ok bool) {
	if file == studbookFile {
		return w.studbookSheet()
	}
	k, ok = w.at[file]
	return k, ok
}

// grid cuts a sheet into cells. Dates come out as 2019-05-12, numbers as they
// are stored, whatever their format shows of them.
func (w *workbook) grid(k int) (*grid, error) {
	g := &grid{file: w.label(w.Names[k]), ragged: true}
	s, err := w.Sheet(k)
	if err != nil {
		return g, err
	}
	var cells []string
	for i := range s.Rows {
		r := &s.Rows[i]
		cells = cells[:0]
		for _, c := range r.Cells {
			cells = append(cells, c.Stored())
		}
		if r.Cells = nil; len(cells) > 0 && !g.full {
			g.keep(g.copied(cells), r.Line)
		}
	}
	g.unstored, g.merged = s.Unstored, s.Wide
	return g, nil
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
		name, f := form(h.Column)
		if name == "" {
			continue
		}
		severity := Error
		if f == FormText {
			severity = Warning
		}
		r.find(severity, place{file: t.file, line: h.Line, column: name}, codeUnstored, "the cell has a formula whose value is not stored, so it is read as blank",
			"open the workbook in a spreadsheet program and save it again, or type the value")
	}
	for _, m := range t.merged {
		if m.Bottom <= t.headerLine || m.Left == m.Right && m.Top == m.Bottom {
			continue
		}
		value := ""
		if row, ok := t.find(m.Top); ok {
			value = t.cell(row, m.Left)
		}
		if value == "" || SheetError(value) {
			continue
		}
		// Across a row of one value, as under a title, no cell is meant.
		severity, name := Warning, ""
		for j := m.Left; j <= min(m.Right, len(t.ours)-1); j++ {
			if n, f := form(j); n != "" && f != FormText && (j > m.Left || m.Bottom > m.Top) {
				severity = Error
				if name == "" {
					name = n
				}
			}
		}
		r.find(severity, place{t.file, m.Top, name, value}, codeMerged, fmt.Sprintf("the cells %s are merged: the first of them has the value, and the others are read as blank", m),
			"part them and write the value into each that it is meant for, or "+importIt(t.bookName()))
	}
}

// bookName is the name of the workbook of a sheet.
func (g *grid) bookName() string {
	name, _, _ := strings.Cut(g.file, "[")
	return name
}

// sheetNames lists the sheets of a workbook for a message.
func (w *workbook) sheetNames() string { return QuoteAll(w.Names) }
