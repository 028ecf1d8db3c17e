package web

import (
	"context"
	"crypto/rand"
	"errors"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"pairwright/cmd/pairwright/internal/question"
)

// long are the questions that take so long that their pages show how far they
// are. Whose settings come first are computed once one of them was chosen.
var long = map[string]struct{ settingsFirst bool }{"review": {}, "forecast": {settingsFirst: true}}

// How many long answers are computed, wait and are kept at once.
const (
	jobsAtOnce  = 1
	jobsWaiting = 6
	jobsKept    = 6
)

// How long a long answer is computed while nobody looks at its page, which asks for
// itself each second: where others wait for their turn, and where none do.
const (
	unwatchedAmongOthers = time.Minute
	unwatchedAlone       = 15 * time.Minute
)

// errBusy is more asked for than the server computes at once.
var errBusy = errors.New("too many long answers are asked for at once; wait for one of them, or stop it")

// job is a long answer that is computed in the background.
type job struct {
	task
	id    string
	state string       // of the files that it is computed from
	what  string       // the question with its settings
	asked time.Time    // when its page was last asked for
	turn  atomic.Bool  // it is computed, and does not wait for others
	runs  atomic.Int64 // that are done
	of    atomic.Int64 // of so many; 0 where that is not known
	// Once it is over one of these is there.
	answer *question.Answer
	err    error
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
	var same *job
	for _, j := range js.all {
		switch {
		case j.what == what:
			same = j
		case !j.over():
			going++
			if time.Since(j.asked) > unwatchedAmongOthers {
				j.cancel()
			}
		}
	}
	if same != nil {
		same.asked = time.Now()
		same.alone.Reset(unwatchedAlone)
		return same, nil
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
	j := &job{task: newTask(cancel), id: rand.Text(), state: c.state, what: what, asked: time.Now()}
	j.alone = time.AfterFunc(unwatchedAlone, cancel)
	js.all = append(js.all, j)
	asked.Progress = func(done, of int) {
		j.runs.Store(int64(done))
		j.of.Store(int64(of))
	}
	go func() {
		defer close(j.done)
		defer cancel()
		defer j.alone.Stop()
		defer rescue(&j.err)
		done, err := js.turns.take(ctx)
		if err != nil {
			j.err = err
			return
		}
		defer done()
		j.turn.Store(true)
		j.answer, j.err = asked.Answer(ctx, c.Folder)
	}()
	return j, nil
}

// stop stops a job. Some then answer with what they have.
func (js *jobs) stop(id string) {
	js.lock.Lock()
	defer js.lock.Unlock()
	for _, j := range js.all {
		if j.id == id {
			j.cancel()
		}
	}
}

// forget leaves the question of a job to be answered anew.
func (js *jobs) forget(id string) {
	js.lock.Lock()
	defer js.lock.Unlock()
	js.all = slices.DeleteFunc(js.all, func(j *job) bool { return j.id == id })
}

// patience is how long a page waits for a long answer before it shows that it
// is being computed.
const patience = 400 * time.Millisecond

// jobPage shows the answer to a question that takes long, and until it is there
// how far it is, with a way to stop.
func jobPage(name string) func(*visit) (*view, error) {
	q := question.Named(name)
	return func(v *visit) (*view, error) {
		if whole, ok := wholeChanges(v.Query()); ok {
			return &view{To: v.Path() + "?" + whole.Encode()}, nil
		}
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
		if settings := v.Query(); long[name].settingsFirst && (len(settings) == 0 || len(settings) == 1 && settings.Has("as-of")) {
			b, err := body("begin", answered{visit: v, Question: q, Asked: asked, Fields: v.fields(asked, settings)})
			return &view{Title: title(q), Body: b}, err
		}
		j, err := v.server.jobs.job(c, asked, v.Query())
		if err != nil {
			return nil, err
		}
		if err := j.wait(v.Context(), patience); err != nil {
			return nil, err
		}
		switch {
		case !j.over():
			return v.waiting(q, j)
		case j.err == nil:
			return v.show(asked, nil, j.answer, "")
		case errors.Is(j.err, context.Canceled):
			v.server.jobs.forget(j.id)
			b, err := body("stopped", v)
			return &view{Title: title(q), Body: b}, err
		}
		v.server.jobs.forget(j.id)
		return nil, j.err
	}
}

// title is what the page of a question is called before there is an answer.
func title(q *question.Question) string { return strings.ToUpper(q.Name[:1]) + q.Name[1:] }

// waiting is the page of a job that goes on.
func (v *visit) waiting(q *question.Question, j *job) (*view, error) {
	again := v.request.URL.RequestURI()
	b, err := body("waiting", map[string]any{
		"V": v, "Job": j.id, "Waits": !j.turn.Load(), "SoFar": j.soFar(), "Done": int(j.runs.Load()), "Of": int(j.of.Load()), "Again": again,
	})
	return &view{Title: title(q), Body: b, Refresh: j.refresh()}, err
}

// stop is what the button of a page that waits does. It goes back to that page,
// which then shows what there is.
func stop(v *visit) (*view, error) {
	v.server.jobs.stop(v.request.PathValue("job"))
	return &view{To: local(v.request.PostFormValue("again"))}, nil
}

// local returns an address if it is one of this server's, and else the first page.
func local(address string) string {
	again, err := url.Parse(address)
	if err != nil || again.Host != "" || again.Scheme != "" || again.Opaque != "" || !strings.HasPrefix(again.Path, "/") || strings.HasPrefix(again.Path, "//") {
		return "/"
	}
	return again.RequestURI()
}
