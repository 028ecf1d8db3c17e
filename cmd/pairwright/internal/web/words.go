package web

import (
	"regexp"
	"slices"
	"strings"
	"sync"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
)

// pattern is a regular expression that is compiled when a page first needs it.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}

// How documents and messages speak of the command line.
var (
	command = pattern(`: pairwright [a-z]+`)
	flag    = pattern(`--([a-z])`)
	mates   = pattern(`with mates (\S+)$`)
	more    = pattern(`more with --top$`)
	events  = pattern(` \(record [a-z]+\)`)
	ofBird  = pattern(`\b(?:(mates|transfer|bird|parents) ID|parents --founder-kin)\b`)
	named   = pattern(`([Tt])he (?:(check|mates|transfer|bird|forecast) command|command (check|mates|transfer|bird|forecast))\b`)
)

// withoutFlags calls settings as pages do.
func withoutFlags(text string) string { return flag().ReplaceAllString(text, "$1") }

// pageOf is what the page is called that does what a command does.
var pageOf = map[string]string{"check": "Data", "mates": "Mates", "transfer": "Transfers", "bird": "Birds", "forecast": "Forecast", "parents": "Parents by DNA"}

// asOnPages speaks of pages and settings where a document speaks of commands and flags.
func asOnPages(text string) string {
	text = events().ReplaceAllString(text, "")
	begins := ofBird().FindStringIndex(text)
	text = ofBird().ReplaceAllStringFunc(text, func(said string) string {
		if name, bird := strings.CutSuffix(said, " ID"); bird {
			return "the page " + pageOf[name]
		}
		return "the page Kin among the founders, by DNA,"
	})
	if begins != nil && begins[0] == 0 {
		text = report.Capital(text)
	}
	return withoutFlags(named().ReplaceAllStringFunc(text, func(said string) string {
		m := named().FindStringSubmatch(said)
		return m[1] + "he page " + pageOf[m[2]+m[3]]
	}))
}

// forPage takes out of a document what it says of the command line: the page has
// a link or a field in its place.
func forPage(d *document.Document) {
	d.Notes = slices.DeleteFunc(slices.Clone(d.Notes), command().MatchString)
	for k := range d.Notes {
		d.Notes[k] = asOnPages(d.Notes[k])
	}
	for _, s := range d.Sections {
		for k, block := range s.Blocks {
			switch b := block.(type) {
			case *document.Table:
				b.More = more().ReplaceAllString(b.More, "more under “Ask otherwise”")
				b.More = mates().ReplaceAllString(asOnPages(b.More), "on the page of $1")
			case document.List:
				said := make(document.List, len(b))
				for i := range b {
					said[i] = asOnPages(b[i])
				}
				s.Blocks[k] = said
			case document.Paragraph:
				if strings.Contains(string(b), "--"+attachSetting) {
					b = "They can be saved as a workbook that a studbook can take in, at the foot of the page."
				}
				s.Blocks[k] = document.Paragraph(asOnPages(string(b)))
			}
		}
	}
}
