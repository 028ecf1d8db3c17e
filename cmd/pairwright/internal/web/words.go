package web

import (
	"regexp"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
)

// How documents and messages speak of the command line.
var (
	command = regexp.MustCompile(`: pairwright [a-z]+`)
	flag    = regexp.MustCompile(`--([a-z])`)
	mates   = regexp.MustCompile(`with mates (\S+)$`)
	more    = regexp.MustCompile(`more with --top$`)
)

// withoutFlags calls settings as pages do.
func withoutFlags(text string) string { return flag.ReplaceAllString(text, "$1") }

// forPage takes out of a document what it says of the command line: the page has
// a link or a field in its place.
func forPage(d *document.Document) {
	d.Notes = slices.DeleteFunc(slices.Clone(d.Notes), command.MatchString)
	for k := range d.Notes {
		d.Notes[k] = withoutFlags(d.Notes[k])
	}
	for _, s := range d.Sections {
		for k, block := range s.Blocks {
			switch b := block.(type) {
			case *document.Table:
				b.More = more.ReplaceAllString(b.More, "more under “Ask otherwise”")
				b.More = mates.ReplaceAllString(withoutFlags(b.More), "on the page of $1")
			case document.Paragraph:
				if strings.Contains(string(b), "--"+attachSetting) {
					b = "They can be saved as a workbook that a studbook can take in, at the foot of the page."
				}
				s.Blocks[k] = document.Paragraph(withoutFlags(string(b)))
			}
		}
	}
}
