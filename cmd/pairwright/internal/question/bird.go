package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

var birdQuestion = &Question{
	Name: "bird", About: Look,
	Short: "Show one bird: its figures, family, four generations of ancestors, best mates",
	Long: `Shows all there is to say of one bird: its row of the birds command, parents,
mates, chicks, four generations of ancestors (drawn with --format html), whom it
is inbred through, its closest living kin and its best mates.`,
	Birds: []string{"bird"}, Needed: 1, Usage: "ID",
	Rows: "its row of the birds command", random: true,
	uses:   states,
	living: true,
	new:    func() ask { return bird{} },
}

type bird struct{}

func (bird) settings() []Setting { return nil }

func (bird) check(*Asked) error { return nil }

func (bird) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	b, err := p.Bird(a.Birds[0])
	if err != nil {
		return nil, err
	}
	ranker, err := f.ranker(ctx, a, pairing.Options{Seed: a.Seed})
	if err != nil {
		return nil, err
	}
	profile, err := ranker.Profile(ctx, b, a.drop())
	if err != nil {
		return nil, err
	}
	return &Answer{
		schema: "pairwright/bird 1", value: func() any { return contract.BirdJSON(p, profile) },
		rows:  records(func() []contract.BirdRow { return contract.BirdRows(p, []pairing.Row{profile.Row}) }),
		build: func() *document.Document { return report.BirdDocument(p, profile) },
	}, nil
}
