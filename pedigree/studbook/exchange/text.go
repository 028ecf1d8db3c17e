package exchange

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/ianaindex"
	utf16 "golang.org/x/text/encoding/unicode"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// decode turns the bytes of a text into UTF-8 and names its encoding. With a
// name, as IANA registers it, that encoding is taken. Otherwise a byte order
// mark, zero bytes or valid UTF-8 decide, and what is left is read in the
// encoding of one byte a letter that gives the most letters where western
// languages have them.
func decode(raw []byte, name string) (text, encodingName string, err error) {
	if name != "" {
		enc, err := ianaindex.IANA.Encoding(name)
		if err != nil || enc == nil {
			return "", "", fmt.Errorf("no encoding of the name %q is known; IANA's names are such as UTF-8, windows-1252, macintosh, IBM850, windows-1250", name)
		}
		shown, err := ianaindex.IANA.Name(enc)
		if err != nil {
			shown = name
		}
		return convert(raw, enc), shown, nil
	}
	switch name, mark, ok := studbook.UnicodeOf(raw); {
	case !ok:
	case name == studbook.UTF16LE:
		return convert(raw[mark:], utf16.UTF16(utf16.LittleEndian, utf16.IgnoreBOM)), name, nil
	case name == studbook.UTF16BE:
		return convert(raw[mark:], utf16.UTF16(utf16.BigEndian, utf16.IgnoreBOM)), name, nil
	default:
		return strings.ToValidUTF8(string(raw[mark:]), "\uFFFD"), name, nil
	}
	best, bestScore := 0, -1<<62
	for i, c := range oneByte {
		if score := plausible(raw, c.enc); score > bestScore {
			best, bestScore = i, score
		}
	}
	return convert(raw, oneByte[best].enc), oneByte[best].name, nil
}

// oneByte are the encodings told apart by their letters; of two that do equally
// well the first is taken.
var oneByte = []struct {
	name string
	enc  *charmap.Charmap
}{
	{"windows-1252", charmap.Windows1252},
	{"macintosh", charmap.Macintosh},
	{"IBM850", charmap.CodePage850},
	{"windows-1250", charmap.Windows1250},
}

// plausible counts the letters beyond ASCII that western languages use much,
// less what no table of birds has.
func plausible(raw []byte, enc *charmap.Charmap) int {
	score := 0
	for i, b := range raw {
		if b < 0x80 {
			continue
		}
		before, after := i > 0 && isLetter(raw[i-1]), i+1 < len(raw) && isLetter(raw[i+1])
		switch c := enc.DecodeByte(b); {
		case unicode.IsLetter(c) && !before && !after && (i == 0 || raw[i-1] < 0x80) && (i+1 == len(raw) || raw[i+1] < 0x80):
			score -= 2 // a letter that stands alone was a sign
		case before && after && strings.ContainsRune("¹²³¿¡¼½¾£¥", c):
			score -= 4 // a sign inside a word is a letter of another encoding
		case strings.ContainsRune("†‡€™±×÷²³§©®´¿¡", c):
		case strings.ContainsRune("ąćęłńśźżčďěňřšťůžőű", c):
			score++
		case strings.ContainsRune("äöüßéèêëàâçñãõíóúáìòùôîïûœæøå", c):
			score += 2
		case strings.ContainsRune("ÄÖÜÉÈÊÀÂÇÑÃÕÍÓÚÁØÅŒ", c):
			if score++; before && after {
				score -= 3 // a capital inside a word
			}
		case strings.ContainsRune("\u00a0–’‘“”«»°ºª…½•", c):
			if before && after && c != '’' {
				score--
			}
		case unicode.IsLetter(c):
			score--
		default:
			score -= 2
		}
	}
	return score
}

