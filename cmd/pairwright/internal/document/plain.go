package document

import (
	"encoding/xml"
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
)

// Clean makes one line of any text: every run of white space is one space,
// but no-break spaces stay; control characters and those that change the
// direction of the text around them are gone.
func Clean(s string) string {
	if plain(s) && strings.Trim(s, " ") == s && !strings.Contains(s, "  ") {
		return s
	}
	var b strings.Builder
	pending := false
	for _, r := range strings.ToValidUTF8(s, "\uFFFD") {
		switch {
		case r == '\u00a0' || r == '\u202f':
		case unicode.IsSpace(r):
			pending = b.Len() > 0
			continue
		case unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\uFFFE' || r == '\uFFFF':
			continue
		}
		if pending {
			b.WriteByte(' ')
			pending = false
		}
		b.WriteRune(r)
	}
	return b.String()
}

// plain reports whether a text has nothing but printable characters of ASCII, as most
// have: each takes one column.
func plain(s string) bool {
	for k := range len(s) {
		if s[k] < ' ' || s[k] > '~' {
			return false
		}
	}
	return true
}

// lines returns the cleaned lines of a text that may have several.
func lines(s string) []string {
	var out []string
	for l := range strings.Lines(s) {
		if l = Clean(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// cell returns the text of a row in a column, "" if the row is short.
func (r Row) cell(column int) Cell {
	if column < len(r.Cells) {
		return r.Cells[column]
	}
	return Cell{}
}

// DisplayWidth returns how many columns of a terminal a text takes.
func DisplayWidth(s string) int {
	if plain(s) {
		return len(s)
	}
	return uniseg.StringWidth(s)
}

// longestWord returns the display width of the widest word of a clean text.
func longestWord(s string) int {
	longest := 0
	for w := range strings.SplitSeq(s, " ") {
		longest = max(longest, DisplayWidth(w))
	}
	return longest
}

// wrap breaks a clean text into lines at most width wide, at spaces; only a
// word that is too long for a line is broken itself. An empty text is one
// empty line.
func wrap(s string, width int) []string {
	if len(s) <= width && plain(s) {
		return []string{s}
	}
	var out []string
	line, used := "", 0
	for word := range strings.SplitSeq(s, " ") {
		w := DisplayWidth(word)
		if used > 0 && used+1+w <= width {
			line, used = line+" "+word, used+1+w
			continue
		}
		if used > 0 {
			out = append(out, line)
		}
		for w > width {
			head, tail := split(word, width)
			if tail == "" {
				break
			}
			out = append(out, head)
			word, w = tail, w-DisplayWidth(head)
		}
		line, used = word, w
	}
	return append(out, line)
}

// split cuts off as much of a word as fits the width, at least one character.
func split(word string, width int) (head, tail string) {
	rest, state, used := word, -1, 0
	for rest != "" {
		_, next, w, s := uniseg.FirstGraphemeClusterInString(rest, state)
		if used > 0 && used+w > width {
			break
		}
		rest, state, used = next, s, used+w
	}
	return word[:len(word)-len(rest)], rest
}

// Truncate shortens a text to a width of at most max by the measure given,
// with … at its end.
func Truncate(s string, most float64, measure func(string) float64) string {
	if measure(s) <= most {
		return s
	}
	fits := "…"
	for rest, state := s, -1; rest != ""; {
		_, rest, _, state = uniseg.FirstGraphemeClusterInString(rest, state)
		short := strings.TrimRight(s[:len(s)-len(rest)], " ") + "…"
		if measure(short) > most {
			break
		}
		fits = short
	}
	return fits
}

// EscapeXML writes a text so that it can stand in XML.
func EscapeXML(s string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}
