package board

import (
	"context"
	"testing"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestStopped: a board ends when it is stopped, at whichever step.
func TestStopped(t *testing.T) {
	studbooktest.WithoutRace(t)
	p, _ := decided(t, studbooktest.Example(t), studbook.DayOf(2026, 9, 30))
	studbooktest.Stopped(t, 40, func(ctx context.Context) error {
		d, err := p.Decide(ctx, pairing.DecisionOptions{})
		if err != nil {
			return err
		}
		_, err = New(ctx, d, p, "HAF")
		return err
	})
}
