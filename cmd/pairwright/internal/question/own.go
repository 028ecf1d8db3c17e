package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// Beside is what seasons of one's own are held against: the plan that the question has
// for an answer.
type Beside struct {
	Plan *pairing.Plan
	Why  string // so many chicks are wanted

	programme *pairing.Programme
}

// Own is a season that a person has made, with its name.
type Own struct {
	Name    string
	Choices []studbook.Choice
}

// Beside returns what the plan question has for seasons of one's own to be held
// against.
func (f *Folder) Beside(ctx context.Context, a *Asked) (_ *Beside, err error) {
	defer func() { err = Advised(err) }()
	q := a.ask.(*plan)
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	rules, why, err := q.rules(a, p)
	if err != nil {
		return nil, err
	}
	best, err := q.plan(ctx, a, f, p, rules)
	return &Beside{best, why, p}, err
}

// Programme is that of the plan.
func (b *Beside) Programme() *pairing.Programme { return b.programme }

// Weigh weighs seasons by the rules of the plan.
func (b *Beside) Weigh(ctx context.Context, seasons ...Own) ([]report.NamedOwn, error) {
	var out []report.NamedOwn
	for _, s := range seasons {
		x, err := b.Plan.Decision.Weigh(ctx, s.Choices, b.Plan.Options)
		if err != nil {
			return nil, err
		}
		out = append(out, report.NamedOwn{Name: s.Name, Own: x})
	}
	return out, nil
}

// Best returns the best season under what is fixed in one, as a season of one's own
// with the same fixed.
func (b *Beside) Best(ctx context.Context, choices []studbook.Choice) ([]studbook.Choice, error) {
	best, err := b.Plan.Decision.Best(ctx, choices, b.Plan.Options)
	if err != nil {
		return nil, err
	}
	out := best.Choices()
	for _, c := range choices {
		if !c.Fixed {
			continue
		}
		there := false
		for k := range out {
			if x := &out[k]; x.What == c.What && x.SameBirds(c.Birds...) {
				x.Fixed, x.Reason, there = true, c.Reason, true
			}
		}
		if !there { // a pair that is to hatch nothing, or what cannot be carried out
			out = append(out, c)
		}
	}
	return out, nil
}

// answer answers with seasons of one's own beside the plan.
func (b *Beside) answer(ctx context.Context, own []Own) (*Answer, error) {
	seasons, err := b.Weigh(ctx, own...)
	if err != nil {
		return nil, err
	}
	p := b.programme
	return &Answer{
		schema: "pairwright/own 1", value: func() any {
			value, _ := contract.OwnJSON(p, b.Plan, seasons)
			return value
		},
		rows: records(func() []contract.OwnFigures {
			_, rows := contract.OwnJSON(p, b.Plan, seasons)
			return rows
		}), Own: report.PlanWarnings(p, b.Plan),
		build: func() *document.Document { return report.OwnDocument(p, b.Plan, seasons, b.Why) },
	}, nil
}
