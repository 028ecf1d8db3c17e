package web

import (
	"context"
	"crypto/rand"
	"errors"
	"net/url"
	"slices"
	"sync"
	"time"

	"pairwright/cmd/pairwright/internal/question"
)

// long are the questions that take so long that their pages show how far they
// are.
var long = map[string]bool{"review": true}

// How many long answers are computed, wait and are kept at once.
const (
	jobsAtOnce  = 1
	jobsWaiting = 6
	jobsKept    = 6
)

// errBusy is more asked for than the server computes at once.
var errBusy = errors.New("too many long answers are asked for at once; wait for one of them, or stop it")

// job is a long answer that is computed in the background.
type job struct {
	id     string
	state  string // of the files that it is computed from
	what   string // the question with its settings
	begun  time.Time
	cancel context.CancelFunc
	done   chan struct{} // closed when answer or err are there
	answer *question.Answer
	err    error
}

// over reports whether the job has ended.
func (j *job) over() bool {
	select {
	case <-j.done:
		return true
	default:
		return false
	}
}

// jobs are the long answers of a server.
type jobs struct {
	lock  sync.Mutex
	all   []*job // the oldest first
	turns slots
	ctx   context.Context // of all jobs
	end   context.CancelFunc
}

func (js *jobs) begin() {
	js.turns = make(slots, jobsAtOnce)
	js.ctx, js.end = context.WithCancel(context.Background())
}

// job returns the job of a question, and begins it if there is none. Jobs for
// files that have changed are stopped.
func (js *jobs) job(c *colony, asked *question.Asked, values url.Values) (*job, error) {
	what := asked.Question.Name + "?" + values.Encode()
	js.lock.Lock()
	defer js.lock.Unlock()
	js.all = slices.DeleteFunc(js.all, func(j *job) bool {
		if j.state != c.state {
			j.cancel()
		}
		return j.state != c.state
	})
	going := 0
	for _, j := range js.all {
		if j.what == what {
			return j, nil
		}
		if !j.over() {
			going++
		}
	}
	if going > jobsWaiting {
		return nil, errBusy
	}
	for k := 0; len(js.all) >= jobsKept+jobsWaiting && k < len(js.all); {
		if js.all[k].over() {
			js.all = slices.Delete(js.all, k, k+1)
		} else {
			k++
		}
	}
	ctx, cancel := context.WithCancel(js.ctx)
	j := &job{id: rand.Text(), state: c.state, what: what, begun: time.Now(), cancel: cancel, done: make(chan struct{})}
	js.all = append(js.all, j)
	go func() {
		defer close(j.done)
		defer cancel()
		done, err := js.turns.take(ctx)
		if err != nil {
			j.err = err
			return
		}
		defer done()
		j.answer, j.err = asked.Answer(ctx, c.Folder)
	}()
	return j, nil
}

// stop stops a job and forgets it.
func (js *jobs) stop(id string) {
	js.lock.Lock()
	defer js.lock.Unlock()
	js.all = slices.DeleteFunc(js.all, func(j *job) bool {
		if j.id == id {
			j.cancel()
		}
		return j.id == id
	})
}

// patience is how long a page waits for a long answer before it shows that it
// is being computed.
const patience = 400 * time.Millisecond

// jobPage shows the answer to a question that takes long, and until it is there
// how long it has been computed, with a way to stop.
func jobPage(name string) func(*visit) (*view, error) {
	q := question.Named(name)
	if q == nil || !long[name] {
		panic("web: no long question " + name)
	}
	return func(v *visit) (*view, error) {
		asked, err := v.ask(q, nil)
		if err != nil {
			return nil, err
		}
		c, err := v.read()
		if err != nil {
			return nil, err
		}
		if c.Faults != nil {
			return nil, c.Faults
		}
		j, err := v.server.jobs.job(c, asked, v.Query())
		if err != nil {
			return nil, err
		}
		wait := time.NewTimer(patience)
		defer wait.Stop()
		select {
		case <-j.done:
		case <-wait.C:
			b, err := body("waiting", map[string]any{"V": v, "Job": j.id, "Seconds": int(time.Since(j.begun).Seconds())})
			return &view{Title: q.Short, Body: b, Refresh: 1}, err
		case <-v.Context().Done():
			return nil, v.Context().Err()
		}
		if j.err != nil {
			v.server.jobs.stop(j.id) // the next who asks has it computed anew
			return nil, j.err
		}
		return v.show(asked, nil, j.answer, "")
	}
}

// stop is what the button of a page that waits does.
func stop(v *visit) (*view, error) {
	v.server.jobs.stop(v.request.PathValue("job"))
	return &view{To: v.Link("/")}, nil
}
