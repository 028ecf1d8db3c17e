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
those first whose parents in the studbook ought to be changed. With --founder-kin it
says which birds without a parent in the studbook are kin. It changes nothing
itself: record parent and record kinship do.`,
	Birds: []string{"bird"}, Usage: "[ID]",
	Rows:   "a row for each bird that could be a parent, or for two founders that may be kin",
	uses:   []string{"moves.csv"},
	living: true,
	new:    func() ask { return &parents{} },
}

// mostFound is how many kinships of founders are offered to be written down.
const mostFound = 10

type parents struct{ founders bool }

func (q *parents) settings() []Setting {
	return []Setting{{Key: "founder-kin", value: yes(&q.founders), Help: "which founders are kin, instead of parents"}}
}

func (q *parents) check(a *Asked) error {
	if q.founders && len(a.Birds) > 0 {
		return Usagef("--founder-kin is about all founders that were typed: leave out %s", a.Birds[0])
	}
	return nil
}

func (q *parents) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	if q.founders {
		kin, found := p.FounderKin(), p.FoundersFound()
		return &Answer{
			Found:  foundKinships(p, kin),
			schema: "pairwright/founders 1", value: func() any { return contract.FounderKinJSON(p, kin, found) },
			rows:  records(func() []contract.FounderRow { return contract.FounderRows(p, kin) }),
			build: func() *document.Document { return report.FounderKinDocument(p, kin, found) },
		}, nil
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
		Found:  foundParents(p, x),
		schema: "pairwright/parents 1", value: func() any { return contract.ParentsJSON(p, x) },
		rows:  records(func() []contract.ParentRow { return contract.ParentsRows(p, []*pairing.Parentage{x}) }),
		build: func() *document.Document { return report.ParentsDocument(p, x) },
	}, nil
}

// foundParents are the parents of a bird that were found.
func foundParents(p *pairing.Programme, x *pairing.Parentage) []Found {
	id := p.Book.Birds[x.Bird].ID
	values := url.Values{"bird": {id}}
	for _, s := range x.Sides() {
		if parent, ok := s.Found(); ok {
			values.Set(report.ParentWord(s.Sex), p.Book.Birds[parent].ID)
		}
	}
	if len(values) == 1 {
		return nil
	}
	return []Found{{"parent", values, "what was found"}}
}

// foundKinships are the first of the kinships of founders that were found.
func foundKinships(p *pairing.Programme, kin *pairing.FounderKin) (found []Found) {
	for _, x := range kin.Told {
		a, b, near := p.Book.Birds[x.A].ID, p.Book.Birds[x.B].ID, x.LikeliestKin()
		if x.Answer == pairing.FoundersFound && near.Relation != pairing.FoundersSame && len(found) < mostFound {
			values := url.Values{"bird": {a}, "other": {b}, "kinship": {report.AsInFiles(near.Kinship)}}
			found = append(found, Found{"kinship", values, "the kinship of " + a + " and " + b})
		}
	}
	return found
}
