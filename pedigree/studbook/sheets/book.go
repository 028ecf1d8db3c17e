package sheets

import (
	"bytes"
	"errors"
)

// What a file is that gives no sheets; every other error says that it is damaged.
var (
	ErrArchive      = errors.New("it is an archive and no workbook")
	ErrDocument     = errors.New("it is a document of a word processor")
	ErrBinary       = errors.New("it is a workbook in a binary format") // .xlsb
	ErrLocked       = errors.New("it is locked with a password")
	ErrNoSheets     = errors.New("it has no sheets")
	ErrTooLarge     = errors.New("it grows to more than can be read")
	ErrTooManyRows  = errors.New("it has more rows than can be read")
	ErrTooManyCells = errors.New("it has more cells than can be read, with the blank ones before others of their row")
)

// What is missing of a damaged workbook would be lost without a word.
var (
	errBreaksOff = errors.New("a part of it breaks off")
	errMissing   = errors.New("a sheet that it names is missing")
)

// Book is an open workbook. Its sheets are read when they are asked for.
type Book struct {
	Format   string   // "xlsx" or "ods"
	Names    []string // of the sheets, in their order
	From1904 bool     // it counts days from 1904; see Epoch
	read     func(k int) (Sheet, error)
}

// Zipped reports whether bytes begin as those of a zipped file do, as both formats are.
func Zipped(raw []byte) bool {
	return bytes.HasPrefix(raw, []byte("PK\x03\x04")) || bytes.HasPrefix(raw, []byte("PK\x05\x06"))
}

// Open finds the sheets of a workbook.
func Open(raw []byte, most Bounds) (*Book, error) {
	p, err := openParts(raw, most.Unzipped)
	if err != nil {
		return nil, err
	}
	kind, _ := p.read("mimetype")
	switch {
	case p.files["content.xml"] != nil && (bytes.Contains(kind, []byte("spreadsheet")) || kind == nil):
		return openODS(p, most)
	case p.files["content.xml"] != nil || p.files["word/document.xml"] != nil:
		return nil, ErrDocument
	case p.ending("workbook.bin"):
		return nil, ErrBinary
	case p.ending("workbook.xml"):
		return openXLSX(p, most)
	}
	return nil, ErrArchive
}

// Sheet reads a sheet, by its number in Names. Ranges of cells that are drawn as one are as
// they are stored; see Sheet.Fill.
func (b *Book) Sheet(k int) (Sheet, error) { return b.read(k) }

// Sheets reads all sheets.
func (b *Book) Sheets() ([]Sheet, error) {
	all := make([]Sheet, len(b.Names))
	for k := range all {
		var err error
		if all[k], err = b.read(k); err != nil {
			return nil, err
		}
	}
	return all, nil
}
