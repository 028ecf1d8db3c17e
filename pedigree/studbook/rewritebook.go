package studbook

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook/sheets"
)

// rewrittenBook is a workbook that is to be changed, as it is in its file and as the library
// has it that can write it again.
type rewrittenBook struct {
	*workbook
	raw  []byte
	file *excelize.File
}

// mostRewritten bounds what a workbook may grow to that is changed: about 20,000 birds. The
// library takes 0.4 s of processor time for a megabyte, and forty times its size in memory.
const mostRewritten = 12 << 20

// openToRewrite opens a workbook that is to be changed.
func openToRewrite(name string, raw []byte) (*rewrittenBook, error) {
	if grows(raw) {
		return nil, &RewriteError{name, fmt.Sprintf("it grows to more than %d MB when it is unzipped, and a workbook of more is read only", mostRewritten>>20), importIt(name) + ", or save its sheets as CSV files"}
	}
	read, err := openWorkbook(name, raw)
	if err != nil {
		return nil, notRewritten(name, err)
	}
	w := &rewrittenBook{workbook: read, raw: raw}
	err = guard(func() (err error) {
		w.file, err = excelize.OpenReader(bytes.NewReader(raw), excelize.Options{UnzipSizeLimit: mostRewritten, UnzipXMLSizeLimit: mostRewritten})
		return err
	})
	if err != nil {
		return nil, notRewritten(name, err)
	}
	return w, nil
}

func notRewritten(name string, err error) error {
	return &RewriteError{name, "the workbook cannot be opened: " + Shorten(err.Error()), "save it again as .xlsx without a password, or save its sheets as CSV files"}
}

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

// grows reports whether a zipped file says that it unzips to more than can be changed: the
// library unpacks all of it. Of one that says less the library stops at the bound.
func grows(raw []byte) bool {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return false // which the library tells
	}
	size := uint64(0)
	for _, f := range z.File {
		if size += f.UncompressedSize64; size > mostRewritten || f.UncompressedSize64 > mostRewritten {
			return true
		}
	}
	return false
}

// rewrite changes the rows of a sheet in the open workbook.
func (w *rewrittenBook) rewrite(s *Sheet) (edits []Edit, err error) {
	want, err := s.wantedRows(parseCSVRow)
	if err != nil {
		return nil, err
	}
	err = guard(func() error {
		sheet, err := w.sheetFor(s)
		if err != nil {
			return err
		}
		for i, row := range s.t.all() {
			cells := s.difference(row, want[i])
			if len(cells) == 0 {
				continue
			}
			for _, c := range cells {
				if err := w.setCell(s, sheet, s.columnAt(c.Column), int(s.t.rows[i].line), c.After); err != nil {
					return err
				}
			}
			edit := Edit{File: s.label, Line: int(s.t.rows[i].line), Before: s.csvRow(row), After: s.csvRow(want[i]), Cells: cells}
			if s.gone[i] {
				edit.Line, edit.After = 0, ""
			}
			edits = append(edits, edit)
		}
		added, err := w.addRows(s, sheet)
		edits = append(edits, added...)
		return err
	})
	return edits, rewriteError(s.label, err)
}

func parseCSVRow(row string) ([]string, bool) {
	cells, err := csv.NewReader(strings.NewReader(row)).Read()
	return cells, err == nil
}

// rewriteError is an error of the workbook library as one of ours.
func rewriteError(file string, err error) error {
	if _, ours := err.(*RewriteError); ours || err == nil {
		return err
	}
	return &RewriteError{file, "the workbook cannot be changed: " + Shorten(err.Error()), "save it again as .xlsx, or its sheets as CSV files"}
}

// columnAt returns the index of a column by our name or, where it has none, its
// own.
func (s *Sheet) columnAt(name string) int {
	if j, ok := s.t.at[name]; ok {
		return j
	}
	return slices.Index(s.t.header, name)
}

// sheetFor returns the name of the sheet, which is made where it is missing.
func (w *rewrittenBook) sheetFor(s *Sheet) (string, error) {
	if k, there := w.sheetOf(s.base); there {
		return w.Names[k], nil
	}
	if _, err := w.file.NewSheet(s.base); err != nil {
		return "", err
	}
	s.t.headerLine = 1
	for j, name := range s.t.header {
		if err := w.setCell(s, s.base, j, 1, name); err != nil {
			return "", err
		}
	}
	return s.base, nil
}

// addRows writes the new rows below the last one, in its styles.
func (w *rewrittenBook) addRows(s *Sheet, sheet string) (edits []Edit, err error) {
	if len(s.added) == 0 {
		return nil, nil
	}
	all, err := w.file.GetRows(sheet)
	if err != nil {
		return nil, err
	}
	end := max(len(all), s.t.headerLine)
	like := 0 // the row to take styles from
	if n := len(s.t.rows); n > 0 {
		like = int(s.t.rows[n-1].line)
	}
	for _, row := range s.added {
		end++
		for j, value := range row {
			if err := w.copyStyle(sheet, j, like, end); err != nil {
				return nil, err
			}
			if value == "" {
				continue
			}
			if err := w.setCell(s, sheet, j, end, value); err != nil {
				return nil, err
			}
		}
		edits = append(edits, Edit{File: s.label, Line: end, After: s.csvRow(row), Cells: s.difference(nil, row)})
	}
	return edits, nil
}

