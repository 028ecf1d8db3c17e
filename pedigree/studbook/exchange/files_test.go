package exchange

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding"
)

// page is a sheet to be written: its cells, the ranges that are merged and the
// number formats of whole columns.
type page struct {
	name    string
	rows    [][]any // string, int, float64, time.Time or nil
	merged  []string
	formats map[int]string // by column from 1
}

// inWorkbook writes pages as a workbook, with the library that does so for the
// program.
func inWorkbook(t testing.TB, from1904 bool, pages ...page) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	if from1904 {
		require.NoError(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &from1904}))
	}
	dated, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	for _, p := range pages {
		_, err := f.NewSheet(p.name)
		require.NoError(t, err)
		for i, row := range p.rows {
			for j, x := range row {
				if x == nil {
					continue
				}
				name, err := excelize.CoordinatesToCellName(j+1, i+1)
				require.NoError(t, err)
				if d, ok := x.(time.Time); ok {
					start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
					if from1904 {
						start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
					}
					require.NoError(t, f.SetCellValue(p.name, name, int(d.Sub(start).Hours()/24+0.5)))
					require.NoError(t, f.SetCellStyle(p.name, name, name, dated))
					continue
				}
				require.NoError(t, f.SetCellValue(p.name, name, x))
				if format, ok := p.formats[j+1]; ok {
					style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
					require.NoError(t, err)
					require.NoError(t, f.SetCellStyle(p.name, name, name, style))
				}
			}
		}
		for _, m := range p.merged {
			from, to, _ := strings.Cut(m, ":")
			require.NoError(t, f.MergeCell(p.name, from, to))
		}
	}
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.Bytes()
}

// inODS writes pages as an OpenDocument spreadsheet (ISO/IEC 26300), with blank
// cells run together as office programs do.
func inODS(t testing.TB, pages ...page) []byte {
	t.Helper()
	var x strings.Builder
	x.WriteString(`<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>`)
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")
	for _, p := range pages {
		fmt.Fprintf(&x, `<table:table table:name="%s">`, escape.Replace(p.name))
		for _, row := range p.rows {
			x.WriteString("<table:table-row>")
			empty := 0
			flush := func() {
				if empty > 0 {
					fmt.Fprintf(&x, `<table:table-cell table:number-columns-repeated="%d"/>`, empty)
				}
				empty = 0
			}
			for _, c := range row {
				if c == nil || c == "" {
					empty++
					continue
				}
				flush()
				switch c := c.(type) {
				case time.Time:
					fmt.Fprintf(&x, `<table:table-cell office:value-type="date" office:date-value="%s"><text:p>%s</text:p></table:table-cell>`, c.Format("2006-01-02"), c.Format("2.1.06"))
				case int:
					fmt.Fprintf(&x, `<table:table-cell office:value-type="float" office:value="%d"><text:p>%04d</text:p></table:table-cell>`, c, c)
				default:
					fmt.Fprintf(&x, `<table:table-cell office:value-type="string"><office:annotation><text:p>a remark</text:p></office:annotation><text:p>%s</text:p></table:table-cell>`, escape.Replace(fmt.Sprint(c)))
				}
			}
			x.WriteString("</table:table-row>")
		}
		x.WriteString(`<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="1024"/></table:table-row></table:table>`)
	}
	x.WriteString("</office:spreadsheet></office:body></office:document-content>")
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range []struct{ name, text string }{{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, {"content.xml", x.String()}} {
		w, err := z.Create(f.name)
		require.NoError(t, err)
		_, err = w.Write([]byte(f.text))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// inText writes rows as a table of text.
func inText(t testing.TB, delimiter string, enc encoding.Encoding, rows [][]any) []byte {
	t.Helper()
	var b strings.Builder
	for _, row := range rows {
		for j, c := range row {
			if j > 0 {
				b.WriteString(delimiter)
			}
			s := ""
			if c != nil {
				s = fmt.Sprint(c)
			}
			if strings.ContainsAny(s, delimiter+"\"\n") {
				s = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
			}
			b.WriteString(s)
		}
		b.WriteString("\r\n")
	}
	if enc == nil {
		return []byte(b.String())
	}
	out, err := enc.NewEncoder().Bytes([]byte(b.String()))
	require.NoError(t, err)
	return out
}

// cellOr returns a date as a layout shows it, nil if there is none.
func cellOr(d time.Time, layout string) any {
	if d.IsZero() {
		return nil
	}
	if layout == "" {
		return d
	}
	return d.Format(layout)
}
