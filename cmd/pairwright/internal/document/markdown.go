package document

import (
	"bufio"
	"io"
	"regexp"
	"strings"
)

// WriteMarkdown writes a document as CommonMark with pipe tables. A figure
// becomes its caption and what it shows in words.
func WriteMarkdown(w io.Writer, d *Document) error {
	m := &markdownWriter{w: bufio.NewWriter(w)}
	m.heading("#", d.Title)
	if d.Lead != "" {
		m.block(Paragraph(d.Lead))
	}
	front, rest := d.parts()
	m.sections(front)
	m.block(d.Facts)
	if len(d.About) > 0 {
		m.block(Paragraph(d.About.line()))
	}
	m.sections(rest)
	if len(d.Notes) > 0 {
		m.heading("##", "Notes")
		m.block(List(d.Notes))
	}
	if d.Footer != "" {
		m.block(Paragraph(d.Footer))
	}
	return m.w.Flush()
}

func (m *markdownWriter) sections(sections []Section) {
	for _, s := range sections {
		m.heading("##", s.Title)
		for _, b := range s.Blocks {
			m.block(b)
		}
	}
}

// markdownWriter writes blocks with an empty line between them. Errors of the
// writer below are kept by w until it is flushed.
type markdownWriter struct {
	w     *bufio.Writer
	begun bool
}

// lines writes a block of lines.
func (m *markdownWriter) lines(lines ...string) {
	if len(lines) == 0 {
		return
	}
	if m.begun {
		m.w.WriteByte('\n')
	}
	m.begun = true
	for _, l := range lines {
		m.w.WriteString(l)
		m.w.WriteByte('\n')
	}
}

func (m *markdownWriter) heading(mark, title string) {
	if title = markdown(title); title != "" {
		m.lines(mark + " " + title)
	}
}

func (m *markdownWriter) block(b Block) {
	switch b := b.(type) {
	case Paragraph:
		m.lines(markdownBlock(string(b)))
	case List:
		m.list(b)
	case Facts:
		var out []string
		for _, f := range b {
			out = append(out, "- **"+markdown(f.Name)+"**: "+markdown(f.Value))
		}
		m.lines(out...)
	case *Table:
		m.table(b)
	case *Figure:
		if b.Caption != "" {
			m.lines("**Figure: " + markdown(b.Caption) + "**")
		}
		m.list(lines(b.Alt))
	}
}

func (m *markdownWriter) list(items []string) {
	var out []string
	for _, item := range items {
		out = append(out, "- "+markdownBlock(item))
	}
	m.lines(out...)
}

func (m *markdownWriter) table(t *Table) {
	if t.Caption != "" {
		m.lines("**" + markdown(t.Caption) + "**")
	}
	if len(t.Columns) > 0 {
		var names, rules []string
		for _, c := range t.Columns {
			name := markdown(c.Name)
			if c.Unit != "" {
				name += " (" + markdown(c.Unit) + ")"
			}
			names = append(names, name)
			if c.Right {
				rules = append(rules, "---:")
			} else {
				rules = append(rules, "---")
			}
		}
		out := []string{pipes(names), pipes(rules)}
		for _, r := range t.Rows {
			var cells []string
			for j := range t.Columns {
				cells = append(cells, markdown(r.cell(j).Text))
			}
			out = append(out, pipes(cells))
		}
		m.lines(out...)
	}
	if len(t.Rows) == 0 {
		m.lines("(none)")
	}
	if t.More != "" {
		m.lines(markdownBlock(t.More))
	}
}

func pipes(cells []string) string { return "| " + strings.Join(cells, " | ") + " |" }

var (
	markdownMarks = strings.NewReplacer(
		`\`, `\\`, "`", "\\`", `*`, `\*`, `_`, `\_`, `#`, `\#`, `[`, `\[`, `]`, `\]`, `|`, `\|`, `~`, `\~`,
		`<`, `&lt;`, `>`, `&gt;`, `&`, `&amp;`, `://`, `:\//`)
	// markdownStart finds what at its start would make a list or a rule of a
	// paragraph.
	markdownStart = regexp.MustCompile(`^([0-9]*)([-+.)=])([-+ =]|$)`)
)

// markdown escapes a text so that it shows as it is and makes no link of its
// own; markdownBlock does so at the start of a block.
func markdown(s string) string { return markdownMarks.Replace(Clean(s)) }

func markdownBlock(s string) string {
	return markdownStart.ReplaceAllString(markdown(s), `$1\$2$3`)
}
