package exchange

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pairwright/pedigree/studbook"
)

// WorkbookFile is the colony as one workbook.
const WorkbookFile = "colony.xlsx"

// Template returns the files of a new colony folder by name: those of
// studbook.Template, the description of their columns, and a workbook of the
// same sheets.
func Template() ([]File, error) {
	var files []File
	for name, content := range studbook.Template() {
		files = append(files, File{name, content})
	}
	described, err := dataPackage(&studbook.Colony{})
	if err != nil {
		return nil, err
	}
	workbook, err := workbookTemplate()
	if err != nil {
		return nil, err
	}
	files = append(files, described, File{WorkbookFile, workbook})
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	return files, nil
}

// dataPackage describes files of a colony folder, or all of them, with the colony's
// columns of the studbook that are none of ours and its markers.
func dataPackage(c *studbook.Colony, names ...string) (File, error) {
	p := studbook.DataPackage(names...)
	for k := range p.Resources {
		of := &p.Resources[k].Schema
		switch p.Resources[k].Path {
		case "studbook.csv":
			for _, a := range c.Aside {
				of.Fields = append(of.Fields, studbook.SchemaField{Name: a.Name, Type: "string", Description: "a column of the keepers' own"})
			}
		case "genotypes.csv":
			for _, m := range c.Markers {
				of.Fields = append(of.Fields, studbook.SchemaField{Name: m.Name, Type: "string", Description: "a marker: the two alleles of the bird"})
			}
		}
	}
	description, err := json.MarshalIndent(p, "", "  ")
	return File{"datapackage.json", append(description, '\n')}, err
}

// templateRows is down to which row the sheets of a new workbook have lists to
// choose from.
const templateRows = 10_000

// workbookTemplate makes a workbook with a sheet for each file of a colony
// folder: its headings with a note on each, and for columns of words and of
// names of birds and institutions a list to choose from. What is no number is
// formatted as text, so that no program takes an id or a year for something
// else.
func workbookTemplate() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	w := &template{f: f}
	heading, err := headingStyle(f)
	if err != nil {
		return nil, err
	}
	text, err := f.NewStyle(&excelize.Style{NumFmt: 49}) // "@": ECMA-376 part 1, 18.8.30
	if err != nil {
		return nil, err
	}
	w.heading, w.text = heading, text
	for _, file := range studbook.Files() {
		if err := w.sheet(file); err != nil {
			return nil, fmt.Errorf("sheet %s: %w", file.Name, err)
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		return nil, err
	}
	f.SetActiveSheet(0)
	if err := studbook.SignWorkbook(f, ""); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// template is a workbook being made.
type template struct {
	f             *excelize.File
	heading, text int // styles
}

// sheet adds the sheet of a file.
func (w *template) sheet(file studbook.File) error {
	name := sheetOf(file.Name)
	if _, err := w.f.NewSheet(name); err != nil {
		return err
	}
	for j, c := range file.Columns {
		if err := w.column(name, j, c); err != nil {
			return fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	return w.f.SetPanes(name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}

// column adds a column: its heading with a note, its format and its list.
func (w *template) column(sheet string, j int, c studbook.Column) error {
	letter, err := excelize.ColumnNumberToName(j + 1)
	if err != nil {
		return err
	}
	if c.Form != studbook.FormCount && c.Form != studbook.FormNumber {
		if err := w.f.SetColStyle(sheet, letter, w.text); err != nil {
			return err
		}
	}
	const least, per = 10, 2 // width in characters: of any column, and beside its heading
	if err := w.f.SetColWidth(sheet, letter, letter, float64(max(least, len(c.Name)+per))); err != nil {
		return err
	}
	top := letter + "1"
	note := c.Describe()
	if c.Filled {
		note += ". Needed in every row"
	}
	return cmp.Or(
		w.f.SetCellValue(sheet, top, c.Name),
		w.f.SetCellStyle(sheet, top, top, w.heading),
		w.f.AddComment(sheet, excelize.Comment{Cell: top, Author: "Pairwright", Text: note + ".", Width: 300, Height: 90}),
		w.choices(sheet, letter, c),
	)
}

// choices gives a column a list to choose from. A word that is in no list is
// refused; names may be written that are no row's.
func (w *template) choices(sheet, letter string, c studbook.Column) error {
	list := excelize.NewDataValidation(true)
	list.Sqref = fmt.Sprintf("%s2:%s%d", letter, letter, templateRows)
	switch {
	case len(c.Words) > 0:
		list.SetError(excelize.DataValidationErrorStyleStop, c.Name, "choose one of "+strings.Join(c.Words, ", "))
		if err := list.SetDropList(c.Words); err != nil {
			return err
		}
	case c.Of != "":
		list.SetSqrefDropList(fmt.Sprintf("%s!$A$2:$A$%d", sheetOf(c.Of), templateRows))
		list.ShowErrorMessage = false
	default:
		return nil
	}
	return w.f.AddDataValidation(sheet, list)
}

// sheetOf returns the sheet of a workbook that a file of a colony folder is.
func sheetOf(file string) string { return strings.TrimSuffix(file, ".csv") }
