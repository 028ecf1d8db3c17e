//go:build browser

package report

import (
	"context"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/transfer"
	"pairwright/pedigree"
)

// newBrowser starts a chromium without a window, with a profile of its own
// and nothing that calls home.
func newBrowser(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath("/usr/bin/chromium"),
		chromedp.NoSandbox,
		chromedp.DisableGPU,
		chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.UserDataDir(t.TempDir()),
	)
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// serve shows a document at an address of this machine.
func serve(t *testing.T, d *Document) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		assert.NoError(t, WriteHTML(w, d))
	}))
	t.Cleanup(s.Close)
	return s.URL
}

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
		d.Sections = append(d.Sections, Section{Title: "Another bird", Blocks: []Block{AncestryFigure(randomAncestry(rng))}})
	}
	return d
}

// layout is what a page reports of itself: how far it is wider than the
// window, texts of drawings that leave their drawing or lie over each other.
const layout = `(() => {
	const out = {overflow: document.documentElement.scrollWidth - window.innerWidth, outside: [], over: [], font: 99};
	for (const svg of document.querySelectorAll("svg")) {
		const frame = svg.viewBox.baseVal;
		const boxes = [...svg.querySelectorAll("text")].filter(e => e.textContent !== "?").map(e => ({what: e.lastChild ? e.lastChild.textContent : "", box: e.getBBox()}));
		boxes.forEach((a, i) => {
			if (a.box.x < 0 || a.box.y < 0 || a.box.x + a.box.width > frame.width || a.box.y + a.box.height > frame.height) out.outside.push(a.what);
			for (const b of boxes.slice(0, i)) {
				// The boxes have the full height of the font, with room above
				// capitals and below descenders that may be shared.
				const x = Math.min(a.box.x + a.box.width, b.box.x + b.box.width) - Math.max(a.box.x, b.box.x);
				const y = Math.min(a.box.y + a.box.height, b.box.y + b.box.height) - Math.max(a.box.y, b.box.y);
				if (x > 0 && y > 3) out.over.push(a.what + " / " + b.what);
			}
		});
	}
	for (const e of document.querySelectorAll("td, th, p, li, dd")) out.font = Math.min(out.font, parseFloat(getComputedStyle(e).fontSize));
	return out;
})()`

func TestBrowserLayout(t *testing.T) {
	browser := newBrowser(t)
	for name, d := range map[string]*Document{"sample": sample(), "hostile": hostileDocument(), "long": longDocument()} {
		url := serve(t, d)
		for _, width := range []int64{320, 800, 1280} {
			require.NoError(t, chromedp.Do(browser, chromedp.EmulateViewport(width, 900), chromedp.Navigate(url)))
			got, err := chromedp.Run(browser, chromedp.Evaluate[struct {
				Overflow      float64
				Outside, Over []string
				Font          float64
			}](layout))
			require.NoError(t, err)
			assert.LessOrEqual(t, got.Overflow, 0.0, "%s at %d: the page is wider than the window", name, width)
			assert.Empty(t, got.Outside, "%s at %d: texts outside their drawing", name, width)
			assert.Empty(t, got.Over, "%s at %d: texts over each other", name, width)
			assert.GreaterOrEqual(t, got.Font, 14.0, "%s at %d: smallest text", name, width)
		}
	}
}

