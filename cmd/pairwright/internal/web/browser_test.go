//go:build browser

package web

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/browser"
	"pairwright/examples"
	"pairwright/pedigree/studbook/journal"
)

// person is somebody at a browser before a server of its own.
type person struct {
	t       *testing.T
	browser context.Context
	at      string

	lock       sync.Mutex // the browser tells from a goroutine of its own
	complaints []string
}

// TestBrowser takes people through what they come for, each at a server of
// their own, in the tabs of one browser.
func TestBrowser(t *testing.T) {
	chromium := browser.Start(t)
	for _, journey := range []struct {
		name string
		walk func(t *testing.T, chromium context.Context)
	}{
		{"finds a mate", findsAMate}, {"keys alone", keysAlone}, {"filters while typing", filtersWhileTyping},
		{"mends a file", mendsAFile}, {"imports", importsAFile}, {"writes down a hatch", writesDownAHatch},
		{"a clutch from laying to hatch", followsAClutch}, {"two tabs", twoTabs}, {"own season", ownSeason}, {"on a telephone", onATelephone}, {"without scripts", withoutScripts}, {"a page in the making", pageInTheMaking}, {"every page is accessible", everyPageIsAccessible},
	} {
		t.Run(journey.name, func(t *testing.T) { journey.walk(t, chromium) })
	}
}

// sit starts a server and opens a tab, and notes what the browser complains of
// there and whatever it asks of anybody but the server.
func sit(t *testing.T, chromium context.Context, c Config) *person {
	t.Helper()
	return join(t, chromium, serve(t, c).at)
}

// join opens a tab at a server that is there.
func join(t *testing.T, chromium context.Context, at string) *person {
	t.Helper()
	tab, leave := chromedp.NewContext(chromium)
	t.Cleanup(leave)
	p := &person{t: t, at: at, browser: tab}
	require.NoError(t, chromedp.Listen(p.browser, func(event any) {
		p.lock.Lock()
		defer p.lock.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			p.complaints = append(p.complaints, e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			p.complaints = append(p.complaints, e.Entry.Text+" "+e.Entry.URL)
		case *network.EventRequestWillBeSent:
			// The browser draws its own fields with pictures that it has in itself.
			if !strings.HasPrefix(e.Request.URL, p.at+"/") && !strings.HasPrefix(e.Request.URL, "data:") {
				p.complaints = append(p.complaints, "asked elsewhere: "+e.Request.URL)
			}
		}
	}))
	t.Cleanup(func() {
		p.lock.Lock()
		defer p.lock.Unlock()
		assert.Empty(t, p.complaints, "what the browser says of the pages")
	})
	return p
}

// do does some steps, and says which went wrong.
func (p *person) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.browser, time.Minute)
	defer cancel()
	require.NoError(p.t, chromedp.Do(ctx, steps...), what)
}

// open opens a page of the server.
func (p *person) open(path string) {
	p.t.Helper()
	p.do(path, chromedp.Navigate(p.at+path))
	p.settle()
}

// follow follows the first link with a text.
func (p *person) follow(text string) {
	p.t.Helper()
	p.do("link "+text, chromedp.Click(fmt.Sprintf(`//main//a[normalize-space(.)=%q]`, text)))
	p.settle()
}

// press presses the first button of what the page says that has a text.
func (p *person) press(text string) {
	p.t.Helper()
	p.do("button "+text, chromedp.Click(fmt.Sprintf(`//main//button[normalize-space(.)=%q]`, text)))
	p.settle()
}

// settle waits for the page that a step led to, which says first that it is being made
// where that takes long.
func (p *person) settle() {
	p.t.Helper()
	time.Sleep(100 * time.Millisecond) // until the browser has begun
	p.do("loading", chromedp.WaitReady("footer.bottom"), chromedp.WaitReady(`main:not([data-waits="page"])`))
}

