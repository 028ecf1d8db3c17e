package sheets

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

// markup walks through the tags and texts of an XML document. Workbooks are a
// million cells long and of a plain kind of XML, so this does no more than they
// need: names without their prefix, attributes, character references. What is
// not well formed ends the walk or is passed over; nothing is looked up.
type markup struct {
	data []byte
	at   int

	name   string // of the tag, without prefix
	attrs  []byte
	open   bool // the tag begins an element
	close  bool // the tag ends an element; both for <a/>
	isText bool
	raw    []byte // of a text, references not resolved
	cdata  bool
}

// next goes to the next tag or text, false at the end.
func (m *markup) next() bool {
	for m.at < len(m.data) {
		rest := m.data[m.at:]
		if rest[0] != '<' {
			end := bytes.IndexByte(rest, '<')
			if end < 0 {
				end = len(rest)
			}
			m.at += end
			m.isText, m.open, m.close, m.cdata, m.raw, m.name = true, false, false, false, rest[:end], ""
			return true
		}
		switch {
		case bytes.HasPrefix(rest, []byte("<![CDATA[")):
			body, _, ok := bytes.Cut(rest[9:], []byte("]]>"))
			m.at += 9 + len(body)
			if ok {
				m.at += 3
			}
			m.isText, m.open, m.close, m.cdata, m.raw, m.name = true, false, false, true, body, ""
			return true
		case bytes.HasPrefix(rest, []byte("<!--")):
			end := bytes.Index(rest, []byte("-->"))
			if end < 0 {
				m.at = len(m.data)
				return false
			}
			m.at += end + 3
			continue
		}
		end := tagEnd(rest)
		if end < 0 {
			m.at = len(m.data)
			return false
		}
		m.at += end + 1
		tag := rest[1:end]
		if len(tag) == 0 || tag[0] == '?' || tag[0] == '!' {
			continue
		}
		m.isText, m.open, m.close = false, true, false
		if tag[0] == '/' {
			m.open, m.close = false, true
			tag = tag[1:]
		} else if tag[len(tag)-1] == '/' {
			m.close = true
			tag = tag[:len(tag)-1]
		}
		k := 0
		for k < len(tag) && !space(tag[k]) {
			k++
		}
		m.name, m.attrs = tagName(localName(tag[:k])), tag[k:]
		return true
	}
	return false
}

// deeper is by how much the depth in elements of the tag's name changes with it.
func (m *markup) deeper() int {
	switch {
	case m.open == m.close:
		return 0
	case m.open:
		return 1
	}
	return -1
}

// tagEnd returns where the tag at the beginning of a text ends, attribute
// values passed over.
func tagEnd(s []byte) int {
	quote := byte(0)
	for i := 1; i < len(s); i++ {
		switch c := s[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return i
		}
	}
	return -1
}

// space reports whether a sign is one of XML's white space.
func space(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }

func localName(name []byte) []byte {
	if k := bytes.IndexByte(name, ':'); k >= 0 {
		return name[k+1:]
	}
	return name
}

// tagName spares the commonest names an allocation.
func tagName(name []byte) string {
	switch string(name) {
	case "c":
		return "c"
	case "v":
		return "v"
	case "t":
		return "t"
	case "row":
		return "row"
	case "is":
		return "is"
	case "p":
		return "p"
	case "f":
		return "f"
	case "table-cell":
		return "table-cell"
	case "covered-table-cell":
		return "covered-table-cell"
	case "table-row":
		return "table-row"
	}
	return string(name)
}

// nextAttr takes the next attribute off a list of them: its name without prefix, and
// its value with references not resolved; ok is false at the end.
func nextAttr(list *[]byte) (name, value []byte, ok bool) {
	rest := *list
	for len(rest) > 0 && space(rest[0]) {
		rest = rest[1:]
	}
	eq := bytes.IndexByte(rest, '=')
	if eq < 0 {
		return nil, nil, false
	}
	name = localName(bytes.TrimSpace(rest[:eq]))
	rest = rest[eq+1:]
	for len(rest) > 0 && space(rest[0]) {
		rest = rest[1:]
	}
	if len(rest) == 0 || rest[0] != '"' && rest[0] != '\'' {
		return nil, nil, false
	}
	end := bytes.IndexByte(rest[1:], rest[0])
	if end < 0 {
		return nil, nil, false
	}
	value, *list = rest[1:end+1], rest[end+2:]
	return name, value, true
}

// attr returns an attribute of the tag by its name without prefix.
func (m *markup) attr(name string) (string, bool) {
	for list := m.attrs; ; {
		key, value, ok := nextAttr(&list)
		if !ok {
			return "", false
		}
		if string(key) == name {
			return unescape(value), true
		}
	}
}

// count returns an attribute that is a whole number, or what else to take.
func (m *markup) count(name string, otherwise int) int {
	s, ok := m.attr(name)
	if !ok {
		return otherwise
	}
	return whole(s, otherwise)
}

// whole returns the whole number that a text is, or what else to take.
func whole(s string, otherwise int) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		return otherwise
	}
	return n
}

// text returns the text the walk stands at.
func (m *markup) text() string {
	if m.cdata {
		return string(m.raw)
	}
	return unescape(m.raw)
}

// appendText appends the text the walk stands at.
func (m *markup) appendText(out []byte) []byte {
	if m.cdata {
		return append(out, m.raw...)
	}
	return appendUnescaped(out, m.raw)
}

// unescape resolves the references of XML.
func unescape(s []byte) string {
	if bytes.IndexByte(s, '&') < 0 {
		return string(s)
	}
	return string(appendUnescaped(nil, s))
}

func appendUnescaped(out, s []byte) []byte {
	for len(s) > 0 {
		if s[0] != '&' {
			k := bytes.IndexByte(s, '&')
			if k < 0 {
				k = len(s)
			}
			out, s = append(out, s[:k]...), s[k:]
			continue
		}
		end := bytes.IndexByte(s[:min(len(s), 12)], ';')
		if end < 0 {
			out, s = append(out, '&'), s[1:]
			continue
		}
		ref := string(s[1:end])
		s = s[end+1:]
		switch ref {
		case "amp":
			out = append(out, '&')
		case "lt":
			out = append(out, '<')
		case "gt":
			out = append(out, '>')
		case "quot":
			out = append(out, '"')
		case "apos":
			out = append(out, '\'')
		default:
			var n uint64
			var err error = strconv.ErrSyntax
			if len(ref) > 2 && ref[0] == '#' && (ref[1] == 'x' || ref[1] == 'X') {
				n, err = strconv.ParseUint(ref[2:], 16, 32)
			} else if len(ref) > 1 && ref[0] == '#' {
				n, err = strconv.ParseUint(ref[1:], 10, 32)
			}
			if err == nil {
				out = utf8.AppendRune(out, rune(n))
			}
		}
	}
	return out
}
