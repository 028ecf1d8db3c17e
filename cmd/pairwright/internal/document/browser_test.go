//go:build browser

package document

import (
	"io"
	"math/rand/v2"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/browser"
)

// longDocument has tables and drawings over many pages.
func longDocument() *Document {
	d := sample()
	rng := rand.New(rand.NewPCG(1, 2))
	table := *d.Sections[0].Blocks[1].(*Table)
	for len(table.Rows) < 120 {
		r := table.Rows[len(table.Rows)%3]
		r.Anchor = ""
		table.Rows = append(table.Rows, r)
	}
	d.Sections = append(d.Sections, Section{Title: "A long table", Blocks: []Block{&table}})
	broad := &Table{Caption: "Broad"}
	row := Row{}
	for range 20 {
		broad.Columns = append(broad.Columns, Column{Name: "Mean kinship", Right: true})
		row.Cells = append(row.Cells, figureCell(rng.Float64(), FormatKinship))
	}
	broad.Rows = []Row{row, row}
	d.Sections = append(d.Sections, Section{Title: "A broad table", Blocks: []Block{Paragraph("Twenty figures."), broad}})
	for range 4 {
		d.Sections = append(d.Sections, Section{Title: "Another bird", Blocks: []Block{sampleFigure()}})
	}
	return d
}

// served is the address of a document as a page.
func served(t *testing.T, d *Document) string {
	t.Helper()
	return browser.Serve(t, func(w io.Writer) error { return WriteHTML(w, d) })
}

func TestBrowserLayout(t *testing.T) {
	chromium := browser.Start(t)
	for name, d := range map[string]*Document{"sample": sample(), "hostile": hostileDocument(), "long": longDocument()} {
		browser.Sound(t, chromium, name, served(t, d))
	}
}

// TestBrowserPrint prints on A4 and on Letter and counts the pages; nothing
// may be shrunk to fit.
func TestBrowserPrint(t *testing.T) {
	chromium := browser.Start(t)
	for _, paper := range []struct {
		name string
		size chromedp.PaperSize
	}{{"A4", chromedp.PaperA4}, {"Letter", chromedp.PaperLetter}} {
		for _, doc := range []struct {
			name        string
			d           *Document
			least, most int
		}{{"sample", sample(), 2, 2}, {"long", longDocument(), 8, 14}} {
			require.NoError(t, chromedp.Do(chromium, chromedp.Navigate(served(t, doc.d))))
			pdf, err := chromedp.Run(chromium, chromedp.PrintToPDF(chromedp.PDFPaper(paper.size)))
			require.NoError(t, err)
			pages := browser.PDFPages(pdf)
			assert.True(t, pages >= doc.least && pages <= doc.most, "%s on %s has %d pages", doc.name, paper.name, pages)
		}

		// In print the content is as wide as the paper less margins of 14 mm.
		_, err := chromedp.Call(chromium, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		require.NoError(t, err)
		inner := int64((paper.size.Width - 28/25.4) * 96)
		require.NoError(t, chromedp.Do(chromium, chromedp.EmulateViewport(inner, 1000), chromedp.Navigate(served(t, longDocument()))))
		wide, err := chromedp.Run(chromium, chromedp.Evaluate[[]string](`[...document.querySelectorAll("section:not(.broad) table, section:not(.broad) svg")]
			.filter(e => e.getBoundingClientRect().right > window.innerWidth + 0.5).map(e => e.textContent.trim().slice(0, 30))`))
		require.NoError(t, err)
		_, err = chromedp.Call(chromium, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
		require.NoError(t, err)
		assert.Empty(t, wide, "wider than %s", paper.name)
	}
}
