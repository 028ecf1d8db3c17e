package studbooktest

import (
	"context"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// looking is a context that ends once it has been asked so many times whether it has.
type looking struct {
	context.Context
	left *atomic.Int64
}

func (c looking) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return c.Context.Err()
}

// Stopped runs a computation that is stopped ever later, at every step at which it
// looks whether it is to stop, or at most so many of them: each time it ends with the
// context's error and no other.
func Stopped(t *testing.T, most int, run func(ctx context.Context) error) {
	t.Helper()
	const plenty = 1 << 40
	left := new(atomic.Int64)
	left.Store(plenty)
	require.NoError(t, run(looking{t.Context(), left}))
	steps := int(plenty - left.Load())
	require.Positive(t, steps, "it never looks")
	for k := range min(steps, most) {
		at := k
		if steps > most {
			at = k * steps / most
		}
		left.Store(int64(at))
		assert.ErrorIs(t, run(looking{t.Context(), left}), context.Canceled, "stopped at step %d of %d", at, steps)
	}
	t.Logf("%d steps", steps)
}
