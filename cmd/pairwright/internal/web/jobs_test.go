package web

import (
	"net/url"
	"strconv"
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

// TestLongAnswersAreBounded: one more than are computed and wait is refused, and of those
// that are there the oldest go.
func TestLongAnswersAreBounded(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	t.Cleanup(s.jobs.end)
	c, err := s.reader.now(t.Context())
	require.NoError(t, err)
	ask := func(seed int) (*job, error) {
		values := url.Values{"runs": {"10"}, "years": {"2"}, "seed": {strconv.Itoa(seed)}}
		asked, err := question.Named("forecast").Parse(values)
		require.NoError(t, err)
		return s.jobs.job(c, asked, values)
	}
	done, err := s.jobs.turns.take(t.Context()) // so that all others wait
	require.NoError(t, err)
	for seed := range jobsAtOnce + jobsWaiting {
		_, err := ask(seed)
		require.NoError(t, err)
	}
	_, err = ask(100)
	assert.ErrorIs(t, err, errBusy)
	first, err := ask(0)
	require.NoError(t, err, "it is asked for already")
	done()
	for seed := range 2 * (jobsKept + jobsWaiting) {
		j, err := ask(seed)
		require.NoError(t, err)
		<-j.done
		require.NoError(t, j.err)
		assert.LessOrEqual(t, len(s.jobs.all), jobsKept+jobsWaiting)
	}
	again, err := ask(0)
	require.NoError(t, err)
	assert.NotSame(t, first, again, "it was no longer kept")
}
