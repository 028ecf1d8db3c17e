package exchange

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// node is a line of GEDCOM and what stands beneath it.
type node struct {
	line            int
	xref, tag, text string
	under           []*node
}

// gedcomStart is how a family tree begins: with its header, or, where a program left that out,
// with a record.
var gedcomStart = pattern(`(?i)^\s*0[ \t]+(?:HEAD|@[^@\s]+@[ \t]+[A-Z_]+)[ \t]*(?:\r|\n|$)`)

// get returns the first line of a tag beneath a node, nil if there is none.
func (n *node) get(tag string) *node {
	for _, u := range n.under {
		if u.tag == tag {
			return u
		}
	}
	return nil
}

// event returns the first event of a tag that has a date, else the first; nil if there is none.
func (n *node) event(tag string) *node {
	for _, u := range n.under {
		if u.tag == tag && u.value("DATE") != "" {
			return u
		}
	}
	return n.get(tag)
}

// value returns the text beneath a node by a path of tags, "" if there is none.
func (n *node) value(tags ...string) string {
	for _, t := range tags {
		if n = n.get(t); n == nil {
			return ""
		}
	}
	return n.text
}

// parseGEDCOM reads lines of the form "level [@xref@] tag [value]" into the
// records of level 0. Lines that are none are counted.
func parseGEDCOM(text string) (records []*node, odd int) {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	var open []*node
	number := 0
	for line := range strings.SplitSeq(text, "\n") {
		number++
		line = strings.TrimLeft(line, " \t\ufeff")
		if strings.TrimSpace(line) == "" {
			continue
		}
		head, rest := cutBlank(line)
		level, err := strconv.Atoi(head)
		if err != nil || level < 0 || level > len(open) || level > 99 {
			odd++
			continue
		}
		n := &node{line: number}
		if rest = strings.TrimLeft(rest, " \t"); strings.HasPrefix(rest, "@") && !strings.HasPrefix(rest, "@@") {
			if end := strings.IndexByte(rest[1:], '@'); end > 0 {
				n.xref = rest[1 : end+1]
				rest = strings.TrimLeft(rest[end+2:], " \t")
			}
		}
		n.tag, n.text = cutBlank(rest)
		n.tag = strings.ToUpper(strings.TrimSpace(n.tag))
		if strings.HasPrefix(n.text, "@@") {
			n.text = n.text[1:]
		}
		if level == 0 {
			records = append(records, n)
		} else {
			above := open[level-1]
			switch n.tag {
			case "CONT":
				above.text += "\n" + n.text
			case "CONC":
				above.text += n.text
			default:
				above.under = append(above.under, n)
			}
		}
		open = append(open[:level], n)
	}
	return records, odd
}

// cutBlank cuts a text at its first blank or tab.
func cutBlank(s string) (before, after string) {
	if k := strings.IndexAny(s, " \t"); k >= 0 {
		return s[:k], s[k+1:]
	}
	return s, ""
}

// pointer returns the record that a value such as @F1@ points to, "" if none.
func pointer(s string) string {
	s = strings.TrimSpace(s)
	if len(s) < 3 || s[0] != '@' || s[len(s)-1] != '@' || s == "@VOID@" {
		return ""
	}
	return s[1 : len(s)-1]
}

// ansel is the name of an encoding of libraries in the header of a family tree.
const ansel = "ANSEL"

// ownEncoding reads a family tree again in the encoding that its header names, where that has
// one byte for a letter and the file is not in UTF-8.
func ownEncoding(raw []byte, encoding string) (text, name string, ok bool) {
	if utf8.Valid(raw) {
		return "", "", false
	}
	switch strings.ToUpper(strings.TrimSpace(encoding)) {
	case ansel:
		return withoutAccents(raw), ansel, true
	case "ANSI", "WINDOWS-1252", "CP1252", "ISO-8859-1", "ISO8859-1", "LATIN1":
		return convert(raw, charmap.Windows1252), "windows-1252", true
	case "IBMPC", "IBM DOS", "MSDOS":
		return convert(raw, charmap.CodePage850), "IBM850", true
	case "MACINTOSH":
		return convert(raw, charmap.Macintosh), "macintosh", true
	}
	return "", "", false
}

// withoutAccents reads ANSEL (ANSI/NISO Z39.47), whose accents stand before their
// letter, leaving the accents out.
func withoutAccents(raw []byte) string {
	special := map[byte]string{
		0xA1: "Ł", 0xA2: "Ø", 0xA3: "Đ", 0xA4: "Þ", 0xA5: "Æ", 0xA6: "Œ", 0xB1: "ł", 0xB2: "ø", 0xB3: "đ", 0xB4: "þ", 0xB5: "æ", 0xB6: "œ",
		0xB8: "ı", 0xB9: "£", 0xBA: "ð", 0xC0: "°", 0xC3: "©", 0xC5: "¿", 0xC6: "¡", 0xC7: "ß", 0xCF: "ß",
	}
	var b strings.Builder
	for _, c := range raw {
		switch {
		case c < 0x80:
			b.WriteByte(c)
		case c >= 0xE0:
		default:
			b.WriteString(special[c])
		}
	}
	return b.String()
}
