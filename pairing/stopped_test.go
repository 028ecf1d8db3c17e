package pairing_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestStopped: whatever is asked ends when it is stopped, at whichever step.
func TestStopped(t *testing.T) {
	late := lateProgramme(t, "Y,M,wild,wild,2024-06-01,HOME\nZ,F,wild,wild,2024-06-01,HOME\nU,M,unknown,A1,2021-05-01,HOME\n")
	d := decide(t, late)
	season := []studbook.Choice{{What: studbook.RulesBond, Birds: []string{"F", "M"}, Chicks: -1, Fixed: true}}
	o := pairing.PlanOptions{Whole: true, Chicks: 3}
	for name, run := range map[string]func(ctx context.Context) error{
		"decision": func(ctx context.Context) error { _, err := late.Decide(ctx, pairing.DecisionOptions{}); return err },
		"plan": func(ctx context.Context) error {
			d, err := late.Decide(ctx, pairing.DecisionOptions{FreeBonds: true})
			if err != nil {
				return err
			}
			_, err = d.Plan(ctx, o)
			return err
		},
		"weigh": func(ctx context.Context) error { _, err := d.Weigh(ctx, season, o); return err },
		"best":  func(ctx context.Context) error { _, err := d.Best(ctx, season, o); return err },
		"young": func(ctx context.Context) error {
			d, err := late.Decide(ctx, pairing.DecisionOptions{})
			if err != nil {
				return err
			}
			_, err = d.Young(ctx)
			return err
		},
		"ranking": func(ctx context.Context) error {
			d, err := late.Decide(ctx, pairing.DecisionOptions{})
			if err != nil {
				return err
			}
			r, err := pairing.NewRanker(ctx, d, pairing.Options{Samples: 5, BreakBonds: true})
			if err != nil {
				return err
			}
			for _, b := range late.Book.Living {
				if _, err := r.Rank(ctx, b); err != nil {
					return err
				}
			}
			return nil
		},
		"programme": func(ctx context.Context) error { _, err := pairing.New(ctx, late.Book); return err },
	} {
		t.Run(name, func(t *testing.T) { studbooktest.Stopped(t, 200, run) })
	}
	require.NotNil(t, d)
}
