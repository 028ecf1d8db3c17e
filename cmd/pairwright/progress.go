package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
)

// progressWidth is the number of characters of the bar.
const progressWidth = 30

// progress shows how much of long work is done.
type progress struct {
	w     io.Writer
	shown int // hundredths that the bar shows
}

// newProgress returns a bar on a terminal; nil where w is none.
func newProgress(w io.Writer) *progress {
	if file, ok := w.(*os.File); !ok || !terminal(file) {
		return nil
	}
	return &progress{w: w, shown: -1}
}

// tell draws the bar anew where it has changed.
func (p *progress) tell(done, of int) {
	hundredths := 100 * done / of
	if hundredths == p.shown {
		return
	}
	p.shown = hundredths
	full := progressWidth * done / of
	fmt.Fprintf(p.w, "\r%s%s %s of %s runs, Ctrl-C to stop here ", strings.Repeat("#", full), strings.Repeat(".", progressWidth-full), document.FormatCount(done), document.FormatCount(of))
}

// end takes the bar away.
func (p *progress) end() {
	if p != nil && p.shown >= 0 {
		fmt.Fprint(p.w, "\r\x1b[K") // erases the line
	}
}
