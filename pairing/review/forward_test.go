package review_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/forecast"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// The short forecast of a review is what forecast itself says with as many runs,
// begins with the gene diversity of the review, and is left out where nobody knows
// how long birds live.
func TestForwardIsAForecast(t *testing.T) {
	p := on(t, studbooktest.Example(t), studbook.DayOf(2003, time.September, 30))
	options := review.Options{Colony: "HAF", Drop: pedigree.Drop{Iterations: 128}, Rank: pairing.Options{Seed: 5}}
	r, err := review.New(context.Background(), p, options)
	require.NoError(t, err)
	f := r.Forward
	require.NotNil(t, f)
	assert.Equal(t, 3200/420, f.Options.Runs, "for the birds wanted")
	o, err := forecast.New(context.Background(), p)
	require.NoError(t, err)
	want, err := forecast.Run(context.Background(), &o.Start, &o.Rules, f.Policies, forecast.Options{Years: 100, Runs: f.Options.Runs, Seed: 5, Goal: .9})
	require.NoError(t, err)
	assert.Equal(t, want, f.Result)
	require.Len(t, want.Courses, 2)
	for _, c := range want.Courses {
		assert.InDelta(t, r.ProgrammeGenetics.GeneDiversity.Value, c.Years[0].GeneDiversity.Median, rounding)
	}

	c := studbooktest.Read(t, "studbook.csv", "id,sex,sire,dam,hatch_date\nA,F,wild,wild,2010\nB,M,wild,wild,2010\n")
	r, err = review.New(context.Background(), on(t, c, today), review.Options{Drop: pedigree.Drop{Iterations: 128}})
	require.NoError(t, err)
	assert.Nil(t, r.Forward)
}
