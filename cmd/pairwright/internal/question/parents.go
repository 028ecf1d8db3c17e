package question

import (
	"context"
	"net/url"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

var parentsQuestion = &Question{
	Name: "parents", About: Look,
	Short: "Say by DNA who the parents of a bird are, and whether the studbook is right",
	Long: `Compares the genotypes of a bird in genotypes.csv with those of the birds that
could be its parents by sex, age and place, and says how likely each is. Both
parents are judged together. Without an ID it lists every bird that was typed,
those first whose parents in the studbook ought to be changed. It changes nothing
itself: record parent does.`,
	Birds: []string{"bird"}, Usage: "[ID]",
	Rows:   "a row for each bird that could be a parent",
	uses:   []string{"moves.csv"},
	living: true,
	new:    func() ask { return parents{} },
}

type parents struct{}

func (parents) settings() []Setting { return nil }

func (parents) check(*Asked) error { return nil }

func (parents) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	if len(a.Birds) == 0 {
		all, err := p.Parentages(ctx)
		if err != nil {
			return nil, err
		}
		return &Answer{
			value: func() any { return contract.AllParentsJSON(p, all) },
			rows:  records(func() []contract.ParentRow { return contract.ParentsRows(p, all) }),
			build: func() *document.Document { return report.AllParentsDocument(p, all) },
		}, nil
	}
	b, err := p.Bird(a.Birds[0])
	if err != nil {
		return nil, err
	}
	x := p.Parentage(b)
	return &Answer{
		Parents: foundParents(p, x),
		schema:  "pairwright/parents 1", value: func() any { return contract.ParentsJSON(p, x) },
		rows:  records(func() []contract.ParentRow { return contract.ParentsRows(p, []*pairing.Parentage{x}) }),
		build: func() *document.Document { return report.ParentsDocument(p, x) },
	}, nil
}

func foundParents(p *pairing.Programme, x *pairing.Parentage) url.Values {
	var found url.Values
	for _, s := range x.Sides() {
		if parent, ok := s.Found(); ok {
			if found == nil {
				found = url.Values{"bird": {p.Book.Birds[x.Bird].ID}}
			}
			found.Set(report.ParentWord(s.Sex), p.Book.Birds[parent].ID)
		}
	}
	return found
}
