package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing/board"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// TestBoardLeadsToBirdsOfAnyID has ids with spaces, slashes and digits alone on the
// board, where counts are no birds.
func TestBoardLeadsToBirdsOfAnyID(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"studbook.csv": "id,name,sex,sire,dam,hatch_date,origin\n" +
			"HAF 1,Ash,M,,,2018-05-01,wild\nB/2,Bryony,F,,,2018-05-02,wild\n3,Cole,M,,,2018-05-01,wild\n4,,F,,,2018-05-02,wild\n2,,M,,,2018-05-02,wild\n",
		"bonds.csv":      "female,male,since,nest\nB/2,HAF 1,2021-03-01,north wall\n",
		"programme.toml": "current_to = \"2026-11-01\"\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	c := serve(t, Config{Studbook: filepath.Join(dir, "studbook.csv")})
	text := c.page("/")
	for _, path := range []string{"/", "/bird?bird=4", "/mates?bird=4"} {
		assert.NotContains(t, c.page(path), `"/transfer?bird=4"`, "nobody knows where it lives, so there is no request to move it")
	}
	assert.Contains(t, text, `<a href="/bird?bird=B%2F2">B/2</a> (Bryony) and <a href="/bird?bird=HAF+1">HAF 1</a> (Ash)`)
	for _, alone := range []string{`<h3><a href="/bird?bird=3">3</a> (Cole)</h3>`, `<h3><a href="/bird?bird=4">4</a></h3>`, `<h3><a href="/bird?bird=2">2</a></h3>`} {
		assert.Contains(t, text, alone)
	}
	assert.Contains(t, text, "Reserve, number 2: up to 1 chick", "a number is no bird")
}

// TestAnIDInSmallLetters leads to the page with the bird that may have been meant.
func TestAnIDInSmallLetters(t *testing.T) {
	c := serve(t, Config{})
	for path, want := range map[string]string{
		"/bird/c0734": `<a href="/bird?bird=C0734">With C0734</a>`, "/mates?bird=moss&top=3": `<a href="/mates?bird=C0734&amp;top=3">With C0734 (Moss)</a>`,
		"/kin?a=c0734&b=C0902": `<a href="/kin?a=C0734&amp;b=C0902">With C0734</a>`,
	} {
		status, text := c.get(path)
		assert.Equal(t, http.StatusNotFound, status)
		assert.Contains(t, text, want)
	}
}

// TestTasksAreWrittenDown: each thing to do leads to the form of its event, in fields that
// the form has, or to the page that says more.
func TestTasksAreWrittenDown(t *testing.T) {
	p := &boardOf{visit: &visit{request: httptest.NewRequest(http.MethodGet, "/", nil), colony: &colony{source: source{folder: "mine"}}, server: &Server{}}}
	two := []*studbook.Bird{{ID: "F 1"}, {ID: "M1"}}
	for _, x := range []struct {
		task board.Task
		to   string
	}{
		{board.Task{Decided: review.Decided{What: review.CandleEggs, Birds: two}}, "/record/candling?female=F+1"},
		{board.Task{Decided: review.Decided{What: review.ReplaceEggs, Birds: two}}, "/record/replacement?female=F+1"},
		{board.Task{Decided: review.Decided{What: review.SettleEggs, Birds: two}}, "/record/decision?bird=F+1&partner=M1&what=hatch"},
		{board.Task{Decided: review.Decided{What: board.HatchDue, Birds: two}}, "/record/hatch?dam=F+1"},
		{board.Task{Decided: review.Decided{What: board.FledgeDue, Birds: two}}, "/record/fledging?female=F+1"},
		{board.Task{Decided: review.Decided{What: board.BandBird, Birds: two}}, "/record/band?bird=F+1"},
		{board.Task{Decided: review.Decided{What: review.SexBird, Birds: two}}, "/record/sex?bird=F+1"},
		{board.Task{Decided: review.Decided{What: review.RecordParent, Birds: two}}, "/parents?bird=F+1"},
		{board.Task{Decided: review.Decided{What: board.LookAtHold, Birds: two}}, "/record/release?bird=F+1"},
		{board.Task{Decided: review.Decided{What: review.BondPair, Birds: two}}, "/record/bond?female=F+1&male=M1"},
		{board.Task{Decided: review.Decided{What: review.PartPair, Birds: two}}, "/record/parting?bird=F+1"},
		{board.Task{Decided: review.Decided{What: review.MoveBird, Birds: two, To: "BRI"}}, "/transfer?bird=F+1"},
		{board.Task{Decided: review.Decided{What: review.MoveBird, Birds: two, To: "BRI"}, Asked: board.IsAsked}, "/record/move?bird=F+1&to=BRI"},
		{board.Task{Decided: review.Decided{What: board.SendBird, Birds: two, To: "BRI"}}, "/record/move?bird=F+1&to=BRI"},
		{board.Task{Decided: review.Decided{What: board.AnswerRequest, Birds: two}}, "/requests"},
	} {
		to := p.recordOf(&x.task, x.task.Birds[0].ID)
		assert.Equal(t, x.to, to.Path, x.task.What)
		assert.NotEmpty(t, to.Text)
		address, err := url.Parse(to.Path)
		require.NoError(t, err)
		if event, writes := strings.CutPrefix(address.Path, "/record/"); writes {
			kind := journal.KindOf(event)
			require.NotNil(t, kind, event)
			for field := range address.Query() {
				assert.NotNil(t, kind.Field(field), "%s has no %s", event, field)
			}
		}
	}
	clutch := &studbook.Clutch{Laid: studbook.DayOf(2026, 4, 20).Date()}
	for what, want := range map[review.TaskKind][]string{
		board.HatchDue:    {"/record/hatch?dam=F+1", "/record/loss?female=F+1"},
		board.TellOutcome: {"/record/hatch?dam=F+1&laid=2026-04-20", "/record/loss?female=F+1&laid=2026-04-20", "/record/replacement?female=F+1&laid=2026-04-20"},
	} {
		var to []string
		for _, l := range p.recordsOf(&board.Task{Decided: review.Decided{What: what, Birds: two}, Clutch: clutch}) {
			to = append(to, l.Path)
		}
		assert.Equal(t, want, to)
	}
}

// TestAnswerToRequest: what is waited for once a request is on file is its answer, written down
// with the mate that it was made for; only then comes the move.
func TestAnswerToRequest(t *testing.T) {
	p := &boardOf{visit: &visit{request: httptest.NewRequest(http.MethodGet, "/", nil), colony: &colony{source: source{folder: "mine"}}, server: &Server{}}}
	two := []*studbook.Bird{{ID: "F1"}, {ID: "M1"}}
	var paths []string
	for _, l := range p.recordsOf(&board.Task{Decided: review.Decided{What: review.MoveBird, Birds: two, To: "BRI"}, Asked: board.IsAsked}) {
		paths = append(paths, l.Path)
	}
	assert.Equal(t, []string{"/record/decision?bird=F1&partner=M1&to=BRI&what=move", "/record/move?bird=F1&to=BRI"}, paths)
	c := serve(t, Config{Studbook: filepath.Join(pairFolder(t), "studbook.csv")})
	form := c.page("/record/decision?bird=A02&what=move")
	assert.Contains(t, form, "<details open>")
	assert.Contains(t, form, `name="reason"`)
}
