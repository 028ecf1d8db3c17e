package exchange

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
)

// Workbooks are read here and not with the library that writes them: that
// takes 24 s for the values and the looks of 100,000 rows of ten cells, and
// does not fill merged cells.

// mostUnzipped bounds what the parts of a workbook may grow to.
const mostUnzipped = 1 << 27

// parts are the files inside a zipped file.
type parts struct {
	files map[string]*zip.File
	names []string
	left  int64
}

func openParts(raw []byte) (*parts, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, err
	}
	p := &parts{files: make(map[string]*zip.File), left: mostUnzipped}
	for _, f := range z.File {
		name := strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/")
		if p.files[name] == nil {
			p.files[name] = f
			p.names = append(p.names, name)
		}
	}
	return p, nil
}

// read unpacks a part, nil if there is none of this name.
func (p *parts) read(name string) ([]byte, error) {
	f := p.files[name]
	if f == nil {
		return nil, nil
	}
	if f.UncompressedSize64 > uint64(p.left) {
		return nil, errTooBig // by its own word, so nothing is unpacked
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var b bytes.Buffer
	if size := int64(f.UncompressedSize64); size > 0 && size < p.left && size < 1<<26+256*int64(f.CompressedSize64) { // where a few bytes claim much, it is not believed
		b.Grow(int(size) + bytes.MinRead)
	}
	n, err := io.Copy(&b, io.LimitReader(r, p.left+1))
	if p.left -= n; p.left < 0 {
		return nil, errTooBig
	}
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

var (
	errNoSheets = errors.New("it has no sheets")
	errLocked   = errors.New("it is locked with a password")
)

func dayCell(d studbook.Day) cell { return cell{text: d.String(), num: float64(d), kind: day} }

// countedDay turns a spreadsheet's count of days into a day. Day 60 of the
// count from 1900 is a 29 February 1900 that never was, so from then on day n
// is n days after 1899-12-30; in the count from 1904 day 0 is 1904-01-01.
func countedDay(n float64, from1904 bool) (studbook.Day, bool) {
	if n < 0 || n >= 2_958_466 {
		return 0, false
	}
	whole := studbook.Day(n)
	switch {
	case from1904:
		return studbook.DayOf(1904, time.January, 1) + whole, true
	case whole == 0:
		return 0, false // a time of day
	case whole < 60:
		return studbook.DayOf(1899, time.December, 31) + whole, true
	}
	return studbook.DayOf(1899, time.December, 30) + whole, true
}

// isoDay reads a day as workbooks store it, 2019-05-12.
func isoDay(s string) (studbook.Day, bool) {
	d, err := studbook.ParseDate(s)
	if err != nil || !d.Exact() || len(s) != 10 {
		return 0, false
	}
	return d.First, true
}