func isLetter(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' }

func convert(raw []byte, enc encoding.Encoding) string {
	out, err := enc.NewDecoder().Bytes(raw)
	if err != nil {
		return string(bytes.ToValidUTF8(raw, []byte("\uFFFD")))
	}
	return strings.TrimPrefix(string(bytes.ToValidUTF8(out, []byte("\uFFFD"))), "\ufeff")
}

// accented returns up to three words of a text that have letters beyond ASCII,
// by which a reader sees that the encoding is right.
func accented(sheets []sheet) []string {
	var found []string
	for _, s := range sheets {
		for _, r := range s.Rows {
			for _, c := range r.Cells {
				if studbook.ASCII(c.Text) {
					continue
				}
				for w := range strings.FieldsSeq(c.Text) {
					w = strings.TrimFunc(w, func(c rune) bool { return !unicode.IsLetter(c) })
					if !studbook.ASCII(w) && !slices.Contains(found, w) {
						if found = append(found, w); len(found) == 3 {
							return found
						}
					}
				}
			}
		}
	}
	return found
}

// delimiters are what may stand between the cells of a table of text.
const delimiters = ",;\t|"

// findDelimiter returns the delimiter that cuts the most of the first lines
// into the same number of cells.
func findDelimiter(text string) byte {
	if first, _, _ := strings.Cut(text, "\n"); len(first) >= 5 && strings.EqualFold(first[:4], "sep=") {
		return first[4] // some spreadsheets say so themselves
	}
	var counts [len(delimiters)]map[int]int
	for d := range counts {
		counts[d] = make(map[int]int)
	}
	lines, quoted := 0, false
	var here [len(delimiters)]int
	for i := 0; i < len(text) && lines < 200; i++ {
		switch c := text[i]; {
		case c == '"':
			quoted = !quoted
		case c == '\n' && !quoted:
			for d := range here {
				if here[d] > 0 {
					counts[d][here[d]]++
				}
				here[d] = 0
			}
			lines++
		case !quoted:
			if d := strings.IndexByte(delimiters, c); d >= 0 {
				here[d]++
			}
		}
	}
	for d := range here {
		if here[d] > 0 {
			counts[d][here[d]]++
		}
	}
	best, bestScore := byte(','), 0
	for d := range counts {
		score := 0
		for n, times := range counts[d] {
			// Two lines that agree say more than two long ones that do not.
			if s := n * times * times; s > score {
				score = s
			}
		}
		if score > bestScore {
			best, bestScore = delimiters[d], score
		}
	}
	return best
}

// blanksToTabs puts a tab for the blanks between the cells of a table that has
// no other delimiter and as many words in every line, as programs of statistics
// write them; false if the text is something else.
func blanksToTabs(text string) (string, bool) {
	const fewest = 3 // cells
	first, _, _ := strings.Cut(text, "\n")
	width := len(strings.Fields(first))
	if width < fewest || strings.ContainsAny(first, delimiters) {
		return "", false
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		cells := strings.Fields(line)
		if len(cells) != width && len(cells) > 0 {
			return "", false
		}
		b.WriteString(strings.Join(cells, "\t"))
		b.WriteByte('\n')
	}
	return b.String(), true
}

// databaseNull is what databases write into tables of text where they hold nothing.
const databaseNull = `\N`

// readTable cuts a text into the rows of a sheet. A quotation mark that has no
// partner is a letter like any other.
func readTable(name, text string, delimiter byte) (sheet, error) {
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n") // as old Macintosh programs end lines
	}
	s := sheet{Sheet: sheets.Sheet{Name: name}}
	filled, stored := 0, 0 // rows with cells, and cells
	line, at := 1, 0
	if len(text) >= 5 && strings.EqualFold(text[:4], "sep=") {
		_, rest, _ := strings.Cut(text, "\n")
		at, line = len(text)-len(rest), 2
	}
	var fields []sheets.Cell
	for at < len(text) {
		begin := line
		fields = fields[:0]
		for {
			field, next, lines := cut(text, at, delimiter)
			if len(field) > sheets.MostLetters {
				return sheet{}, fmt.Errorf("line %d has a cell of %s letters, as where a quotation mark is never closed", line, studbook.Number(len(field)))
			}
			if field == databaseNull {
				field = ""
			}
			if len(fields) < mostColumns {
				fields = append(fields, sheets.TextCell(bare(field)))
			}
			at, line = next, line+lines
			if at >= len(text) || text[at] != delimiter {
				break
			}
			at++
		}
		if at < len(text) { // the end of the line
			at++
			line++
		}
		used := len(fields)
		for used > 0 && fields[used-1].Kind == sheets.Blank {
			used--
		}
		switch filled, stored = filled+min(used, 1), stored+used; {
		case stored > mostCells:
			return sheet{}, errTooBig
		case filled > mostRows:
			return sheet{}, errTooLong
		}
		s.Rows = append(s.Rows, sheets.Row{Line: begin, Cells: slices.Clone(fields[:used])})
	}
	for n := len(s.Rows); n > 0 && len(s.Rows[n-1].Cells) == 0; n-- {
		s.Rows = s.Rows[:n-1]
	}
	return s, nil
}

// cut returns the field that begins at a place of a text, where it ends (at a
// delimiter, a line's end or the text's) and how many lines it ran over.
func cut(text string, at int, delimiter byte) (field string, next, lines int) {
	start := at
	for start < len(text) && text[start] == ' ' {
		start++
	}
	if start < len(text) && text[start] == '"' {
		var b strings.Builder
		plain := true
		begin := start + 1
		for i := begin; i < len(text); i++ {
			switch {
			case text[i] == '\n':
				lines++
			case text[i] != '"':
			case i+1 < len(text) && text[i+1] == '"':
				b.WriteString(text[begin : i+1])
				plain = false
				i++
				begin = i + 1
			default:
				end := i + 1
				for end < len(text) && (text[end] == ' ' || text[end] == '\r') {
					end++
				}
				if end < len(text) && text[end] != delimiter && text[end] != '\n' {
					return unquoted(text, at, delimiter)
				}
				if plain {
					return text[begin:i], end, lines
				}
				b.WriteString(text[begin:i])
				return b.String(), end, lines
			}
		}
	}
	return unquoted(text, at, delimiter)
}

func unquoted(text string, at int, delimiter byte) (string, int, int) {
	for i := at; i < len(text); i++ {
		if text[i] == delimiter || text[i] == '\n' {
			return text[at:i], i, 0
		}
	}
	return text[at:], len(text), 0
}

// bare takes from a cell of a table of text the signs by which programs keep a spreadsheet
// from reading it as a number: an apostrophe before digits, or ="0042".
func bare(s string) string {
	if body, ok := strings.CutPrefix(s, `="`); ok {
		if body, ok = strings.CutSuffix(body, `"`); ok && !strings.Contains(body, `"`) {
			return body
		}
	}
	if len(s) > 1 && s[0] == '\'' && s[1] >= '0' && s[1] <= '9' {
		return s[1:]
	}
	return studbook.Unguarded(s)
}
