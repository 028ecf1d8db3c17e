package document

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Site is a site that shows documents within its own pages.
type Site struct {
	// Address returns the address of what a word names, as the id of a bird,
	// and "" for a word that names nothing.
	Address func(word string) string
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
	p, err := newPage(&onScreen, s.Address)
	if err != nil {
		return err
	}
	var b bytes.Buffer // whole or not at all
	if err := templates().ExecuteTemplate(&b, "fragment", p); err != nil {
		return fmt.Errorf("report: %w", err)
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

// text writes a clean text for the page. On a site the words that it has pages
// for are links.
func (b *pageBuilder) text(s string) template.HTML {
	s = Clean(s)
	if b.address == nil {
		return template.HTML(escape(s))
	}
	var out strings.Builder
	for rest := s; rest != ""; {
		word := rest[:wordLength(rest)]
		if word == "" { // what stands between words
			_, n := utf8.DecodeRuneInString(rest)
			out.WriteString(escape(rest[:n]))
			rest = rest[n:]
			continue
		}
		rest = rest[len(word):]
		escaped := escape(word)
		if to := b.address(word); to != "" && telling(word) {
			fmt.Fprintf(&out, `<a href="%s">%s</a>`, escape(to), escaped)
		} else {
			out.WriteString(escaped)
		}
	}
	return template.HTML(out.String())
}

// cell writes the text of a cell that has no link of its own. On a site a cell
// that is the id of a bird and nothing else leads to it: in the columns that
// name the row whatever the id, elsewhere if it cannot be a number or a word.
func (b *pageBuilder) cell(c Cell, key bool) template.HTML {
	text := Clean(c.Text)
	if b.address == nil || c.Link != "" {
		return template.HTML(escape(text))
	}
	if to := b.address(text); to != "" && c.Value == nil && (key || telling(text)) {
		return template.HTML(fmt.Sprintf(`<a href="%s">%s</a>`, escape(to), escape(text)))
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
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			end = i + utf8.RuneLen(r)
		case end == 0 || !strings.ContainsRune("-_./", r):
			return end
		}
	}
	return end
}

// telling reports whether a word can be told from the numbers and the words of
// a sentence: it has a digit and a letter.
func telling(word string) bool {
	return strings.ContainsFunc(word, unicode.IsDigit) && strings.ContainsFunc(word, unicode.IsLetter)
}
