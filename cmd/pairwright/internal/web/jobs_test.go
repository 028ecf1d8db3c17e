package web

import (
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/question"
)

// TestNobodyWaitsForWhatNobodyReads: a long answer whose page was left is stopped when
// another one is asked for, and one that is looked at is not.
func TestNobodyWaitsForWhatNobodyReads(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	t.Cleanup(s.jobs.end)
	c, err := s.reader.now(t.Context())
	require.NoError(t, err)
	ask := func(runs string) *job {
		values := url.Values{"runs": {runs}, "years": {"1000"}}
		asked, err := question.Named("forecast").Parse(values)
		require.NoError(t, err)
		j, err := s.jobs.job(c, asked, values)
		require.NoError(t, err)
		return j
	}
	left := ask("9001")
	watched := ask("9002")
	assert.Same(t, left, ask("9001"))
	assert.False(t, left.over())
	require.Eventually(t, func() bool { return left.turn.Load() || watched.turn.Load() }, time.Minute, time.Millisecond)
	s.jobs.lock.Lock()
	left.asked = left.asked.Add(-2 * unwatchedAmongOthers)
	s.jobs.lock.Unlock()
	watched = ask("9002")
	require.Eventually(t, left.over, time.Minute, time.Millisecond)
	require.Eventually(t, watched.turn.Load, time.Minute, time.Millisecond)
	assert.False(t, watched.over())
}
