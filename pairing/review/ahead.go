package review

import (
	"context"
	"errors"

	"pairwright/pairing"
	"pairwright/pairing/forecast"
)

// Ahead is a short forecast: the programme run forward bird by bird, with the
// season's decision each year and with nothing planned, on the same luck.
type Ahead struct {
	Outset   *forecast.Outset
	Policies []forecast.Policy
	Options  forecast.Options
	Result   *forecast.Result
}

// How much is run ahead for a review, so that it is no slower to have than to read:
// so many years, and the fewer runs the more birds there are, whose runs differ the
// less; forecast itself has no such bounds (common practice, no source).
const (
	aheadYears     = 100
	aheadRunBirds  = 3200 // runs times birds
	aheadRunsLeast = 4
	aheadRunsMost  = 40
	aheadBirdsMost = 600
)

// newAhead runs the programme forward for the years of the goal, at most
// aheadYears; nil where nobody lives, survival is not known, or there are more birds
// than aheadBirdsMost. The error is ctx's.
func newAhead(ctx context.Context, p *pairing.Programme, seed uint64) (*Ahead, error) {
	birds := p.Living.Size()
	if birds == 0 || birds > aheadBirdsMost {
		return nil, nil
	}
	o, err := forecast.New(ctx, p)
	if errors.Is(err, forecast.ErrNoSurvival) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	runs := min(max(aheadRunBirds/birds, aheadRunsLeast), aheadRunsMost)
	set := p.Settings()
	a := &Ahead{Outset: o, Options: forecast.Options{Years: min(max(1, set.GoalYears), aheadYears), Runs: runs, Seed: seed, Goal: set.GoalGeneDiversity}}
	for _, policy := range forecast.Policies() {
		switch policy.(type) {
		case forecast.Decision, forecast.Bonds:
			a.Policies = append(a.Policies, policy)
		}
	}
	a.Result, err = forecast.Run(ctx, &o.Start, &o.Rules, a.Policies, a.Options)
	return a, err
}
