package review_test

import (
	"context"
	"testing"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestStopped: a review ends when it is stopped, at whichever step.
func TestStopped(t *testing.T) {
	studbooktest.WithoutRace(t)
	runs := 2
	c := grow(t, 3, size{birds: 60, years: 12, places: 2})
	book := on(t, c, today).Book
	o := review.Options{Colony: "P0", Runs: &runs, Drop: pedigree.Drop{Iterations: 128}, Rank: pairing.Options{Samples: 2}}
	studbooktest.Stopped(t, 150, func(ctx context.Context) error {
		p, err := pairing.New(ctx, book)
		if err != nil {
			return err
		}
		_, err = review.New(ctx, p, o)
		return err
	})
	studbooktest.Stopped(t, 20, func(ctx context.Context) error {
		_, err := adviceOn(ctx, on(t, c, today), "P0", studbook.DayOf(lastYear, 1, 1))
		return err
	})
}
