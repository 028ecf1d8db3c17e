package web

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAPageInTheMaking: a browser is shown how far a page is, and gets it when it asks
// again; what else asks waits for it; one of files that have changed is made anew.
func TestAPageInTheMaking(t *testing.T) {
	dir := t.TempDir()
	studbook := filepath.Join(dir, "studbook.csv")
	require.NoError(t, os.WriteFile(studbook, []byte("id,sex,sire,dam,hatch_date\nA1,F,,,2020\nB1,M,,,2019\n"), 0o644))
	s, err := New(Config{Studbook: studbook})
	require.NoError(t, err)
	t.Cleanup(s.jobs.end)
	s.attention = time.Millisecond
	let, made := make(chan struct{}), 0
	slow := s.handle(page{decides: true, show: func(v *visit) (*view, error) {
		select {
		case <-let:
		case <-v.Context().Done():
			return nil, v.Context().Err()
		}
		made++
		return &view{Title: "There it is", Body: "the body"}, nil
	}})
	ask := func(headers ...string) (int, string) {
		r := httptest.NewRequest(http.MethodGet, "http://localhost/slow?a=1", nil)
		r.AddCookie(&http.Cookie{Name: visitorCookie, Value: "ABCDEFGHIJKLMNOPQRSTUVWXYZ"})
		for k := 0; k < len(headers); k += 2 {
			r.Header.Set(headers[k], headers[k+1])
		}
		w := httptest.NewRecorder()
		slow.ServeHTTP(w, r)
		return w.Code, w.Body.String()
	}
	browser := []string{"Accept", "text/html,*/*"}
	look := append(browser, lookHeader, "yes")
	status, text := ask(browser...)
	assert.Equal(t, http.StatusAccepted, status)
	assert.Contains(t, text, `http-equiv="refresh" content="1"`)
	assert.Contains(t, text, "One moment")
	require.Eventually(t, func() bool {
		_, text = ask(look...)
		return strings.Contains(text, "The files are read: 2 birds <span")
	}, time.Minute, time.Millisecond)
	assert.Equal(t, 1, strings.Count(text, `aria-current="step"`))
	assert.Contains(t, text, "The season: who should live with whom")
	close(let)
	require.Eventually(t, func() bool {
		status, _ = ask(look...)
		return status == http.StatusNoContent
	}, time.Minute, time.Millisecond)
	status, text = ask(browser...)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, "the body")
	assert.Equal(t, 1, made, "it is made once")
	assert.Empty(t, s.makings.all)

	let = make(chan struct{})
	status, _ = ask(browser...)
	assert.Equal(t, http.StatusAccepted, status)
	close(let)
	require.Eventually(t, func() bool {
		status, _ = ask(look...)
		return status == http.StatusNoContent
	}, time.Minute, time.Millisecond)
	require.NoError(t, os.WriteFile(studbook, []byte("id,sex,sire,dam,hatch_date\nA1,F,,,2020\nB1,M,,,2019\nC1,M,,,2019\n"), 0o644))
	s.attention = time.Minute
	status, _ = ask(browser...)
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, 3, made, "one of older files is of no use")

	s.attention = time.Millisecond
	status, text = ask()
	assert.Equal(t, http.StatusOK, status, "a program waits")
	assert.Contains(t, text, "the body")
}