// reads waits until the page, all of which has come, says a text.
func (p *person) reads(text string) {
	p.t.Helper()
	var said string
	for range 1000 { // a busy machine takes its time
		var err error
		if said, err = chromedp.Run(p.browser, chromedp.Evaluate[string](`document.readyState === "complete" ? document.querySelector("main").innerText : ""`)); err == nil && strings.Contains(said, text) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	require.Failf(p.t, "the page does not say it", "%q in %.600s", text, said)
}

// findsAMate finds the mate of a bird that is alone, and the request
// to send, from the first page on, and prints it on one sheet to sign.
func findsAMate(t *testing.T, chromium context.Context) {
	p := sit(t, chromium, Config{})
	p.open("/mates")
	p.follow("C0734")
	p.reads("Closest living kin")
	p.follow("All mates")
	p.reads("Ranked mates")
	p.open("/bird/C0734")
	p.follow("Request to move it")
	p.reads("C0902")
	p.do("what the form asks for", chromedp.SendKeys(".fill", "agreed"))
	pdf, err := chromedp.Run(p.browser, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	require.NoError(t, err)
	assert.LessOrEqual(t, browser.PDFPages(pdf), 6)
	p.onPaper()
	unlined, err := chromedp.Run(p.browser, chromedp.Evaluate[int](`[...document.querySelectorAll(".fill")].filter(e => parseFloat(getComputedStyle(e).borderBottomWidth) === 0).length`))
	require.NoError(t, err)
	assert.Zero(t, unlined, "blanks without a line to write on")
}

// keysAlone finds a bird and walks to its sire without a mouse.
func keysAlone(t *testing.T, chromium context.Context) {
	p := sit(t, chromium, Config{})
	p.open("/birds")
	p.do("keys", chromedp.KeyEvent("\t"))
	where, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.className`))
	require.NoError(t, err)
	assert.Equal(t, "skip", where, "the first key leads past the menu")
	p.do("keys", chromedp.KeyEvent("\r"), chromedp.KeyEvent("/"))
	where, err = chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.id`))
	require.NoError(t, err)
	assert.Equal(t, "find", where, "the key goes to the field that finds a bird")
	// A real keyboard would not have typed the sign that was a command.
	_, err = chromedp.Run(p.browser, chromedp.Evaluate[string](`document.getElementById("find").value = ""`))
	require.NoError(t, err)
	p.do("keys", chromedp.KeyEvent("Moss"), chromedp.KeyEvent("\r"))
	p.reads("Closest living kin")
	for range 80 {
		p.do("keys", chromedp.KeyEvent("\t"))
		text, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.textContent`))
		require.NoError(t, err)
		if strings.Contains(text, "C0502") { // in the drawing or below it
			p.do("keys", chromedp.KeyEvent("\r"))
			p.reads("Salka")
			p.reads("Moss") // among its chicks
			return
		}
	}
	t.Fatal("no key leads to the sire")
}

// filtersWhileTyping narrows the list of birds down.
func filtersWhileTyping(t *testing.T, chromium context.Context) {
	p := sit(t, chromium, Config{})
	p.open("/birds")
	p.do("typing", chromedp.SendKeys("#filter", "Moss"))
	shown, err := chromedp.Run(p.browser, chromedp.Evaluate[int](`[...document.querySelectorAll("#content .scroll tbody tr")].filter(r => !r.hidden).length`))
	require.NoError(t, err)
	assert.Equal(t, 1, shown)
	p.reads("1 of 383 shown")
}

// mendsAFile shows a fault in its place until it is mended: in the file, which the
// page notices by itself, and in the browser.
func mendsAFile(t *testing.T, chromium context.Context) {
	studbook := filepath.Join(t.TempDir(), "studbook.csv")
	write := func(text string) {
		require.NoError(t, os.WriteFile(studbook, []byte("id,sex,sire,dam,hatch_date\n"+text), 0o666))
	}
	write("A1,F,,,2020\nB1,M,,,3.4.2019\n")
	p := sit(t, chromium, Config{Studbook: studbook})
	p.open("/data")
	p.reads("studbook.csv, line 3: error")
	p.reads("B1,M,,,3.4.2019")
	write("A1,F,,,2020\nB1,M,,,2019-04-03\n")
	p.reads("The files are sound")
	write("A1,F,,,2020\nB1,M,,,3.4.2019\n")
	p.open("/data")
	p.follow("Put it right here")
	p.follow("Type the dates") // a calendar takes keys in the order of its country
	p.do("the day", chromedp.Click(`//main//summary`), chromedp.SendKeys("#tell-hatch_date", "2019-04-03"))
	p.press("Show what would be written")
	p.press("Write it down")
	p.open("/data")
	p.reads("The files are sound")
}

// importsAFile takes a stranger's file in that cannot be understood by itself: what
// is to be decided is decided by keys alone, what was likely with the mouse, and
// from there it is one step to the mates.
func importsAFile(t *testing.T, chromium context.Context) {
	strange := filepath.Join(t.TempDir(), "our birds.csv")
	require.NoError(t, os.WriteFile(strange, []byte(doubtful), 0o666))
	imports := t.TempDir()
	p := sit(t, chromium, Config{Imports: imports})
	p.open("/open")
	p.do("file", chromedp.SetUploadFiles("#file", []string{strange}))
	p.press("Look at it")
	p.reads("4 things have to be decided first")
	p.accessible("what is to be decided", true)
	p.do("desk", chromedp.EmulateViewport(1280, 900))
	// The first answer to each: the space key chooses, Tab goes to the next question.
	p.do("the first question", chromedp.Focus(`.choice input[type=radio]`))
	for range 4 {
		p.do("keys", chromedp.KeyEvent(" "), chromedp.KeyEvent("\t"))
	}
	p.do("keys", chromedp.KeyEvent("\r")) // on the button that the keys have come to
	p.settle()
	p.reads("5 birds can be read")
	p.reads("Do the figures look right?")
	p.accessible("what was likely", true)
	p.do("desk", chromedp.EmulateViewport(1280, 900))
	p.do("no bird", chromedp.Click(`//label[contains(., "no bird: the parent is not known")]/input`))
	p.press("Write it into a new folder")
	p.reads("Something was decided anew, so nothing was written")
	assert.NoDirExists(t, filepath.Join(imports, "our birds"))
	p.press("Write it into a new folder")
	p.reads("What was read")
	raw, err := os.ReadFile(filepath.Join(imports, "our birds", "studbook.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), "R5,Emil,,M,,R4,2020-03-02,")
	p.do("mates", chromedp.Click(`//nav//a[.="Mates"]`))
	p.settle()
	p.reads("Anton")
}

// looked are the pages that are looked at for faults.
var looked = []string{
	"/", "/?as-of=2026-05-05", "/season", "/season?own=1&row=bond%7CC0741%3BC0398%7C%7C&row=part%7CC0654%3BC0648%7C%7C&pair=C0565%3BC0573&chicks=3",
	"/birds?find=JED", "/bird/C0734", "/kin", "/kin?a=C0734&b=C0398", "/parents", "/parents?bird=C0390", "/parents?founder-kin=true", "/mates", "/mates?bird=C0734", "/plan", "/plan?scope=programme", "/letters", "/letters?to=HAF",
	"/transfers", "/requests", "/transfer", "/transfer?bird=C0734", "/forecast", "/data", "/record", "/open", "/help", "/nowhere", "/mates?as-of=2020-12-31", "/review",
}

// onATelephone looks at the list of birds on a narrow screen: a bird is a line or two,
// those at home first, until all figures are asked for.
func onATelephone(t *testing.T, chromium context.Context) {
	p := sit(t, chromium, Config{})
	p.do("telephone", chromedp.EmulateViewport(390, 844))
	p.open("/birds")
	height := func() float64 {
		h, err := chromedp.Run(p.browser, chromedp.Evaluate[float64](`[...document.querySelectorAll(".listing tbody tr")].map(r => r.getBoundingClientRect().height).sort((a, b) => a - b).at(-8)`))
		require.NoError(t, err)
		return h
	}
	assert.Less(t, height(), 80.0, "a bird, but for a few that wait for a day")
	all, err := chromedp.Run(p.browser, chromedp.Evaluate[float64](`document.documentElement.scrollHeight`))
	require.NoError(t, err)
	assert.Less(t, all, 25_000.0, "px of the whole list")
	first, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.querySelector(".listing tbody tr").innerText`))
	require.NoError(t, err)
	assert.Contains(t, first, "HAF", "at home")
	p.do("open", chromedp.Click(`//main//summary[normalize-space(.)="Every figure of each bird"]`))
	assert.Greater(t, height(), 250.0, "every figure")
}

// everyPageIsAccessible looks at every page in both schemes of colours.
func everyPageIsAccessible(t *testing.T, chromium context.Context) {
	p := sit(t, chromium, Config{Imports: t.TempDir()})
	for _, path := range looked {
		p.do("desk", chromedp.EmulateViewport(1280, 900))
		p.open(path)
		if path == "/review" {
			p.reads("Review of Harrow Fell")
		}
		p.accessible(path, path != "/review") // it is long, and its parts stand on other pages
	}
	p.onPaper()
	height, err := chromedp.Run(p.browser, chromedp.Evaluate[float64](`document.querySelector(".front figure svg").getBoundingClientRect().height / 96 * 25.4`))
	require.NoError(t, err)
	assert.InDelta(t, 40, height, 0.1, "mm of the drawing on the one sheet that is signed")
	for _, k := range journal.Kinds {
		p.do("desk", chromedp.EmulateViewport(1280, 900))
		p.open("/record/" + k.Name)
		p.accessible(k.Name, false)
	}
	p.forgive("404") // of the pages that are not there
}

// accessible runs the rules of axe-core on the page, those of colours in the
// dark too if that is asked for, and checks that it is no wider than a
// telephone.
func (p *person) accessible(name string, dark bool) {
	p.t.Helper()
	axe, err := os.ReadFile("testdata/axe/axe.min.js")
	require.NoError(p.t, err)
	_, err = chromedp.Run(p.browser, chromedp.Evaluate[bool](string(axe)+"; true"))
	require.NoError(p.t, err)
	p.scheme("light")
	assert.Empty(p.t, p.violations(`{rules: {"target-size": {enabled: true}}}`), name)
	if dark {
		p.scheme("dark")
		assert.Empty(p.t, p.violations(`{runOnly: ["color-contrast"]}`), "%s in the dark", name)
	}
	p.fits(name)
}

// fits checks that the page is no wider than its window, from a telephone to a
// large screen, in light and dark colours, and that what lies outside of its
// tables, lines of files and drawings, which can be moved to the side, is not cut off.
func (p *person) fits(name string) {
	p.t.Helper()
	for _, scheme := range []string{"light", "dark"} {
		p.scheme(scheme)
		for _, width := range []int64{320, 640, 1280, 2560} { // the first two are a window of 1280 at 400 and 200 %
			p.do("window", chromedp.EmulateViewport(width, 900))
			wide, err := chromedp.Run(p.browser, chromedp.Evaluate[[]string](wider))
			require.NoError(p.t, err)
			assert.Empty(p.t, wide, "%s is wider than a window of %d, %s", name, width, scheme)
		}
	}
	p.do("telephone", chromedp.EmulateViewport(320, 900))
	wide, err := chromedp.Run(p.browser, chromedp.Evaluate[[]string](spaced))
	require.NoError(p.t, err)
	assert.Empty(p.t, wide, "%s does not bear text that is set wide", name)
}

// spaced sets the text of a page as wide as readers may (WCAG 2.2, 1.4.12), says what is
// wider than the window then, and sets it back.
const spaced = `(() => {
	const sheet = new CSSStyleSheet();
	sheet.replaceSync("* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important } p { margin-bottom: 2em !important }");
	document.adoptedStyleSheets = [sheet];
	const out = ` + wider + `;
	document.adoptedStyleSheets = [];
	return out;
})()`

// wider is the script that says what makes a page wider than its window.
const wider = `(() => {
	const width = window.innerWidth, out = [];
	if (document.documentElement.scrollWidth > width) out.push("the page: " + document.documentElement.scrollWidth);
	for (const e of document.querySelectorAll("body *")) {
		const box = e.getBoundingClientRect();
		const within = e.parentElement.closest(".scroll, .lines, pre");
		if (box.width > 1 && !within && !e.closest(".skip, svg") && getComputedStyle(e).clipPath === "none" && (box.right > width + 0.5 || box.left < -0.5)) out.push(e.tagName + "." + e.className);
	}
	for (const e of document.querySelectorAll("button, .find label, .menu a")) { // a word that is in two lines has two boxes
		const walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
		for (let n = walk.nextNode(); n; n = walk.nextNode()) {
			for (const m of n.data.matchAll(/[\p{L}\p{N}]+/gu)) {
				const range = document.createRange();
				range.setStart(n, m.index);
				range.setEnd(n, m.index + m[0].length);
				if (new Set([...range.getClientRects()].filter(r => r.width > 0).map(r => Math.round(r.top))).size > 1) out.push("broken: " + m[0]);
			}
		}
	}
	return out.slice(0, 5);
})()`

// writesDownAHatch writes a hatch down and takes it back, by keys
// alone as far as it is written, and looks at every page on the way.
func writesDownAHatch(t *testing.T, chromium context.Context) {
	dir := pairFolder(t)
	studbook := func() string {
		raw, err := os.ReadFile(filepath.Join(dir, "studbook.csv"))
		require.NoError(t, err)
		return string(raw)
	}
	before := studbook()
	p := sit(t, chromium, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	desk := func() { p.do("desk", chromedp.EmulateViewport(1280, 900)) }
	p.open("/record/hatch?dam=A99")
	p.do("keys", chromedp.Focus("#tell-dam"), chromedp.KeyEvent("\r"))
	p.settle()
	p.reads("no bird of the studbook has this id")
	focused, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.className`))
	require.NoError(t, err)
	assert.Equal(t, "wrong", focused, "what is wrong is read out first")
	p.accessible("a form with a mistake", true)
	p.forgive("422")
	desk()
	p.open("/record/hatch?dam=A02")
	p.accessible("a form", true)
	desk()
	p.do("keys", chromedp.Focus("#tell-dam"), chromedp.KeyEvent("\r"))
	p.settle()
	p.reads("Nothing is written yet")
	p.accessible("what would be written", true)
	desk()
	assert.Equal(t, before, studbook())
	for range 60 {
		p.do("keys", chromedp.KeyEvent("\t"))
		text, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.activeElement.textContent`))
		require.NoError(t, err)
		if text == "Write it down" {
			break
		}
	}
	p.do("keys", chromedp.KeyEvent("\r"))
	p.settle()
	p.reads("Written down: a chick hatched (A02), as change 1")
	assert.Contains(t, studbook(), "\nA03,,U,A01,A02,")
	p.accessible("what was written", true)
	desk()
	p.do("back", chromedp.NavigateBack())
	p.reads("Nothing is written yet")
	p.press("Write it down")
	p.reads("Written down: a chick hatched (A02), as change 1") // not another
	p.follow("Take it back")
	p.press("Take it back")
	p.reads("Taken back: change 1")
	assert.Equal(t, before, studbook())
}

// writes shows what the form on the page would write, and writes it.
func (p *person) writes(event string) {
	p.t.Helper()
	p.press("Show what would be written")
	p.reads("Nothing is written yet")
	p.press("Write it down")
	p.reads("Written down: " + event)
}

// followsAClutch writes down a clutch, its candling and a hatch from the board, sees
// board and review change with them, and takes the hatch back.
func followsAClutch(t *testing.T, chromium context.Context) {
	folder := t.TempDir()
	require.NoError(t, os.CopyFS(folder, examples.HarrowFell()))
	p := sit(t, chromium, Config{Studbook: filepath.Join(folder, "studbook.csv")})
	p.open("/")
	p.reads("in the colony\n4\n")
	p.follow("Clutch") // of the first nest
	p.reads("A pair has a clutch")
	p.open("/record/clutch?female=C0741&laid=2026-09-01&eggs=2")
	p.writes("a pair has a clutch (C0741)")
	p.open("/")
	p.reads("2 eggs, 1 September 2026")
	p.follow("Candling")
	p.do("fertile ones", chromedp.SendKeys("#tell-fertile", "1"))
	p.writes("eggs were candled (C0741)")
	p.open("/")
	p.reads("2 eggs, 1 fertile, 1 September 2026")
	p.follow("Hatch")
	p.reads("A chick hatched")
	p.open("/record/hatch?dam=C0741&date=2026-09-27")
	p.writes("a chick hatched (C0741)")
	p.open("/")
	p.reads("1 chick hatched of the eggs laid on 1 September 2026")
	p.reads("in the colony\n5\n")
	p.open("/review?runs=0")
	p.reads("Review of Harrow Fell")
	p.reads("C1097") // the chick
	p.open("/record")
	p.follow("Take back the last change…")
	p.press("Take it back")
	p.reads("Taken back: change 3")
	p.open("/")
	p.reads("in the colony\n4\n")
	p.open("/review?runs=0")
	p.reads("Review of Harrow Fell")
	said, err := chromedp.Run(p.browser, chromedp.Evaluate[string](`document.querySelector("main").innerText`))
	require.NoError(t, err)
	assert.NotContains(t, said, "C1097")
}

// twoTabs have both looked when one of them writes: the other is shown what is so now,
// and nothing of either is lost.
func twoTabs(t *testing.T, chromium context.Context) {
	folder := t.TempDir()
	require.NoError(t, os.CopyFS(folder, examples.HarrowFell()))
	one := sit(t, chromium, Config{Studbook: filepath.Join(folder, "studbook.csv")})
	other := join(t, chromium, one.at)
	for p, reason := range map[*person]string{one: "one", other: "other"} {
		p.open("/record/hold?bird=C0734&since=2026-09-29&reason=" + reason)
		p.press("Show what would be written")
		p.reads("Nothing is written yet")
	}
	one.press("Write it down")
	one.reads("Written down: ")
	other.press("Write it down")
	other.reads("A file was changed in the meantime")
	other.press("Write it down")
	other.reads("Written down: ")
	raw, err := os.ReadFile(filepath.Join(folder, "holds.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), "C0734,2026-09-29,,one,")
	assert.Contains(t, string(raw), "C0734,2026-09-29,,other,")
}

// pageInTheMaking is shown how far each page is before it is there, and then the page, with
// scripts and without.
func pageInTheMaking(t *testing.T, chromium context.Context) {
	s, err := New(Config{})
	require.NoError(t, err)
	t.Cleanup(s.jobs.end)
	s.attention = time.Nanosecond
	h := httptest.NewServer(s)
	t.Cleanup(h.Close)
	p := join(t, chromium, h.URL)
	for _, scripts := range []bool{true, false} {
		s.reader.open(example(), nil) // all is to be read anew
		p.runScripts(scripts)
		p.do("board", chromedp.Navigate(p.at+"/"))
		p.reads("One moment")
		p.reads("Birds in no nest")
	}
}

// runScripts has the browser run the scripts of pages, or not.
func (p *person) runScripts(run bool) {
	p.t.Helper()
	p.do("scripts", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !run})
		return err
	}))
}

