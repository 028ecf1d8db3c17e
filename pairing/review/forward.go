package review

import (
	"context"
	"errors"

	"pairwright/pairing"
	"pairwright/pairing/forecast"
)

// Forward is a short forecast: the programme run forward bird by bird, with the
// season's decision each year and with nothing planned, on the same luck.
type Forward struct {
	Outset   *forecast.Outset
	Policies []forecast.Policy
	Options  forecast.Options
	Result   *forecast.Result
}

// How much is run forward for a review, so that it is no slower to have than to read:
// so many years, and the fewer runs the more birds there are, whose runs differ the
// less; forecast itself has wider bounds (common practice, no source).
const (
	forwardYears     = 100
	forwardRunBirds  = 3200 // runs times birds
	forwardRunsLeast = 4
	forwardRunsMost  = 40
	forwardBirdsMost = 600
)

// newForward runs the programme forward for the years of the goal, at most
// forwardYears; nil where nobody lives, survival is not known, no runs are asked for,
// or there are, or are wanted, more birds than forwardBirdsMost and nobody says how
// many runs to make. The error is ctx's or forecast.Run's.
func newForward(ctx context.Context, p *pairing.Programme, asked *int, seed uint64) (*Forward, error) {
	birds := max(p.Living.Size(), p.Settings().GoalBirds)
	if p.Living.Size() == 0 || asked == nil && birds > forwardBirdsMost || asked != nil && *asked == 0 {
		return nil, nil
	}
	o, err := forecast.New(ctx, p)
	if errors.Is(err, forecast.ErrNoSurvival) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	runs := min(max(forwardRunBirds/birds, forwardRunsLeast), forwardRunsMost)
	if asked != nil {
		runs = *asked
	}
	set := p.Settings()
	a := &Forward{Outset: o, Options: forecast.Options{Years: min(max(1, set.GoalYears), forwardYears), Runs: runs, Seed: seed, Goal: set.GoalGeneDiversity}}
	for _, policy := range forecast.Policies() {
		switch policy.(type) {
		case forecast.Decision, forecast.Bonds:
			a.Policies = append(a.Policies, policy)
		}
	}
	a.Result, err = forecast.Run(ctx, &o.Start, &o.Rules, a.Policies, a.Options)
	return a, err
}
