package document

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
)

// Widths of columns of a sheet, in characters.
const (
	narrowSheetColumn = 8
	sheetColumnMost   = 40
	wideSheetColumn   = 60
	aboutNames        = 24
	aboutValues       = 90
	filterButton      = 4 // room for the button of the filter beside a heading
)

// sheetLine is the height of a line of text in points.
const sheetLine = 15

// WriteWorkbook writes the tables of a document as a workbook: first a sheet
// with its title, facts and notes, then a sheet for every table, with its
// heading frozen and filters. Cells hold the values themselves, which look as
// they do in other documents; what is unknown is blank.
func WriteWorkbook(w io.Writer, d *Document) (err error) {
	b := workbook{file: excelize.NewFile(), styles: make(map[string]int), names: make(map[string]bool)}
	defer b.file.Close()
	if err := b.about(d); err != nil {
		return fmt.Errorf("document: %w", err)
	}
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			if t, ok := block.(*Table); ok && !t.Sign { // nobody signs a workbook
				if err := b.table(t, s.Title); err != nil {
					return fmt.Errorf("document: sheet of %q: %w", t.Caption, err)
				}
			}
		}
	}
	if err := studbook.SignWorkbook(b.file, d.Title); err != nil {
		return fmt.Errorf("document: %w", err)
	}
	_, err = b.file.WriteTo(w)
	return err
}

type workbook struct {
	file   *excelize.File
	styles map[string]int // by number format
	names  map[string]bool
}

// set fills a cell, counted from 1, unless there is nothing to put in it.
// Cells are set one by one because the stream writer of excelize puts the
// sheets in no fixed order into the file.
func (b *workbook) set(sheet string, column, row int, value any, style int) error {
	at, err := excelize.CoordinatesToCellName(column, row)
	if err != nil || value == nil {
		return err
	}
	if err := b.file.SetCellValue(sheet, at, value); err != nil {
		return err
	}
	return b.file.SetCellStyle(sheet, at, at, style)
}

// width sets the width of a column, counted from 1, in characters.
func (b *workbook) width(sheet string, column, width int) error {
	name, err := excelize.ColumnNumberToName(column)
	if err != nil {
		return err
	}
	return b.file.SetColWidth(sheet, name, name, float64(width))
}

// height makes a row, counted from 1, high enough for its texts broken into
// columns of their widths: programs that open the workbook do not all do so
// by themselves.
func (b *workbook) height(sheet string, row int, texts []string, widths []int) error {
	most := 1
	for j, s := range texts {
		most = max(most, len(wrap(s, max(1, widths[j]*9/10))))
	}
	if most == 1 {
		return nil
	}
	return b.file.SetRowHeight(sheet, row, float64(most*sheetLine))
}

// about fills the first sheet.
func (b *workbook) about(d *Document) error {
	sheet := b.name("About")
	if err := b.file.SetSheetName("Sheet1", sheet); err != nil {
		return err
	}
	rows := []Fact{{"Title", d.Title}, {"Answer", d.Lead}}
	rows = append(rows, slices.Concat(d.Facts, d.About)...)
	for _, n := range d.Notes {
		rows = append(rows, Fact{"Note", n})
	}
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			if t, ok := block.(*Table); ok && t.More != "" {
				rows = append(rows, Fact{cmp.Or(t.Caption, s.Title), t.More})
			}
		}
	}
	rows = append(rows, Fact{"", d.Footer})
	style, err := b.style("", true)
	if err != nil {
		return err
	}
	i := 0
	for _, f := range rows {
		if Clean(f.Value) == "" {
			continue
		}
		i++
		for j, s := range [2]string{f.Name, f.Value} {
			if err := b.set(sheet, j+1, i, Clean(s), style); err != nil {
				return err
			}
		}
		if err := b.height(sheet, i, []string{Clean(f.Name), Clean(f.Value)}, []int{aboutNames, aboutValues}); err != nil {
			return err
		}
	}
	if err := studbook.PrintWide(b.file, sheet); err != nil {
		return err
	}
	if err := b.width(sheet, 1, aboutNames); err != nil {
		return err
	}
	return b.width(sheet, 2, aboutValues)
}

// table adds a sheet for a table.
func (b *workbook) table(t *Table, section string) error {
	if len(t.Columns) == 0 {
		return nil
	}
	caption := t.Caption
	if Clean(caption) == "" {
		caption = section
	}
	sheet := b.name(caption)
	if _, err := b.file.NewSheet(sheet); err != nil {
		return err
	}
	g := newGrid(t)
	names, widths := make([]string, len(g.columns)), make([]int, len(g.columns))
	for j, c := range g.columns {
		name := c.Name
		if c.Unit != "" {
			name += " (" + c.Unit + ")"
		}
		heading, err := b.heading(c.Right)
		if err != nil {
			return err
		}
		if err := b.set(sheet, j+1, 1, name, heading); err != nil {
			return err
		}
		most := sheetColumnMost
		if c.Wide {
			most = wideSheetColumn
		}
		// Headings are bold: a letter in ten more.
		names[j], widths[j] = name, min(most, max(narrowSheetColumn, c.longest+2, longestWord(name)*11/10+filterButton))
		if err := b.width(sheet, j+1, widths[j]); err != nil {
			return err
		}
		for i, r := range t.Rows {
			value, format := sheetValue(r.cell(j))
			style, err := b.style(format, c.Wide)
			if err != nil {
				return err
			}
			if err := b.set(sheet, j+1, i+2, value, style); err != nil {
				return err
			}
		}
	}
	if err := b.height(sheet, 1, names, widths); err != nil {
		return err
	}
	for i := range t.Rows {
		texts := make([]string, len(g.columns))
		for j, c := range g.columns {
			if c.Wide {
				texts[j] = c.cells[i]
			}
		}
		if err := b.height(sheet, i+2, texts, widths); err != nil {
			return err
		}
	}
	if err := b.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: "'" + strings.ReplaceAll(sheet, "'", "''") + "'!$1:$1", Scope: sheet}); err != nil {
		return err
	}
	if err := b.file.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	last, err := excelize.CoordinatesToCellName(len(t.Columns), len(t.Rows)+1)
	if err != nil {
		return err
	}
	if err := b.file.AutoFilter(sheet, "A1:"+last, nil); err != nil {
		return err
	}
	return studbook.PrintWide(b.file, sheet) // after the filter, which resets what the sheet is like
}

