package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// answered returns a page once its answer is there.
func (c *client) answered(path string) (page string) {
	c.t.Helper()
	for range 200 {
		if page = c.page(path); !strings.Contains(page, `http-equiv="refresh"`) {
			return page
		}
		time.Sleep(100 * time.Millisecond)
	}
	require.Fail(c.t, "it is still being computed", path)
	return ""
}

// TestWhatIf: the form of a forecast asks for changes cell by cell, and the page of the
// answer has them filled in for the next.
func TestWhatIf(t *testing.T) {
	c := serve(t, Config{})
	assert.Equal(t, blankChanges, strings.Count(c.page("/forecast"), `name="what"`))
	form := url.Values{"years": {"2"}, "runs": {"2"}, "policy": {"bonds"}}
	for _, row := range [][]string{{"leave", " C0734 ", "", "", "", "", ""}, {"", "", "", "", "", "", ""}, {"founder", "", "HAF", "2", "F", "2027", ""}} {
		for k, column := range studbook.SuppositionColumns() {
			form.Add(column, row[k])
		}
	}
	r, err := c.Get(c.at + "/forecast?" + form.Encode())
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	assert.Equal(t, []string{"leave,C0734", "founder,,HAF,2,F,2027"}, r.Request.URL.Query()["change"])
	page := c.answered(r.Request.URL.RequestURI())
	assert.Regexp(t, `C0734</a> \(Moss\) leaves the programme`, page)
	assert.Contains(t, page, "2 new unrelated females come to Harrow Fell Bird Park (HAF) in 2027.")
	assert.Equal(t, 2+blankChanges, strings.Count(page, `name="what"`))
	assert.Contains(t, page, `<option value="founder" selected>`)
	assert.Contains(t, page, `value="C0734"`)
	assert.NotContains(t, page, "format=csv", "what if has no rows")

	status, text := c.get("/forecast?years=2&runs=2&what=leave&birds=C9999")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "no bird of the studbook has the id")
	status, text = c.get("/forecast?years=2&what=leave&birds=C0734&need=chicks")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.NotContains(t, text, "--")
	assert.Equal(t, c.page("/forecast"), c.page("/forecast?what=&birds="), "nothing is asked")
}

// TestChangeWords: every change that can be asked about can be chosen, in words.
func TestChangeWords(t *testing.T) {
	for _, word := range studbook.SupposedWords() {
		assert.NotEmpty(t, changeWords[word], word)
	}
	assert.Len(t, changeWords, len(studbook.SupposedWords()))
}
