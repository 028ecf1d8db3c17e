package disk

import (
	"context"
	"errors"
	"time"
)

// ErrBusy says that another program held a lock for as long as one waited.
var ErrBusy = errors.New("another program is writing here")

// Lock holds a lock on a file, which is created where it is missing, and
// returns what gives it back. It waits at most that long. The lock is the
// operating system's: it ends with the program that holds it, however that
// ends.
func Lock(ctx context.Context, name string, wait time.Duration) (unlock func() error, err error) {
	const pause = 20 * time.Millisecond
	deadline := time.Now().Add(wait)
	for {
		f, err := tryLock(name)
		if err == nil {
			return f.Close, nil
		}
		if !errors.Is(err, errHeld) {
			return nil, err
		}
		if time.Now().After(deadline) {
			return nil, ErrBusy
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(pause):
		}
	}
}

// errHeld is that somebody else holds the lock.
var errHeld = errors.New("held")
