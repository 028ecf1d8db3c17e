package document

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Site is a site that shows documents within its own pages.
type Site struct {
	// Address returns the address of what a text names, as the id of a bird,
	// and "" for a text that names nothing; it is nil where nothing has a page.
	Address func(id string) string
	// Called returns the name that stands in brackets behind an id, "" for none:
	// 7 (Moss) is a bird where 7 alone may be a number. It may be nil.
	Called func(id string) string
	// Before are the words behind which an id stands and never a number, as in "mate of
	// 7".
	Before []string
	// Longest is the length in bytes of the longest id that is no single word, as
	// one with a space in it; 0 where there is none.
	Longest int
	// Fields makes of each blank a field of the form FillForm.
	Fields bool
}

// StyleSheet returns the style sheet of documents, which a site needs for their
// fragments.
func StyleSheet() []byte { return []byte(stylesheet()) }

// WriteFragment writes what a document says as a part of a page that has its
// title already: without the page around it, without styles, scripts and
// landmarks. What the site has a page for leads there.
func (s Site) WriteFragment(w io.Writer, d *Document) error {
	onScreen := *d
	onScreen.Portable = false // drawings are in the page
	put := func(page string) string { return page }
	if shown := &onScreen; s.Fields {
		shown, put = withFields(shown)
		onScreen = *shown
	}
	p, err := newPage(&onScreen, &s)
	if err != nil {
		return err
	}
	var b bytes.Buffer // whole or not at all
	if err := templates().ExecuteTemplate(&b, "fragment", p); err != nil {
		return fmt.Errorf("document: %w", err)
	}
	_, err = io.WriteString(w, put(b.String()))
	return err
}

// Class returns the class that the body of a page with the document needs, so
// that it prints as the document does; "" for none.
func (d *Document) Class() string {
	front, _ := d.parts()
	switch {
	case d.Brief:
		return "brief"
	case len(front) > 0:
		return "signed"
	}
	return ""
}

// text writes a text for the page.
func (b *pageBuilder) text(s string) template.HTML {
	if b.site == nil {
		return template.HTML(escape(Clean(s)))
	}
	return b.site.Marked(s)
}

// Marked writes a text with what the site has pages for as links: the words and the
// longer ids that cannot be anything else.
func (s *Site) Marked(text string) template.HTML {
	if s.Address == nil {
		return template.HTML(escape(Clean(text)))
	}
	var out strings.Builder
	within := false // the character before belongs to a word
	whole := Clean(text)
	for rest := whole; rest != ""; {
		n := 0
		if !within {
			n = s.idLength(whole[:len(whole)-len(rest)], rest)
		}
		if n > 0 {
			fmt.Fprintf(&out, `<a href="%s">%s</a>`, escape(s.Address(rest[:n])), escape(rest[:n]))
		} else if n = wordLength(rest); n > 0 {
			out.WriteString(escape(rest[:n]))
		} else {
			_, n = utf8.DecodeRuneInString(rest)
			out.WriteString(escape(rest[:n]))
		}
		last, _ := utf8.DecodeLastRuneInString(rest[:n])
		within = isWordRune(last)
		rest = rest[n:]
	}
	return template.HTML(out.String())
}

// idLength returns the length of the id that a text begins with, 0 where there is none
// that cannot be a number or a word of a sentence; before is the text before it.
func (s *Site) idLength(before, text string) int {
	word := wordLength(text)
	for n := min(s.Longest, len(text)); n > word; n-- {
		next, _ := utf8.DecodeRuneInString(text[n:])
		if s.Address(text[:n]) != "" && !isWordRune(next) {
			return n
		}
	}
	id := text[:word]
	if word == 0 || s.Address(id) == "" {
		return 0
	}
	named := false
	if s.Called != nil {
		name := s.Called(id)
		named = name != "" && strings.HasPrefix(text[word:], " ("+Clean(name)+")")
	}
	expected := slices.ContainsFunc(s.Before, func(words string) bool { return strings.HasSuffix(before, words+" ") })
	if !named && !expected && !telling(id) {
		return 0
	}
	return word
}

// pairOf splits a text that is two ids and nothing else: "7 and 12".
func (s *Site) pairOf(text string) (one, other string, ok bool) {
	one, other, ok = strings.Cut(text, " and ")
	return one, other, ok && s.Address(one) != "" && s.Address(other) != ""
}

// cell writes the text of a cell that has no link of its own. On a site a cell
// that is the id of a bird and nothing else leads to it: in the columns that
// name the row whatever the id, and two of them to both, elsewhere if it cannot be a
// number or a word.
func (b *pageBuilder) cell(c Cell, key bool) template.HTML {
	text := Clean(c.Text)
	if b.site == nil || b.site.Address == nil || c.Link != "" {
		return template.HTML(escape(text))
	}
	if to := b.site.Address(text); to != "" && c.Value == nil && (key || telling(text)) {
		return template.HTML(fmt.Sprintf(`<a href="%s">%s</a>`, escape(to), escape(text)))
	}
	if one, other, ok := b.site.pairOf(text); key && ok {
		return template.HTML(fmt.Sprintf(`<a href="%s">%s</a> and <a href="%s">%s</a>`, escape(b.site.Address(one)), escape(one), escape(b.site.Address(other)), escape(other)))
	}
	return b.text(text)
}

// escape writes a text as templates write it.
func escape(s string) string {
	return strings.ReplaceAll(template.HTMLEscapeString(s), "+", "&#43;")
}

// wordLength returns the length of the word at the beginning of a text: of
// letters, digits and what may stand between them within a name.
func wordLength(s string) int {
	end := 0
	for i, r := range s {
		switch {
		case isWordRune(r):
			end = i + utf8.RuneLen(r)
		case end == 0 || !strings.ContainsRune("-_./", r):
			return end
		}
	}
	return end
}

func isWordRune(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) }

// IsWord reports whether an id is a single word.
func IsWord(id string) bool { return wordLength(id) == len(id) }

// telling reports whether a word can be told from the numbers and the words of
// a sentence: it has a digit and a letter.
func telling(word string) bool {
	return strings.ContainsFunc(word, unicode.IsDigit) && strings.ContainsFunc(word, unicode.IsLetter)
}
