//go:build browser

package drawing

import (
	"fmt"
	"io"
	"math/rand/v2"
	"testing"

	"pairwright/cmd/pairwright/internal/browser"
	"pairwright/cmd/pairwright/internal/document"
)

// The fonts of a browser are not those that the drawings were measured with:
// even so no text may leave its drawing or lie over another.
func TestBrowserAncestry(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	d := &document.Document{Title: "Ancestors"}
	for range 8 {
		d.Sections = append(d.Sections, document.Section{Title: "A bird", Blocks: []document.Block{AncestryFigure(randomAncestry(rng))}})
	}
	url := browser.Serve(t, func(w io.Writer) error { return document.WriteHTML(w, d) })
	browser.Sound(t, browser.Start(t), fmt.Sprintf("%d drawings", len(d.Sections)), url)
}
