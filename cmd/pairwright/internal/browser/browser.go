//go:build browser

package browser

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Required is the variable of the environment that is set where there has to be a
// browser.
const Required = "BROWSER_REQUIRED"

const chromium = "/usr/bin/chromium"

// Start starts a chromium without a window, with a profile of its own
// and nothing that calls home. Without one the test is skipped, unless it is required.
func Start(t *testing.T) context.Context {
	t.Helper()
	if _, err := os.Stat(chromium); err != nil && os.Getenv(Required) == "" {
		t.Skip("there is no browser here: apt-get install chromium")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium),
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

// Serve shows what write writes at an address of this machine.
func Serve(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		assert.NoError(t, write(w))
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// Look is what a page reports of itself.
type Look struct {
	// Overflow is how many pixels it is wider than the window.
	Overflow float64
	// Outside are texts of drawings that leave their drawing, Over those that
	// lie over each other.
	Outside, Over []string
	// Font is the size of the smallest text outside drawings in pixels.
	Font float64
}

// LookAt shows the page at an address in a window of a width and says how it
// looks.
func LookAt(t *testing.T, browser context.Context, url string, width int64) Look {
	t.Helper()
	require.NoError(t, chromedp.Do(browser, chromedp.EmulateViewport(width, 900), chromedp.Navigate(url)))
	got, err := chromedp.Run(browser, chromedp.Evaluate[Look](layout))
	require.NoError(t, err)
	return got
}

// Sound checks that a page is no wider than the window and that its texts can
// be read.
func Sound(t *testing.T, browser context.Context, name, url string) {
	t.Helper()
	for _, width := range []int64{320, 800, 1280} {
		got := LookAt(t, browser, url, width)
		assert.LessOrEqual(t, got.Overflow, 0.0, "%s at %d: the page is wider than the window", name, width)
		assert.Empty(t, got.Outside, "%s at %d: texts outside their drawing", name, width)
		assert.Empty(t, got.Over, "%s at %d: texts over each other", name, width)
		assert.GreaterOrEqual(t, got.Font, 14.0, "%s at %d: smallest text", name, width)
	}
}

// layout is the script that fills a Look.
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

// Faults is a script that says what is wrong with a page: links that lead nowhere, pictures that
// do not show.
const Faults = `[
	...[...document.querySelectorAll("a")].filter(a => !document.getElementById(decodeURIComponent(a.getAttribute("href").slice(1)))).map(a => "link " + a.getAttribute("href")),
	...[...document.images].filter(i => !(i.complete && i.naturalWidth > 0)).map(i => "picture " + i.alt.slice(0, 40)),
]`

// PDFPages counts the page objects of a PDF.
func PDFPages(pdf []byte) int {
	return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
}

// Small checks a page in the window of a telephone: no label is broken within a
// word, a slim table has all its columns in sight, and every row of another is a card.
func Small(t *testing.T, browser context.Context, name, url string) {
	t.Helper()
	require.NoError(t, chromedp.Do(browser, chromedp.EmulateViewport(360, 900), chromedp.Navigate(url)))
	wrong, err := chromedp.Run(browser, chromedp.Evaluate[[]string](small))
	require.NoError(t, err)
	assert.Empty(t, wrong, "%s at 360", name)
}

// small is the script of Small. A word that is in two lines has two boxes.
const small = `(() => {
	const out = [];
	if (document.documentElement.scrollWidth > window.innerWidth) out.push("wider than the window");
	for (const e of document.querySelectorAll("h1, h2, caption, th, td.words, li, p")) {
		const walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
		for (let n = walk.nextNode(); n; n = walk.nextNode()) {
			for (const m of n.data.matchAll(/[\p{L}\p{N}]+/gu)) {
				const range = document.createRange();
				range.setStart(n, m.index);
				range.setEnd(n, m.index + m[0].length);
				const tops = new Set([...range.getClientRects()].filter(r => r.width > 0).map(r => Math.round(r.top)));
				if (tops.size > 1) out.push("broken: " + m[0]);
			}
		}
	}
	for (const box of document.querySelectorAll(".scroll.slim")) {
		if (box.scrollWidth > box.clientWidth) out.push("not so slim: " + box.textContent.trim().slice(0, 30));
	}
	for (const row of document.querySelectorAll(".scroll:not(.slim) tbody tr")) {
		if (getComputedStyle(row).display !== "flex") out.push("no card: " + row.textContent.trim().slice(0, 30));
		const top = c => c.getBoundingClientRect().top;
		const cells = [...row.children].filter(c => getComputedStyle(c).display !== "none").sort((a, b) => top(a) - top(b));
		const keys = cells.filter(c => c.tagName === "TH").length;
		const decides = cells.findIndex(c => c.classList.contains("decides"));
		if (cells.slice(0, keys).some(c => c.tagName !== "TH")) out.push("name not first: " + row.textContent.trim().slice(0, 30));
		if (decides > keys) out.push("what decides is not second: " + row.textContent.trim().slice(0, 30));
	}
	return [...new Set(out)];
})()`
