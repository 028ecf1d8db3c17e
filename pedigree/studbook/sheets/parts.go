package sheets

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
)

// parts are the files inside a zipped file.
type parts struct {
	files  map[string]*zip.File
	names  []string
	left   int64           // how many bytes more may be unpacked
	before map[string]bool // what was unpacked before, which does not count again
}

func openParts(raw []byte, most int64) (*parts, error) {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, err
	}
	p := &parts{files: make(map[string]*zip.File), left: most, before: make(map[string]bool)}
	for _, f := range z.File {
		name := strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/")
		if p.files[name] == nil {
			p.files[name] = f
			p.names = append(p.names, name)
		}
	}
	return p, nil
}

// ending reports whether the name of a part ends so, in letters of any case.
func (p *parts) ending(ending string) bool {
	for _, n := range p.names {
		if strings.HasSuffix(strings.ToLower(n), ending) {
			return true
		}
	}
	return false
}

// read unpacks a part, nil if there is none of this name.
func (p *parts) read(name string) ([]byte, error) {
	f := p.files[name]
	if f == nil {
		return nil, nil
	}
	left := p.left
	if p.before[name] {
		left = int64(f.UncompressedSize64) // it is as long as it was
	}
	if f.UncompressedSize64 > uint64(left) {
		return nil, ErrTooLarge // by its own word, so nothing is unpacked
	}
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var b bytes.Buffer
	if size := int64(f.UncompressedSize64); size > 0 && size <= left && size < 1<<26+256*int64(f.CompressedSize64) { // where a few bytes claim much, it is not believed
		b.Grow(int(size) + bytes.MinRead)
	}
	n, err := io.Copy(&b, io.LimitReader(r, left+1))
	if n > left {
		p.left = 0
		return nil, ErrTooLarge
	}
	if !p.before[name] {
		p.left -= n
		p.before[name] = true
	}
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
