package web

import (
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/sourcegraph/conc/panics"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook/journal"
)

// TestWhatWentWrongIsSaid: each kind of error has its title, its status and what to do.
func TestWhatWentWrongIsSaid(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	for _, x := range []struct {
		err           error
		method, path  string
		status        int
		title, on, to string
	}{
		{journal.ErrBusy, "POST", "/record/hatch", http.StatusConflict, "Nothing was written", "Another program is writing to the same folder.", ""},
		{journal.ErrChanged, "POST", "/undo", http.StatusConflict, "Nothing was written", "", ""},
		{errBusy, "GET", "/review", http.StatusServiceUnavailable, "Too much at once", "wait for one of them", ""},
		{context.DeadlineExceeded, "GET", "/plan", http.StatusServiceUnavailable, "This takes too long", "Try it again when less is asked at once.", ""},
		{&fs.PathError{Op: "open", Path: "moves.csv", Err: fs.ErrPermission}, "GET", "/", http.StatusUnprocessableEntity, "A file cannot be read", "moves.csv", ""},
		{&fs.PathError{Op: "write", Path: "moves.csv", Err: fs.ErrPermission}, "POST", "/record/hatch", http.StatusUnprocessableEntity, "Nothing was written", "moves.csv", ""},
		{&pairing.ColonyError{Birds: 1}, "GET", "/?as-of=1990", http.StatusUnprocessableEntity, "No bird lives here on that day", "", ""},
		{&pairing.ColonyError{}, "GET", "/", http.StatusUnprocessableEntity, "No bird lives here", "a row for each bird", "/record/arrival"},
		{&panics.ErrRecovered{Recovered: panics.Recovered{Value: "out of range"}}, "GET", "/kin", http.StatusInternalServerError, "The program is at fault", "the other pages can still be asked for", ""},
	} {
		t.Run(fmt.Sprintf("%T %s %s", x.err, x.method, x.path), func(t *testing.T) {
			v := &visit{request: httptest.NewRequest(x.method, x.path, nil), server: s}
			out := v.failed(fmt.Errorf("asking: %w", x.err))
			assert.Equal(t, x.title, out.Title)
			assert.Equal(t, x.status, out.Status)
			assert.Contains(t, string(out.Body), x.on)
			if x.to != "" {
				assert.Contains(t, string(out.Body), `href="`+x.to+`"`)
			}
		})
	}
}

// TestAFaultOfAPageIsItsOwn: a page that panics says so, whether it is made for its request
// or beside it, and the server goes on.
func TestAFaultOfAPageIsItsOwn(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	faulty := s.handle(page{show: func(*visit) (*view, error) { panic("out of range") }})
	for _, accept := range []string{"text/html", "application/json"} {
		r := httptest.NewRequest(http.MethodGet, "/faulty", nil)
		r.Header.Set("Accept", accept)
		w := httptest.NewRecorder()
		faulty.ServeHTTP(w, r)
		assert.Equal(t, http.StatusInternalServerError, w.Code)
		assert.Contains(t, w.Body.String(), "The program is at fault")
	}
}