// withoutScripts does what a keeper comes for in a browser that runs none: a long answer
// shows itself, lists are filtered, a season changes, an event is written down and taken
// back, and a file is looked at.
func withoutScripts(t *testing.T, chromium context.Context) {
	folder := t.TempDir()
	require.NoError(t, os.CopyFS(folder, examples.HarrowFell()))
	strange := filepath.Join(t.TempDir(), "our birds.csv")
	require.NoError(t, os.WriteFile(strange, []byte(doubtful), 0o666))
	p := sit(t, chromium, Config{Studbook: filepath.Join(folder, "studbook.csv"), Imports: t.TempDir()})
	p.runScripts(false)
	p.open("/review?runs=3")
	p.reads("Review of Harrow Fell")
	p.open("/birds")
	p.do("filter", chromedp.SendKeys("#filter", "HAF-0"), chromedp.KeyEvent("\r"))
	p.settle()
	p.reads("birds with \"HAF-0\"")
	p.open("/season")
	p.do("chicks", chromedp.SetValue(`input[aria-label="Chicks of C0565 and C0573"]`, "0"))
	p.press("Show what it comes to")
	p.reads("millionths short of the best")
	p.open("/record/hold?bird=c0734&since=2026-09-29&reason=limp")
	p.press("Show what would be written")
	p.reads("C0734 (Moss), female")
	p.press("Write it down")
	p.reads("Written down: ")
	p.follow("Take it back")
	p.press("Take it back")
	p.reads("Taken back: change 1")
	p.open("/open")
	p.do("file", chromedp.SetUploadFiles("#file", []string{strange}))
	p.press("Look at it")
	p.reads("4 things have to be decided first")
}

// scheme turns the browser to light or dark colours.
func (p *person) scheme(name string) {
	p.t.Helper()
	p.do(name, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}},
		})
		return err
	}))
}

// onPaper shows the page as it is printed on A4.
func (p *person) onPaper() {
	p.t.Helper()
	p.do("paper", chromedp.EmulateViewport(688, 994), chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
}

// violations are what axe-core finds wrong with the page.
func (p *person) violations(options string) []string {
	p.t.Helper()
	found, err := chromedp.Run(p.browser, chromedp.Evaluate[[]string](
		`axe.run(document, `+options+`).then(r => r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160)).join(" | ")))`,
		chromedp.EvalAwaitPromise))
	require.NoError(p.t, err)
	return found
}

// forgive forgets complaints with a text.
func (p *person) forgive(text string) {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.complaints = slices.DeleteFunc(p.complaints, func(s string) bool { return strings.Contains(s, text) })
}
