//go:build browser

package report

import (
	"io"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/browser"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pairing/board"
	"pairwright/pairing/transfer"
	"pairwright/pedigree"
)

// TestBrowserOfTheExample shows and prints real documents of the example
// colony.
func TestBrowserOfTheExample(t *testing.T) {
	p := harrowFell(t, 2026)
	moss, err := p.Bird("C0734")
	require.NoError(t, err)
	decision, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	ranker, err := pairing.NewRanker(t.Context(), decision, pairing.Options{Seed: 1})
	require.NoError(t, err)
	profile, err := ranker.Profile(t.Context(), moss, pedigree.Drop{Seed: 1})
	require.NoError(t, err)
	request, err := transfer.Find(t.Context(), p, decision, transfer.Question{Bird: "C0734", Seed: 1})
	require.NoError(t, err)

	r := reviewOfExample(t)
	body, front := ReviewDocument(r), ReviewDocument(r)
	body.Sections = body.Sections[:slices.IndexFunc(body.Sections, func(s document.Section) bool { return s.Apart })]
	body.Notes = nil
	front.Sections = slices.DeleteFunc(front.Sections, func(s document.Section) bool { return !s.Front })
	front.About, front.Footer = nil, ""

	today, err := board.New(t.Context(), decision, p, "HAF")
	require.NoError(t, err)

	swap, err := transfer.Find(t.Context(), p, decision, transfer.Question{Bird: "C0390", To: "QUM", From: "QUM", Seed: 1})
	require.NoError(t, err)
	require.Equal(t, transfer.Swap, swap.Best.Way)
	toSign := func(c *transfer.Case) *document.Document {
		d := TransferDocument(p, c, "HAF")
		d.Sections = d.Sections[:slices.IndexFunc(d.Sections, func(s document.Section) bool { return s.Apart })]
		d.Notes, d.Footer = nil, ""
		return d
	}

	chromium := browser.Start(t)
	var lock sync.Mutex // the browser tells from a goroutine of its own
	var complaints []string
	require.NoError(t, chromedp.Listen(chromium, func(event any) {
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
		d     *document.Document
		pages int // at most, on A4; Letter, which is shorter, may take one more where nobody signs
	}{
		{"review", ReviewDocument(r), 18},
		{"review without its appendix", body, 8},
		{"what is signed of a review", front, 1},
		{"transfer to sign", toSign(request), 1},
		{"swap to sign", toSign(swap), 1},
		{"transfer with its appendix", TransferDocument(p, request, "HAF"), 4},
		{"bird", BirdDocument(p, profile), 4},
		{"board", BoardDocument(today), 1},
	} {
		url := browser.Serve(t, func(w io.Writer) error { return document.WriteHTML(w, doc.d) })
		for _, width := range []int64{320, 800, 1280} {
			require.NoError(t, chromedp.Do(chromium, chromedp.EmulateViewport(width, 900), chromedp.Navigate(url)))
			wide, err := chromedp.Run(chromium, chromedp.Evaluate[float64](`document.documentElement.scrollWidth - window.innerWidth`))
			require.NoError(t, err)
			assert.LessOrEqual(t, wide, 0.0, "%s at %d: the page is wider than the window", doc.name, width)
		}
		wrong, err := chromedp.Run(chromium, chromedp.Evaluate[[]string](browser.Faults))
		require.NoError(t, err)
		assert.Empty(t, wrong, doc.name)
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			pdf, err := chromedp.Run(chromium, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			require.NoError(t, err)
			most := doc.pages
			if most > 1 && paper == chromedp.PaperLetter {
				most++
			}
			assert.LessOrEqual(t, browser.PDFPages(pdf), most, "%s on paper %.1f inches wide", doc.name, paper.Width)
		}
	}
	lock.Lock()
	defer lock.Unlock()
	complaints = slices.DeleteFunc(complaints, func(s string) bool { return strings.Contains(s, "favicon.ico") })
	assert.Empty(t, complaints, "what the browser says of the pages")
}
