package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

var kinQuestion = &Question{
	Name: "kin", About: Look,
	Short: "Say how two birds are related, and through whom",
	Long: `Gives the kinship of two birds, which is the inbreeding coefficient F that a
chick of theirs would have, split by common ancestor: what each contributes and
its largest paths. The contributions add up to the kinship. Then what the two would
do as a pair: their chicks, what the programme gains, and who else would have
another mate for it.`,
	Birds: []string{"a", "b"}, Needed: 2, Usage: "A B",
	Rows:   "a row for each ancestor",
	living: true,
	new:    func() ask { return kin{} },
}

type kin struct{}

func (kin) settings() []Setting { return nil }

func (kin) check(*Asked) error { return nil }

func (kin) answer(ctx context.Context, asked *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, asked)
	if err != nil {
		return nil, err
	}
	a, err := p.Bird(asked.Birds[0])
	if err != nil {
		return nil, err
	}
	b, err := p.Bird(asked.Birds[1])
	if err != nil {
		return nil, err
	}
	k := p.Kin(a, b)
	var together *pairing.Together
	if p.Book.Birds[a].Sex != p.Book.Birds[b].Sex {
		ranker, err := f.ranker(ctx, asked, pairing.Options{Seed: 1, Samples: -1}) // of one mate no rank is told
		if err != nil {
			return nil, err
		}
		if together, err = ranker.Together(ctx, a, b); err != nil {
			return nil, err
		}
	}
	value := func() contract.Kin { return contract.KinJSON(p, k, together) }
	x := &Answer{
		schema: "pairwright/kin 1", value: func() any { return value() },
		rows:  records(func() []contract.KinAncestor { return value().Ancestors }),
		build: func() *document.Document { return report.KinDocument(p, k, together) },
	}
	if together != nil { // what they would do as a pair hangs on these
		x.note(report.AbsentFiles(f.Colony, []string{"bonds.csv", "clutches.csv", "holds.csv"}))
	}
	return x, nil
}
