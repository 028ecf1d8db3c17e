package studbook

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// decodeText turns the bytes of a file into UTF-8 without a byte order mark
// and names the encoding found, "" for plain UTF-8. It never fails: bytes
// that mean nothing in the encoding become U+FFFD. A file that has more letters
// of UTF-8 than bytes outside it is UTF-8 with some damage, as where two files
// were joined; read as Latin-1 it would lose all the others.
func decodeText(raw []byte) (text, name string) {
	var enc encoding.Encoding
	switch {
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}):
		raw = raw[3:]
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		enc, name, raw = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), "UTF-16 (little endian)", raw[2:]
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		enc, name, raw = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), "UTF-16 (big endian)", raw[2:]
	default:
		switch even, odd := zeroShares(raw); {
		case odd > 0.4 && even < 0.1:
			enc, name = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), "UTF-16 (little endian, without a byte order mark)"
		case even > 0.4 && odd < 0.1:
			enc, name = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM), "UTF-16 (big endian, without a byte order mark)"
		}
	}
	if enc == nil {
		switch letters, stray := nonASCII(raw); {
		case stray == 0:
			return string(raw), ""
		case letters > stray:
			return string(bytes.ToValidUTF8(raw, []byte("\uFFFD"))), "UTF-8, but some of its characters are damaged"
		}
		// Windows-1252 is Latin-1 with letters and quotation marks where
		// Latin-1 has control characters nobody types.
		enc, name = charmap.Windows1252, "Windows-1252 (Latin-1), because it is not valid UTF-8"
	}
	decoded, err := enc.NewDecoder().Bytes(raw)
	if err != nil {
		return string(bytes.ToValidUTF8(raw, []byte("\uFFFD"))), name
	}
	return string(decoded), name
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
