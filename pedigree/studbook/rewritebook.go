package studbook

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// rewrite changes the rows of a sheet in the open workbook.
func (w *workbook) rewrite(s *Sheet) (edits []Edit, err error) {
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
func (w *workbook) sheetFor(s *Sheet) (string, error) {
	if s.base == studbookFile {
		if sheet, ok := w.studbookSheet(); ok {
			return sheet, nil
		}
	}
	if s.there {
		return w.sheets[s.base], nil
	}
	if _, err := w.file.NewSheet(s.base); err != nil {
		return "", err
	}
	w.sheets[s.base] = s.base
	s.t.headerLine = 1
	for j, name := range s.t.header {
		if err := w.setCell(s, s.base, j, 1, name); err != nil {
			return "", err
		}
	}
	return s.base, nil
}

// addRows writes the new rows below the last one, in its styles.
func (w *workbook) addRows(s *Sheet, sheet string) (edits []Edit, err error) {
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

func (w *workbook) copyStyle(sheet string, column, from, to int) error {
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
func (w *workbook) setCell(s *Sheet, sheet string, column, line int, value string) error {
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
		return w.file.SetCellInt(sheet, name, int64(d.First-w.dayZero()))
	}
	if j := slices.IndexFunc(s.file.Columns, func(c Column) bool { return s.columnAt(c.Name) == column }); j >= 0 && s.file.Columns[j].Form == FormCount && line > s.t.headerLine {
		if n, err := strconv.ParseInt(value, 10, 64); err == nil {
			return w.file.SetCellInt(sheet, name, n)
		}
	}
	return w.file.SetCellStr(sheet, name, value)
}

// dayZero is the day that the workbook counts from. Day 60 of the calendar that
// begins in 1900 is a 29 February that never was; no bird's date lies before.
func (w *workbook) dayZero() Day {
	if w.epoch {
		return DayOf(1904, time.January, 1)
	}
	return DayOf(1899, time.December, 30)
}

// rewritten returns the workbook as it is now. The error says what of it would
// be lost.
func (w *workbook) rewritten(sheets []*Sheet) ([]byte, error) {
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
func (w *workbook) lost(sheets []*Sheet, after []byte) (string, error) {
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
	old, err := openWorkbook(w.name, w.raw)
	if err != nil {
		return "", err
	}
	defer old.file.Close()
	next, err := openWorkbook(w.name, after)
	if err != nil {
		return "", err
	}
	defer next.file.Close()
	for _, sheet := range old.file.GetSheetList() {
		was, err := old.grid(sheet)
		if err != nil {
			return "", err
		}
		is, err := next.grid(sheet)
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
