package web

import (
	"context"
	"time"

	"pairwright/cmd/pairwright/internal/document"
)

// task is what is worked on while a page waits for it, and goes on when that page was
// shown how far it is: a long answer (jobs.go) or a page (making.go).
type task struct {
	begun  time.Time
	cancel context.CancelFunc
	alone  *time.Timer   // ends it where nobody asks for it any more
	done   chan struct{} // closed when it is over
}

func newTask(cancel context.CancelFunc) task {
	return task{begun: time.Now(), cancel: cancel, done: make(chan struct{})}
}

// over reports whether the task has ended.
func (t *task) over() bool {
	select {
	case <-t.done:
		return true
	default:
		return false
	}
}

// wait waits for the end of the task, but no longer than patience lasts. The error is ctx's,
// of one who has gone while the task goes on.
func (t *task) wait(ctx context.Context, patience time.Duration) error {
	if t.over() {
		return nil
	}
	enough := time.NewTimer(patience)
	defer enough.Stop()
	select {
	case <-t.done:
	case <-enough.C:
	case <-ctx.Done():
		return ctx.Err()
	}
	return nil
}

func (t *task) seconds() int { return int(time.Since(t.begun).Seconds()) }

// soFar says for how long a reader has waited.
func (t *task) soFar() string {
	seconds := t.seconds()
	if seconds == 0 {
		return "just begun"
	}
	return document.FormatThings(seconds, "second", "seconds") + " so far"
}

// refresh is after how many seconds a page that waits asks again where no script looks
// after it: more seldom with time, so that one who uses the keyboard gets somewhere.
func (t *task) refresh() int {
	switch seconds := t.seconds(); {
	case seconds < 10:
		return 1
	case seconds < 30:
		return 3
	}
	return 5
}
