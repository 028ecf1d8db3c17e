package web

import (
	"regexp"
	"slices"

	"pairwright/cmd/pairwright/internal/document"
)

// How documents and messages speak of the command line.
var (
	command = regexp.MustCompile(`: pairwright [a-z]+`)
	flag    = regexp.MustCompile(`--([a-z])`)
	mates   = regexp.MustCompile(`with mates (\S+)$`)
)

// withoutFlags calls settings as pages do.
func withoutFlags(text string) string { return flag.ReplaceAllString(text, "$1") }

// forPage takes out of a document what it says of the command line: the page has
// a link or a field in its place.
func forPage(d *document.Document) {
	d.Notes = slices.DeleteFunc(slices.Clone(d.Notes), command.MatchString)
	for _, s := range d.Sections {
		for _, block := range s.Blocks {
			if t, ok := block.(*document.Table); ok {
				t.More = mates.ReplaceAllString(withoutFlags(t.More), "on the page of $1")
			}
		}
	}
}
