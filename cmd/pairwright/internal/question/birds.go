package question

import (
	"context"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree"
)

var birdsQuestion = &Question{
	Name: "birds", About: Look,
	Short: "List the birds with their inbreeding, mean kinship and what is rare in them",
	Long: `Lists every living bird of the programme, one row each, or with --all every
bird on record: age, place, mate, inbreeding coefficient F, mean kinship with
its rank, genome uniqueness, known ancestry, holds. With --colony only the
birds of that institution; the figures always refer to the whole programme.`,
	Rows: "a row for each bird", colony: true, random: true,
	uses:   []string{"moves.csv", "bonds.csv", "holds.csv"},
	living: true,
	new:    func() ask { return &birds{} },
}

type birds struct{ all bool }

func (q *birds) settings() []Setting {
	return []Setting{{Key: "all", value: yes(&q.all), Help: "dead birds too"}}
}

func (q *birds) check(*Asked) error { return nil }

func (q *birds) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	p, err := f.programme(ctx, a)
	if err != nil {
		return nil, err
	}
	rows, err := p.Rows(ctx, q.all, a.drop())
	if err != nil {
		return nil, err
	}
	if a.Colony != "" {
		place, err := p.Colony(a.Colony)
		if err != nil {
			return nil, err
		}
		rows = report.At(p, rows, place)
	}
	list := func() []contract.BirdRow { return contract.BirdRows(p, rows) }
	return &Answer{value: func() any { return list() }, rows: records(list), build: func() *document.Document { return report.Birds(p, rows) }}, nil
}

// drop is the gene drop that all questions use.
func (c *Common) drop() pedigree.Drop { return pedigree.Drop{Seed: c.Seed} }
