package transfer

import (
	"context"
	"testing"

	"pairwright/pairing"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestStopped: each answer about moves ends when it is stopped, at whichever step.
func TestStopped(t *testing.T) {
	f := hand()
	f["requests.csv"] = "bird,to,partner\nF1,B,MB\nMC,A,\nSIS2,C,\n"
	book := f.programme(t).Book
	for name, run := range map[string]func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error{
		"find": func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error {
			_, err := Find(ctx, p, d, Question{Bird: "F1"})
			return err
		},
		"list": func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error {
			_, err := Moves(ctx, p, d, "")
			return err
		},
		"requests": func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error {
			_, err := Judge(ctx, p, d)
			return err
		},
		"partner": func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error {
			_, err := Find(ctx, p, d, Question{Bird: "MB", Partner: "F9"})
			return err
		},
		"parts": func(ctx context.Context, p *pairing.Programme, d *pairing.Decision) error {
			plan, err := d.Plan(ctx, pairing.PlanOptions{Whole: true, Chicks: 2})
			if err != nil {
				return err
			}
			_, err = ByInstitution(ctx, p, plan)
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			studbooktest.Stopped(t, 60, func(ctx context.Context) error {
				p, err := pairing.New(ctx, book)
				if err != nil {
					return err
				}
				d, err := p.Decide(ctx, pairing.DecisionOptions{})
				if err != nil {
					return err
				}
				return run(ctx, p, d)
			})
		})
	}
}