// TestBrowserPrint prints on A4 and on Letter and counts the pages; nothing
// may be shrunk to fit.
func TestBrowserPrint(t *testing.T) {
	browser := newBrowser(t)
	for _, paper := range []struct {
		name string
		size chromedp.PaperSize
	}{{"A4", chromedp.PaperA4}, {"Letter", chromedp.PaperLetter}} {
		for _, doc := range []struct {
			name        string
			d           *Document
			least, most int
		}{{"sample", sample(), 2, 2}, {"long", longDocument(), 8, 14}} {
			require.NoError(t, chromedp.Do(browser, chromedp.Navigate(serve(t, doc.d))))
			pdf, err := chromedp.Run(browser, chromedp.PrintToPDF(chromedp.PDFPaper(paper.size)))
			require.NoError(t, err)
			pages := pdfPages(pdf)
			assert.True(t, pages >= doc.least && pages <= doc.most, "%s on %s has %d pages", doc.name, paper.name, pages)
		}

		// In print the content is as wide as the paper less margins of 14 mm.
		_, err := chromedp.Call(browser, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		require.NoError(t, err)
		inner := int64((paper.size.Width - 28/25.4) * 96)
		require.NoError(t, chromedp.Do(browser, chromedp.EmulateViewport(inner, 1000), chromedp.Navigate(serve(t, longDocument()))))
		wide, err := chromedp.Run(browser, chromedp.Evaluate[[]string](`[...document.querySelectorAll("section:not(.broad) table, section:not(.broad) svg")]
			.filter(e => e.getBoundingClientRect().right > window.innerWidth + 0.5).map(e => e.textContent.trim().slice(0, 30))`))
		require.NoError(t, err)
		_, err = chromedp.Call(browser, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
		require.NoError(t, err)
		assert.Empty(t, wide, "wider than %s", paper.name)
	}
}

// faults is what is wrong with a page: links that lead nowhere, pictures that
// do not show.
const faults = `[
	...[...document.querySelectorAll("a")].filter(a => !document.getElementById(decodeURIComponent(a.getAttribute("href").slice(1)))).map(a => "link " + a.getAttribute("href")),
	...[...document.images].filter(i => !(i.complete && i.naturalWidth > 0)).map(i => "picture " + i.alt.slice(0, 40)),
]`

// TestBrowserOfTheExample shows and prints real documents of the example
// colony.
func TestBrowserOfTheExample(t *testing.T) {
	p := harrowFell(t, 2026)
	moss, err := p.Bird("C0734")
	require.NoError(t, err)
	profile, err := p.Profile(t.Context(), moss, pedigree.Drop{Seed: 1}, pairing.Options{Seed: 1})
	require.NoError(t, err)
	request, err := transfer.Find(t.Context(), p, transfer.Question{Bird: "C0734", Seed: 1})
	require.NoError(t, err)

	browser := newBrowser(t)
	var lock sync.Mutex // the browser tells from a goroutine of its own
	var complaints []string
	require.NoError(t, chromedp.Listen(browser, func(event any) {
		lock.Lock()
		defer lock.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			complaints = append(complaints, e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			complaints = append(complaints, e.Entry.Text+" "+e.Entry.URL)
		}
	}))
	for _, doc := range []struct {
		name  string
		d     *Document
		pages int // at most, on A4 or Letter
	}{
		{"review", ReviewDocument(reviewOfExample(t)), 21},
		{"transfer", TransferDocument(p, request, "HAF"), 4},
		{"bird", BirdDocument(p, profile), 3},
	} {
		url := serve(t, doc.d)
		for _, width := range []int64{320, 800, 1280} {
			require.NoError(t, chromedp.Do(browser, chromedp.EmulateViewport(width, 900), chromedp.Navigate(url)))
			wide, err := chromedp.Run(browser, chromedp.Evaluate[float64](`document.documentElement.scrollWidth - window.innerWidth`))
			require.NoError(t, err)
			assert.LessOrEqual(t, wide, 0.0, "%s at %d: the page is wider than the window", doc.name, width)
		}
		wrong, err := chromedp.Run(browser, chromedp.Evaluate[[]string](faults))
		require.NoError(t, err)
		assert.Empty(t, wrong, doc.name)
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			pdf, err := chromedp.Run(browser, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			require.NoError(t, err)
			assert.LessOrEqual(t, pdfPages(pdf), doc.pages, "%s on paper %.1f inches wide", doc.name, paper.Width)
		}
	}
	lock.Lock()
	defer lock.Unlock()
	complaints = slices.DeleteFunc(complaints, func(s string) bool { return strings.Contains(s, "favicon.ico") })
	assert.Empty(t, complaints, "what the browser says of the pages")
}

// pdfPages counts the page objects of a PDF.
func pdfPages(pdf []byte) int {
	return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
}