func (w *rewrittenBook) copyStyle(sheet string, column, from, to int) error {
	if from == 0 {
		return nil
	}
	source, err := excelize.CoordinatesToCellName(column+1, from)
	if err != nil {
		return err
	}
	target, err := excelize.CoordinatesToCellName(column+1, to)
	if err != nil {
		return err
	}
	style, err := w.file.GetCellStyle(sheet, source)
	if err != nil {
		return err
	}
	return w.file.SetCellStyle(sheet, target, target, style)
}

// setCell writes a cell as a person would have typed it there: a date where its
// style shows dates, a number where the column has counts, else a text.
func (w *rewrittenBook) setCell(s *Sheet, sheet string, column, line int, value string) error {
	name, err := excelize.CoordinatesToCellName(column+1, line)
	if err != nil {
		return err
	}
	formula, err := w.file.GetCellFormula(sheet, name)
	if err != nil {
		return err
	}
	if formula != "" {
		return &RewriteError{s.label, "a formula stands in " + name, "change the cell in the spreadsheet"}
	}
	if value == "" {
		return w.file.SetCellValue(sheet, name, nil)
	}
	style, err := w.file.GetCellStyle(sheet, name)
	if err != nil {
		return err
	}
	shown, err := w.file.GetStyle(style)
	if err != nil {
		return err
	}
	if d, err := ParseDate(value); err == nil && d.Exact() && d.First.String() == value && showsDate(shown) {
		return w.file.SetCellInt(sheet, name, int64(d.First)-int64(sheets.Epoch(w.From1904)))
	}
	if j := slices.IndexFunc(s.file.Columns, func(c Column) bool { return s.columnAt(c.Name) == column }); j >= 0 && s.file.Columns[j].Form == FormCount && line > s.t.headerLine {
		if n, err := strconv.ParseInt(value, 10, 64); err == nil {
			return w.file.SetCellInt(sheet, name, n)
		}
	}
	return w.file.SetCellStr(sheet, name, value)
}

// showsDate reports whether a style shows numbers as dates.
func showsDate(s *excelize.Style) bool {
	if s.CustomNumFmt != nil {
		return sheets.ShowsDate(s.NumFmt, *s.CustomNumFmt)
	}
	return sheets.ShowsDate(s.NumFmt, "")
}

// rewritten returns the workbook as it is now. The error says what of it would
// be lost.
func (w *rewrittenBook) rewritten(sheets []*Sheet) ([]byte, error) {
	var out *bytes.Buffer
	err := guard(func() (err error) {
		out, err = w.file.WriteToBuffer()
		return err
	})
	if err != nil {
		return nil, rewriteError(w.name, err)
	}
	lost, err := w.lost(sheets, out.Bytes())
	if err != nil {
		return nil, rewriteError(w.name, err)
	}
	if lost != "" {
		return nil, &RewriteError{w.name, "what it holds would not survive: " + lost, "write the row in the spreadsheet, or save the sheets as CSV files"}
	}
	return out.Bytes(), nil
}

// lost names what a rewritten workbook lacks of the old one, "" if it is
// nothing: a part of the file, or a cell of a row that was not to change.
func (w *rewrittenBook) lost(sheets []*Sheet, after []byte) (string, error) {
	parts := func(raw []byte) ([]string, error) {
		z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
		if err != nil {
			return nil, err
		}
		var names []string
		for _, f := range z.File {
			names = append(names, f.Name)
		}
		return names, nil
	}
	were, err := parts(w.raw)
	if err != nil {
		return "", err
	}
	are, err := parts(after)
	if err != nil {
		return "", err
	}
	for _, part := range were {
		rebuilt := strings.HasSuffix(part, "/") || part == "xl/calcChain.xml" || part == "xl/sharedStrings.xml"
		if !rebuilt && !slices.Contains(are, part) {
			return part, nil
		}
	}
	next, err := openWorkbook(w.name, after)
	if err != nil {
		return "", err
	}
	for k, sheet := range w.Names {
		was, err := w.grid(k)
		if err != nil {
			return "", err
		}
		again := slices.Index(next.Names, sheet)
		if again < 0 {
			return "the sheet " + sheet, nil
		}
		is, err := next.grid(again)
		if err != nil {
			return "", err
		}
		want := was.all()
		if k := slices.IndexFunc(sheets, func(s *Sheet) bool { return s.label == w.label(sheet) }); k >= 0 {
			if want, err = sheets[k].wantedRows(parseCSVRow); err != nil {
				return "", err
			}
			want = slices.DeleteFunc(append(want, sheets[k].added...), func(r []string) bool { return r == nil })
		}
		if !slices.EqualFunc(want, is.all(), func(a, b []string) bool { return slices.Equal(trimmedRow(a), trimmedRow(b)) }) {
			return "the rows of " + sheet, nil
		}
	}
	return "", nil
}
