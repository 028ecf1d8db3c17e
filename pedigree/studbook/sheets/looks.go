package sheets

import (
	"math"
	"strconv"
	"strings"
)

// readLooks reads the number format of each style of cells.
func (x *xlsx) readLooks(raw []byte) {
	formats := make(map[int]string)
	inCells := false
	var struck, coloured []bool // by font and by fill
	for m := (markup{data: raw}); m.next(); {
		switch {
		case m.name == "font" && m.open:
			struck = append(struck, false)
		case m.name == "strike" && m.open && len(struck) > 0:
			v, given := m.attr("val")
			struck[len(struck)-1] = !given || v == "1" || v == "true"
		case m.name == "fill" && m.open:
			coloured = append(coloured, false)
		case m.name == "fgColor" && m.open && len(coloured) > 0:
			rgb, given := m.attr("rgb")
			coloured[len(coloured)-1] = given && !strings.HasSuffix(rgb, "FFFFFF") || m.count("theme", 0) > 0
		case m.name == "dxfs" && m.open && !m.close:
			return // looks of conditions; those of cells stand before
		case m.name == "numFmt" && m.open:
			code, _ := m.attr("formatCode")
			formats[m.count("numFmtId", -1)] = code
		case m.name == "cellXfs":
			inCells = m.open && !m.close
		case m.name == "xf" && m.open && inCells:
			id := m.count("numFmtId", 0)
			var l look
			if code, ok := formats[id]; ok {
				l = lookOf(code)
			} else {
				l.dated = ShowsDate(id, "")
			}
			if font := m.count("fontId", 0); font >= 0 && font < len(struck) {
				l.struck = struck[font]
			}
			if fill := m.count("fillId", 0); fill >= 0 && fill < len(coloured) {
				l.coloured = coloured[fill]
			}
			x.looks = append(x.looks, l)
		}
	}
}

// look is how a number format shows numbers, as far as that can be part of an
// id: as dates, or as digits filled with zeros between fixed characters.
type look struct {
	dated    bool
	struck   bool
	coloured bool
	digits   string // the part of the format for positive numbers, "" if it is shown plainly
}

// ShowsDate reports whether a number format shows numbers as dates: one with a code of its own,
// or for "" the one that every workbook has by this number.
func ShowsDate(id int, code string) bool {
	if code != "" {
		return lookOf(code).dated
	}
	// The built-in formats of dates: ECMA-376 part 1, 18.8.30.
	return id >= 14 && id <= 22 || id >= 27 && id <= 36 || id >= 50 && id <= 58
}

func lookOf(code string) look {
	var l look
	positive, _, _ := strings.Cut(code, ";")
	var plain strings.Builder // '0' and '#', and after a backslash what is fixed
	usable, zeros := true, 0
	for i := 0; i < len(positive); i++ {
		switch c := positive[i]; c {
		case '"':
			end := strings.IndexByte(positive[i+1:], '"')
			if end < 0 {
				end = len(positive) - i - 1
			}
			for _, b := range []byte(positive[i+1 : i+1+end]) {
				plain.WriteByte('\\')
				plain.WriteByte(b)
			}
			i += end + 1
		case '[':
			end := strings.IndexByte(positive[i:], ']')
			if end < 0 {
				usable = false
				end = 0
			}
			i += end
		case '\\':
			if i++; i < len(positive) {
				plain.WriteByte('\\')
				plain.WriteByte(positive[i])
			}
		case '_', '*':
			i++ // a space as wide as the next character, and a filler
		case '0', '#':
			plain.WriteByte(c)
			if c == '0' {
				zeros++
			}
		case 'y', 'Y', 'd', 'D':
			l.dated = true
		case '-', ' ', '/', '(', ')', ':', '+':
			plain.WriteByte('\\')
			plain.WriteByte(c)
		default:
			usable = false
		}
	}
	if s := plain.String(); usable && !l.dated && (zeros > 1 || zeros == 1 && len(s) > 1) {
		l.digits = s
	}
	return l
}

// show fills a whole number into a format of zeros.
func (l look) show(x float64) string {
	if l.digits == "" || x < 0 || x != math.Trunc(x) || x >= 1e15 {
		return numberText(x)
	}
	digits := strconv.FormatFloat(x, 'f', 0, 64)
	var out []byte
	for i := len(l.digits) - 1; i >= 0; i-- {
		switch c := l.digits[i]; {
		case i > 0 && l.digits[i-1] == '\\':
			out = append(out, c)
			i--
		case len(digits) > 0:
			out = append(out, digits[len(digits)-1])
			digits = digits[:len(digits)-1]
			if !strings.ContainsAny(l.digits[:i], "0#") || placesLeft(l.digits[:i]) == 0 {
				for k := len(digits) - 1; k >= 0; k-- {
					out = append(out, digits[k])
				}
				digits = ""
			}
		case c == '0':
			out = append(out, '0')
		}
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return string(out)
}

// placesLeft counts the places for digits in the beginning of a format.
func placesLeft(s string) int {
	n := 0
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '\\':
			i++
		case '0', '#':
			n++
		}
	}
	return n
}
