//go:build browser

package question

import (
	"io"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/browser"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/examples"
)

// TestBrowserPagesOfAnswers prints every answer about the example on A4 and
// counts the pages, none of them turned; on a small screen no label is broken
// within a word, and each row of a table is a card with its name and what decides
// at its head.
func TestBrowserPagesOfAnswers(t *testing.T) {
	chromium := browser.Start(t)
	folder, err := ReadFrom(t.Context(), examples.HarrowFell(), "studbook.csv", nil)
	require.NoError(t, err)
	for _, x := range []struct {
		name  string
		q     *Question
		asks  string // as in an address
		pages int    // at most
	}{
		{"mates of all", matesQuestion, "", 2},
		{"mates", matesQuestion, "bird=C0734", 4},
		{"bird", birdQuestion, "bird=C0841", 3},
		{"kin", kinQuestion, "a=C0398&b=C0734", 2},
		{"birds", birdsQuestion, "", 10},
		{"birds at home", birdsQuestion, "colony=HAF", 2},
		{"plan", planQuestion, "", 3},
		{"programme's plan", planQuestion, "scope=programme", 19}, // a page for each of nine, two for six with much to tell, one before and two behind
		{"board", colonyQuestion, "", 1},
		{"large board", colonyQuestion, "colony=VAL", 2},
		{"check", checkQuestion, "", 1},
		{"transfers", transferQuestion, "list=true", 1},
		{"requests", transferQuestion, "requests=true", 1},
	} {
		values, err := url.ParseQuery(x.asks)
		require.NoError(t, err)
		asked, err := x.q.Parse(values)
		require.NoError(t, err, x.name)
		answer, err := asked.Answer(t.Context(), folder)
		require.NoError(t, err, x.name)
		address := browser.Serve(t, func(w io.Writer) error { return document.WriteHTML(w, answer.build()) })
		require.NoError(t, chromedp.Do(chromium, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(address)))
		pdf, err := chromedp.Run(chromium, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
		require.NoError(t, err)
		assert.LessOrEqual(t, browser.PDFPages(pdf), x.pages, x.name)
		turned, err := chromedp.Run(chromium, chromedp.Evaluate[int](`document.querySelectorAll(".broad").length`))
		require.NoError(t, err)
		assert.Zero(t, turned, "%s: sheets turned by a quarter", x.name)
		browser.Small(t, chromium, x.name, address)
	}
}
