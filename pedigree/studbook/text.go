package studbook

import (
	"bytes"
	"fmt"
	"io/fs"
	"unicode/utf16"
	"unicode/utf8"
	"unsafe"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// script is how the bytes of a file stand for its text. The zero script is plain
// UTF-8.
type script struct {
	name    string // as a note calls it; "" for UTF-8
	mark    int    // length of the byte order mark
	enc     encoding.Encoding
	wide    bool // UTF-16
	big     bool // its high byte comes first
	damaged bool // UTF-8 with bytes that are none
}

// The encodings of Unicode by IANA's names.
const (
	UTF8    = "UTF-8"
	UTF16LE = "UTF-16LE"
	UTF16BE = "UTF-16BE"
)

// UnicodeOf tells which encoding of Unicode a file is in, by its byte order mark, by
// zero bytes where western text in UTF-16 has them, or because it is valid UTF-8; ok is
// false if it is in none. A file that has more letters of UTF-8 than bytes outside it is
// UTF-8 with some damage, as where two files were joined; read in an encoding of one
// byte a letter it would lose all the others. mark is the length of the mark in bytes.
func UnicodeOf(raw []byte) (name string, mark int, ok bool) {
	switch {
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}):
		return UTF8, 3, true
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		return UTF16LE, 2, true
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		return UTF16BE, 2, true
	}
	switch even, odd := zeroShares(raw); {
	case odd > 0.4 && even < 0.1:
		return UTF16LE, 0, true
	case even > 0.4 && odd < 0.1:
		return UTF16BE, 0, true
	}
	if utf8.Valid(raw) {
		return UTF8, 0, true
	}
	letters, stray := nonASCII(raw)
	return UTF8, 0, letters > stray
}

// scriptOf tells the script of a file. What is in no encoding of Unicode is taken for
// Windows-1252, which is Latin-1 with letters and quotation marks where Latin-1 has
// control characters nobody types.
func scriptOf(raw []byte) script {
	name, mark, ok := UnicodeOf(raw)
	unmarked := ")"
	if mark == 0 {
		unmarked = ", without a byte order mark)"
	}
	switch {
	case !ok:
		return script{enc: charmap.Windows1252, name: "Windows-1252 (Latin-1), because it is not valid UTF-8"}
	case name == UTF16LE:
		return script{mark: mark, enc: unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), wide: true, name: "UTF-16 (little endian" + unmarked}
	case name == UTF16BE:
		return script{mark: mark, enc: unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), wide: true, big: true, name: "UTF-16 (big endian" + unmarked}
	case utf8.Valid(raw[mark:]):
		return script{mark: mark}
	}
	return script{mark: mark, damaged: true, name: "UTF-8, but some of its characters are damaged"}
}

// decode turns the bytes of a file into UTF-8 without a byte order mark. It
// never fails: bytes that mean nothing become U+FFFD. The bytes are not to be
// changed from then on.
func (s script) decode(raw []byte) string {
	raw = raw[s.mark:]
	if s.enc != nil {
		if decoded, err := s.enc.NewDecoder().Bytes(raw); err == nil {
			return string(decoded)
		}
	}
	if s.enc == nil && !s.damaged {
		return unsafe.String(unsafe.SliceData(raw), len(raw)) // a file of a million birds has 60 MB
	}
	return string(bytes.ToValidUTF8(raw, []byte("\uFFFD")))
}

// encode turns text into the bytes of the script, without a byte order mark.
// The error says that the script has not all of its characters.
func (s script) encode(text string) ([]byte, error) {
	if s.enc == nil {
		return []byte(text), nil
	}
	raw, err := s.enc.NewEncoder().Bytes([]byte(text))
	if err != nil {
		return nil, fmt.Errorf("%s has no sign for some of %q", s.name, text)
	}
	return raw, nil
}

// first returns how many bytes the first character of the file takes, and how
// many the text that decode makes of it.
func (s script) first(raw []byte) (bytes, text int) {
	switch {
	case s.wide:
		return s.firstWide(raw)
	case s.enc != nil:
		return 1, utf8.RuneLen(charmap.Windows1252.DecodeByte(raw[0]))
	}
	c, n := utf8.DecodeRune(raw)
	if c != utf8.RuneError || n > 1 {
		return n, n
	}
	for len(raw) > n { // a run of damage is one sign
		c, more := utf8.DecodeRune(raw[n:])
		if c != utf8.RuneError || more > 1 {
			break
		}
		n++
	}
	return n, utf8.RuneLen(utf8.RuneError)
}

func (s script) firstWide(raw []byte) (bytes, text int) {
	unit := func(at int) rune {
		if s.big {
			return rune(raw[at])<<8 | rune(raw[at+1])
		}
		return rune(raw[at+1])<<8 | rune(raw[at])
	}
	if len(raw) < 2 {
		return len(raw), utf8.RuneLen(utf8.RuneError)
	}
	c, n := unit(0), 2
	if utf16.IsSurrogate(c) && len(raw) >= 4 {
		if next := unit(2); next >= 0xDC00 && next <= 0xDFFF {
			c, n = utf16.DecodeRune(c, next), 4
		}
	}
	if utf16.IsSurrogate(c) { // without its other half
		c = utf8.RuneError
	}
	return n, utf8.RuneLen(c)
}

// decodeText turns the bytes of a file into UTF-8 without a byte order mark
// and names the encoding found, "" for plain UTF-8.
func decodeText(raw []byte) (text, name string) {
	s := scriptOf(raw)
	return s.decode(raw), s.name
}

// nonASCII counts the characters of UTF-8 beyond ASCII and the bytes that are
// part of none.
func nonASCII(raw []byte) (letters, stray int) {
	for len(raw) > 0 {
		c, n := utf8.DecodeRune(raw)
		switch {
		case n > 1:
			letters++
		case c == utf8.RuneError:
			stray++
		}
		raw = raw[n:]
	}
	return letters, stray
}

// zeroShares returns the share of zero bytes at even and at odd positions in
// the beginning of a file. Western text in UTF-16 has them at nearly all
// positions of one kind.
func zeroShares(raw []byte) (even, odd float64) {
	n := min(len(raw), 2048) / 2
	if n == 0 {
		return 0, 0
	}
	for i := range n {
		if raw[2*i] == 0 {
			even++
		}
		if raw[2*i+1] == 0 {
			odd++
		}
	}
	return even / float64(n), odd / float64(n)
}

// Text returns what a file of a colony folder says, in whatever encoding it is
// kept, without a byte order mark: what the lines of findings are lines of.
func Text(folder fs.FS, name string) (string, error) {
	raw, err := fs.ReadFile(folder, name)
	if err != nil {
		return "", err
	}
	text, _ := decodeText(raw)
	return text, nil
}
