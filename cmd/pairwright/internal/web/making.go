package web

import (
	"context"
	"net/http"
	"strings"
	"sync"
	"time"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
)

// A page of a large programme takes seconds while the files are new: they are read, and
// the season is decided. A browser that asks for one is shown after a second how far that
// is, and asks again until the page is there. What else asks, and forms that are sent,
// wait for the page itself.

const (
	// attention is how long a reader waits for a page before it is said that it is being
	// made: with a second the flow of thought stays unbroken (Miller 1968, Response time
	// in man-computer conversational transactions; from memory).
	attention = time.Second
	// unwatchedPage is how long a page is made that its browser does not ask for again.
	unwatchedPage = 15 * time.Second
	// longestMaking is how long a page is made at most that is asked for again.
	longestMaking = 15 * time.Minute
	// mostMaking is how many pages are made at once whose browsers ask again.
	mostMaking = 32
	// lookHeader is what a script sends that asks whether the page is there.
	lookHeader = "Pairwright-Look"
)

// made is a page that is being made, or was and is to be fetched.
type made struct {
	task
	visit *visit
	out   *view // once it is over
}

// makings are the pages that are being made, by browser and address.
type makings struct {
	lock sync.Mutex
	all  map[string]*made
}

// of returns the page of a key that is being made; nil for none.
func (ms *makings) of(key string) *made {
	ms.lock.Lock()
	defer ms.lock.Unlock()
	m := ms.all[key]
	if m != nil {
		m.alone.Reset(unwatchedPage)
	}
	return m
}

// keep has a page found by its key; false if there are too many.
func (ms *makings) keep(key string, m *made) bool {
	ms.lock.Lock()
	defer ms.lock.Unlock()
	if len(ms.all) >= mostMaking {
		return false
	}
	if ms.all == nil {
		ms.all = make(map[string]*made)
	}
	ms.all[key] = m
	return true
}

// drop forgets the page of a key, if it is that.
func (ms *makings) drop(key string, m *made) {
	ms.lock.Lock()
	defer ms.lock.Unlock()
	if ms.all[key] == m {
		delete(ms.all, key)
	}
}

// forget forgets all pages: they were begun before something was written.
func (ms *makings) forget() {
	ms.lock.Lock()
	defer ms.lock.Unlock()
	clear(ms.all)
}

// mayAskAgain reports whether a request is that of a browser for a page, which asks
// again where it is told to.
func mayAskAgain(r *http.Request, p page) bool {
	return r.Method == http.MethodGet && !p.sends && r.URL.Query().Get("format") == "" && strings.Contains(r.Header.Get("Accept"), "text/html")
}

// wait answers a browser with the page that it asked for, or with how far that is.
func (s *Server) wait(w http.ResponseWriter, r *http.Request, p page, visitor string) {
	key := visitor + " " + r.URL.RequestURI()
	m := s.makings.of(key)
	if m != nil && m.over() && !s.reader.still(m.visit.colony) { // it is of files that have changed
		s.makings.drop(key, m)
		m = nil
	}
	looks := r.Header.Get(lookHeader) != ""
	if looks && m == nil {
		w.WriteHeader(http.StatusNoContent) // it can be asked for
		return
	}
	if m == nil {
		m = s.begin(r, p, visitor, key)
	}
	if m.wait(r.Context(), s.attention) != nil {
		if s.makings.of(key) != m {
			m.cancel() // nobody waits any more
		}
		return
	}
	switch {
	case m.over() && looks:
		w.WriteHeader(http.StatusNoContent) // it is left for one who shows it
		return
	case m.over():
		s.deliver(w, key, m)
		return
	}
	if s.makings.of(key) != m && !s.makings.keep(key, m) {
		m.alone.Stop() // it is not asked for again
		select {
		case <-m.done:
			s.deliver(w, key, m)
		case <-r.Context().Done():
			m.cancel()
		}
		return
	}
	now := &visit{request: r, server: s, colony: s.reader.peek(), visitor: visitor}
	out, err := now.being(m, p)
	if err != nil {
		out = now.failed(err)
	}
	s.answerWith(w, now, out)
}

// deliver answers with a page that is there, and forgets it.
func (s *Server) deliver(w http.ResponseWriter, key string, m *made) {
	m.alone.Stop()
	s.makings.drop(key, m)
	s.answerWith(w, m.visit, m.out)
}

// begin begins to make a page, which goes on when the request for it has been answered.
func (s *Server) begin(r *http.Request, p page, visitor, key string) *made {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), longestMaking)
	m := &made{task: newTask(cancel)}
	m.alone = time.AfterFunc(unwatchedPage, func() {
		cancel()
		s.makings.drop(key, m)
	})
	m.visit = &visit{request: r.Clone(ctx), server: s, visitor: visitor}
	go func() {
		defer close(m.done)
		defer cancel()
		m.out = m.visit.shown(p)
	}()
	return m
}

// step is a part of the way to a page.
type step struct {
	Text string
	Done bool
	Now  bool
}

// being is the page that says how far another is.
func (v *visit) being(m *made, p page) (*view, error) {
	b, err := body("being", map[string]any{"Steps": v.steps(p), "SoFar": m.soFar()})
	return &view{Title: "One moment", Body: b, Status: http.StatusAccepted, Refresh: m.refresh()}, err
}

// steps are what there is to do for a page, as far as it is known to be done.
func (v *visit) steps(p page) []step {
	read := step{Text: "The files are read"}
	var kin, decided bool
	if v.colony != nil {
		read.Done = true
		if c := v.colony.Colony; c != nil {
			read.Text += ": " + document.FormatThings(len(c.Birds), "bird", "birds")
			asked := question.Reading("page")
			if setDay(asked, v.Day()) == nil {
				kin, decided = v.colony.Ready(asked)
			}
		}
	}
	all := []step{read, {Text: "Who lives on the day, and who is related to whom", Done: kin}}
	if p.decides {
		all = append(all, step{Text: "The season: who should live with whom, at all institutions together", Done: decided})
	}
	all = append(all, step{Text: "The page itself"})
	for k := range all {
		if !all[k].Done {
			all[k].Now = true
			break
		}
	}
	return all
}
