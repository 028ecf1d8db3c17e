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

// How much is run ahead for a review, so that it is no slower to have than it
// reads; forecast itself has no such bounds (common practice, no source).
const (
	aheadRuns      = 8
	aheadYears     = 100
	aheadBirdsMost = 600
)

// newAhead runs the programme forward for the years of the goal, at most
// aheadYears; nil where nobody lives, survival is not known, or there are more birds
// than aheadBirdsMost. The error is ctx's.
func newAhead(ctx context.Context, p *pairing.Programme, seed uint64) (*Ahead, error) {
	if n := p.Living.Size(); n == 0 || n > aheadBirdsMost {
		return nil, nil
	}
	o, err := forecast.New(ctx, p)
	if errors.Is(err, forecast.ErrNoSurvival) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	set := p.Settings()
	a := &Ahead{Outset: o, Options: forecast.Options{Years: min(max(1, set.GoalYears), aheadYears), Runs: aheadRuns, Seed: seed, Goal: set.GoalGeneDiversity}}
	for _, policy := range forecast.Policies() {
		switch policy.(type) {
		case forecast.Decision, forecast.Bonds:
			a.Policies = append(a.Policies, policy)
		}
	}
	a.Result, err = forecast.Run(ctx, &o.Start, &o.Rules, a.Policies, a.Options)
	return a, err
}