// sheetValue returns what stands in a cell, a number, a date or a text, and
// the format of its number; nil if it is not known.
func sheetValue(c Cell) (value any, format string) {
	text := Clean(c.Text)
	value = text
	switch v := c.Value.(type) {
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, ""
		}
		value, format = v, numberFormat(text)
	case int:
		value, format = v, "#,##0"
	case studbook.Day:
		if v != 0 {
			value, format = v.Time(), dateFormat
		}
	case studbook.Date:
		if v.Exact() && !v.Approximate && !v.Uncertain {
			value, format = v.First.Time(), dateFormat
		}
	}
	if t, ok := value.(time.Time); ok && t.Year() < 1900 {
		value, format = text, "" // before the first day that workbooks know
	}
	if value == "" || value == Unknown {
		return nil, ""
	}
	return value, format
}

const dateFormat = "yyyy-mm-dd"

// numberFormat returns the format in which a value looks like its text: the
// same decimals, percent, and sign.
func numberFormat(text string) string {
	_, rest, _ := strings.Cut(text, ".")
	decimals := 0
	for decimals < len(rest) && rest[decimals] >= '0' && rest[decimals] <= '9' {
		decimals++
	}
	format := "#,##0"
	if decimals > 0 {
		format += "." + strings.Repeat("0", decimals)
	}
	if strings.HasSuffix(text, "%") {
		format += "%"
	}
	if strings.HasPrefix(text, "+") {
		return "+" + format + ";" + Minus + format + ";0"
	}
	return format + ";" + Minus + format
}

// heading returns the style of the heading of figures or of texts.
func (b *workbook) heading(figures bool) (int, error) {
	font, err := b.file.GetDefaultFont()
	if err != nil {
		return 0, err
	}
	alignment := excelize.Alignment{Vertical: "bottom", WrapText: true, Horizontal: "left", Indent: 1}
	if figures {
		alignment.Horizontal, alignment.Indent = "right", 0
	}
	return b.file.NewStyle(&excelize.Style{
		Font:      &excelize.Font{Bold: true, Family: font},
		Alignment: &alignment,
		Border:    []excelize.Border{{Type: "bottom", Style: 2, Color: "1d1f21"}},
	})
}

// style returns the style with a number format, "" for texts.
func (b *workbook) style(format string, wide bool) (int, error) {
	key := fmt.Sprint(format, wide)
	if id, ok := b.styles[key]; ok {
		return id, nil
	}
	s := &excelize.Style{Alignment: &excelize.Alignment{Vertical: "top", WrapText: wide}}
	if format != "" {
		s.CustomNumFmt = &format
	} else { // away from the figure to the left of it
		s.Alignment.Horizontal, s.Alignment.Indent = "left", 1
	}
	id, err := b.file.NewStyle(s)
	b.styles[key] = id
	return id, err
}

// sheetNameMost is how many UTF-16 units the name of a sheet can have.
const sheetNameMost = 31

// name makes a name for a sheet: without the characters that cannot be in
// one, short enough, and not used before in any case of its letters.
func (b *workbook) name(caption string) string {
	caption = strings.Trim(strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:\/?*[]`, r) {
			return ' '
		}
		return r
	}, Clean(caption)), "' ")
	base := Clean(caption)
	if rest, ok := strings.CutPrefix(base, "Appendix "); ok && rest != "" { // where in the document is of no use here
		first, size := utf8.DecodeRuneInString(rest)
		base = string(unicode.ToUpper(first)) + rest[size:]
	}
	if base == "" || strings.EqualFold(base, "history") { // a name kept by spreadsheets
		base = strings.TrimSpace("Table " + base)
	}
	for n := 1; ; n++ {
		suffix := ""
		if n > 1 {
			suffix = fmt.Sprintf(" %d", n)
		}
		name := cutUTF16(base, sheetNameMost-len(suffix))
		if word := strings.LastIndexByte(name, ' '); len(name) < len(base) && base[len(name)] != ' ' && word > 0 {
			name = name[:word] // words stay whole
		}
		name = strings.TrimRight(name, "', ") + suffix
		if key := strings.ToLower(name); !b.names[key] {
			b.names[key] = true
			return name
		}
	}
}

// cutUTF16 cuts a text after at most n UTF-16 units.
func cutUTF16(s string, n int) string {
	for i, r := range s {
		if n -= utf16.RuneLen(r); n < 0 {
			return s[:i]
		}
	}
	return s
}
