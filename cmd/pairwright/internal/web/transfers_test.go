package web

import (
	"html"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatIsTypedIsInTheRequest: each format that the page offers has what was
// typed into its fields, as text, and nobody gets it without the token of a form.
func TestWhatIsTypedIsInTheRequest(t *testing.T) {
	c := serve(t, Config{})
	page := c.page("/transfer?bird=C0734")
	assert.NotContains(t, page, `name="colony"`, "who asks for one bird may have no part in the move of the next")
	field := regexp.MustCompile(`<input class="fill[^"]*" form="fill-in" name="(blank-\d+)"[^>]*aria-label="Conditions: Sender, QUM"`).FindStringSubmatch(page)
	require.NotNil(t, field, "the sender can make conditions")
	agreed := regexp.MustCompile(`name="(blank-\d+)"[^>]*aria-label="[^"]*Agreed date"`).FindStringSubmatch(page)
	require.NotNil(t, agreed)
	typed := url.Values{"token": {tokenField.FindStringSubmatch(page)[1]}, field[1]: {"in a <quiet> crate"}, agreed[1]: {"3 March 2027"}}
	along := regexp.MustCompile(`href="(/send-along[^"]+)"`).FindStringSubmatch(page)
	require.NotNil(t, along)
	status, book := c.get(html.UnescapeString(along[1]))
	assert.Equal(t, http.StatusOK, status)
	assert.True(t, strings.HasPrefix(book, "PK"), "a workbook")
	assert.NotContains(t, page, "--attach")
	status, _ = c.get("/send-along?list=true")
	assert.Equal(t, http.StatusBadRequest, status)
	buttons := regexp.MustCompile(`<button formaction="(/download/transfer[^"]+)">`).FindAllStringSubmatch(page, -1)
	require.Len(t, buttons, 4, "a page, text, Markdown, and for programs")
	for _, b := range buttons {
		to := html.UnescapeString(b[1])
		r, err := c.PostForm(c.at+to, typed)
		require.NoError(t, err)
		raw, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		require.Equal(t, http.StatusOK, r.StatusCode, to)
		assert.Contains(t, r.Header.Get("Content-Disposition"), "attachment")
		text := html.UnescapeString(string(raw))
		switch {
		case strings.Contains(to, "json"):
			assert.NotContains(t, text, "3 March 2027", "a program is told what was computed")
		case strings.Contains(to, "html"):
			assert.Contains(t, string(raw), "in a &lt;quiet&gt; crate")
			fallthrough
		default:
			assert.Contains(t, text, "3 March 2027")
			assert.Contains(t, text, "quiet")
		}
		typed.Del("token")
		r, err = c.PostForm(c.at+to, typed)
		require.NoError(t, err)
		require.NoError(t, r.Body.Close())
		assert.Equal(t, http.StatusForbidden, r.StatusCode)
		typed.Set("token", tokenField.FindStringSubmatch(page)[1])
	}
}

// TestARequestIsAnswered: from what came to its case, to the answer in the files, to
// the season that holds to it.
func TestARequestIsAnswered(t *testing.T) {
	c, folder := ownColony(t)
	page := c.page("/requests")
	assert.Contains(t, page, `href="/record/request"`)
	assert.NotContains(t, page, `name="partner"`, "no setting that has no meaning here")
	answer := regexp.MustCompile(`href="(/record/decision\?[^"]*C0842[^"]*)"`).FindStringSubmatch(page)
	require.NotNil(t, answer)
	form := c.page(html.UnescapeString(answer[1]))
	assert.Contains(t, form, `name="to" type="text" value="JED"`)
	told := []string{"bird", "C0842", "to", "JED", "partner", "C0922", "decision", "declined", "reason", "it sits", "date", "2026-09-29"}
	_, shown, _ := c.tell("/record/decision", told...)
	seal := sealField.FindStringSubmatch(shown)
	require.NotNil(t, seal, shown)
	_, done, _ := c.tell("/record/decision", append(told, "seal", seal[1])...)
	assert.Contains(t, done, "Written down: a move or a pair was agreed on or declined")
	raw, err := os.ReadFile(filepath.Join(folder, "decisions.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(raw), "2026-09-29,move,C0842; C0922,JED,declined,,,it sits")
	assert.Contains(t, c.page("/requests"), "it sits")
	assert.Contains(t, c.page("/mates?bird=C0734"), `href="/transfer?bird=C0734"`, "from the mates to the request")
}
