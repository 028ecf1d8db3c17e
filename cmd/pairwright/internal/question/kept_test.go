package question

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestKeptIsComputedOnce asks for a value from many sides at once, after a first
// who failed and a second who was stopped.
func TestKeptIsComputedOnce(t *testing.T) {
	k := newKept[int]()
	_, err := k.get(t.Context(), func() (int, error) { return 0, errors.New("no") })
	require.Error(t, err)
	stopped, stop := context.WithCancel(t.Context())
	some, err := k.get(stopped, func() (int, error) { stop(); return 1, nil })
	require.NoError(t, err)
	assert.Equal(t, 1, some, "what there was when it was stopped")
	var times atomic.Int64
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			got, err := k.get(t.Context(), func() (int, error) { times.Add(1); return 3, nil })
			assert.NoError(t, err)
			assert.Equal(t, 3, got)
		})
	}
	all.Wait()
	assert.EqualValues(t, 1, times.Load())
}

// TestShelfKeepsTheLast puts more on a shelf than it holds.
func TestShelfKeepsTheLast(t *testing.T) {
	s := newShelf[string, int](2)
	a := s.at("a")
	s.at("b")
	assert.Same(t, a, s.at("a"))
	s.at("c") // b was asked for longest ago
	assert.Same(t, a, s.at("a"))
	assert.Len(t, s.of, 2)
	assert.Len(t, s.keys, 2)
}

// TestAFolderReadForOneQuestion answers a second one as well, about a bird that the
// first has no figures for.
func TestAFolderReadForOneQuestion(t *testing.T) {
	first := birdQuestion.Ask()
	first.Birds = []string{"C0734"}
	folder := readExample(t, first)
	_, err := first.Answer(t.Context(), folder)
	require.NoError(t, err)
	for _, dead := range []string{"C0001", "C0002"} {
		second := birdQuestion.Ask()
		second.Birds = []string{dead}
		x, err := second.Answer(t.Context(), folder)
		require.NoError(t, err)
		assert.Contains(t, x.build().Title, dead)
	}
}
