package document

import (
	"crypto/rand"
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// blankRun is what stands where a person is to write: eight low lines or more.
var blankRun = regexp.MustCompile(`_{8,}`)

// Blank is a place of a document where a person is to write.
type Blank struct {
	Number int    // from 0, in the order of the document
	What   string // is to be written, in the words that stand there
	Alone  bool   // nothing else stands in its cell or line
}

// FillIn returns the document with each blank replaced by what fill returns for
// it; where that is "" the blank stays. Drawings, notes and captions have none.
func (d *Document) FillIn(fill func(Blank) string) *Document {
	n := 0
	text := func(s, what string) string {
		end := 0
		return blankRun.ReplaceAllStringFunc(s, func(run string) string {
			at := end + strings.Index(s[end:], run)
			x := Blank{Number: n, What: what, Alone: strings.Trim(s, "_") == ""}
			if before := lastPart(s[end:at]); before != "" {
				x.What = strings.TrimPrefix(what+": "+before, ": ")
			}
			n, end = n+1, at+len(run)
			if put := fill(x); put != "" {
				return put
			}
			return run
		})
	}
	facts := func(all Facts) Facts {
		all = slices.Clone(all)
		for k := range all {
			all[k].Value = text(all[k].Value, all[k].Name)
		}
		return all
	}
	filled := *d
	filled.Facts = facts(d.Facts)
	filled.Sections = slices.Clone(d.Sections)
	for k := range filled.Sections {
		s := &filled.Sections[k]
		s.Blocks = slices.Clone(s.Blocks)
		for j, block := range s.Blocks {
			switch v := block.(type) {
			case Paragraph:
				s.Blocks[j] = Paragraph(text(string(v), s.Title))
			case List:
				v = slices.Clone(v)
				for i := range v {
					v[i] = text(v[i], s.Title)
				}
				s.Blocks[j] = v
			case Facts:
				s.Blocks[j] = facts(v)
			case *Table:
				t := *v
				t.Rows = slices.Clone(t.Rows)
				for i := range t.Rows {
					r := &t.Rows[i]
					r.Cells = slices.Clone(r.Cells)
					for c := range r.Cells {
						r.Cells[c].Text = text(r.Cells[c].Text, label(t.Columns[c])+": "+Clean(r.cell(0).Text))
					}
				}
				s.Blocks[j] = &t
			}
		}
	}
	return &filled
}

// lastPart is what stands last before a blank, up to a full stop or semicolon.
func lastPart(s string) string {
	if at := strings.LastIndexAny(s, ".;"); at >= 0 {
		s = s[at+1:]
	}
	return strings.Trim(s, " :,+\u00a0")
}

// Blanks returns the blanks of a document.
func (d *Document) Blanks() []Blank {
	var all []Blank
	d.FillIn(func(b Blank) string {
		all = append(all, b)
		return ""
	})
	return all
}

// FillForm is the id of the form that the fields of a site's page belong to, and
// FillName the beginning of their names, which end in the number of the blank.
const (
	FillForm = "fill-in"
	FillName = "blank-"
)

// withFields returns a document with a mark at each blank, and what puts fields in
// the places of the marks once it is written.
func withFields(d *Document) (*Document, func(page string) string) {
	begin, end := "\uE000"+rand.Text(), "\uE001" // no text that was read has the same
	var blanks []Blank
	marked := d.FillIn(func(b Blank) string {
		blanks = append(blanks, b)
		return begin + strconv.Itoa(b.Number) + end
	})
	mark := regexp.MustCompile(begin + `(\d+)` + end)
	return marked, func(page string) string {
		return mark.ReplaceAllStringFunc(page, func(s string) string {
			n, err := strconv.Atoi(mark.FindStringSubmatch(s)[1])
			if err != nil || n >= len(blanks) {
				return ""
			}
			class := "fill"
			if !blanks[n].Alone {
				class += " within"
			}
			return fmt.Sprintf(`<input class="%s" form="%s" name="%s%d" maxlength="200" aria-label="%s" autocomplete="off">`,
				class, FillForm, FillName, n, template.HTMLEscapeString(blanks[n].What))
		})
	}
}
