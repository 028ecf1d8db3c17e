//go:build browser

package web

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/examples"
)

// ownSeason makes an own season, compares it and keeps it, from the board on.
func ownSeason(t *testing.T, chromium context.Context) {
	folder := t.TempDir()
	require.NoError(t, os.CopyFS(folder, examples.HarrowFell()))
	p := sit(t, chromium, Config{Studbook: filepath.Join(folder, "studbook.csv")})
	p.open("/")
	p.reads("Board of Harrow Fell") // what falls due hangs on the day of the test
	p.follow("a season of your own")
	p.reads("From the start these pairs keep their eggs")

	p.do("name", chromedp.SendKeys("#name", "as decided"))
	p.press("Keep it in the folder")
	p.reads("open as decided")
	require.FileExists(t, filepath.Join(folder, "plans", "as decided.csv"))

	// A number that is changed answers at once.
	chicks := `input[aria-label="Chicks of C0565 and C0573"]`
	_, err := chromedp.Run(p.browser, chromedp.Evaluate[bool]("(f => { f.focus(); f.value = 0; f.dispatchEvent(new Event('change', {bubbles: true})); return true })(document.querySelector('"+chicks+"'))"))
	require.NoError(t, err)
	p.settle()
	p.reads("millionths short of the best")
	where, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.getAttribute("aria-label")`))
	require.NoError(t, err)
	assert.Equal(t, "Chicks of C0565 and C0573", where, "one goes on where one was")

	p.do("two birds", chromedp.SendKeys("#female", "C0741"), chromedp.SendKeys("#male", "C0398"))
	p.press("Pair them")
	p.reads("What stands against it")
	p.reads("part them first")
	_, err = chromedp.Run(p.browser, chromedp.Evaluate[bool](`(s => { s.value = "as decided"; s.dispatchEvent(new Event("change", {bubbles: true})); return true })(document.querySelector("#beside"))`))
	require.NoError(t, err)
	p.settle()
	p.reads(`"as decided": 4.1`)
	p.press("Back to the decision")
	p.reads("weighted gene diversity after the season the same")
	p.do("name", chromedp.SetValue("#name", "mine"))
	p.press("Keep it in the folder")
	p.reads("open mine")
	names, err := filepath.Glob(filepath.Join(folder, "plans", "*"))
	require.NoError(t, err)
	assert.Equal(t, []string{filepath.Join(folder, "plans", "as decided.csv"), filepath.Join(folder, "plans", "mine.csv")}, names)
}
