package pairing

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Row is what there is to say of one bird in a line.
type Row struct {
	Bird  int // in the snapshot
	Alive bool

	Age, AgePlusMinus float64 // years; to its death for a dead bird
	AgeKnown          bool
	Mates             []int // in the snapshot

	Inbreeding    float64
	KnownAncestry float64
	Descendants   int // living ones

	// Of the living alone:
	MeanKinship float64
	Rank        int               // by mean kinship, 1 the lowest
	Uniqueness  pedigree.Estimate // genome uniqueness, by gene drop

	Holds []studbook.Hold
}

// KnownAncestry returns for every node of the pedigree the share of its genes
// that traces to wild founders, in 0..1. Without an origin column every
// founder in the studbook is taken to be wild.
func (p *Programme) KnownAncestry() []float64 {
	return p.Pedigree.KnownAncestry(!p.Book.Colony.HasOrigin)
}

// sameMK is the difference below which two mean kinships are one number, so
// that rounding does not rank full siblings.
const sameMK = 1e-12

// ranks returns the birds' ranks by mean kinship, the lowest first, ties by
// id; 0 for the dead.
func (p *Programme) ranks() []int {
	mk := func(b int) float64 { return p.Living.MeanKinshipOf(p.node[b]) }
	order := slices.Clone(p.Book.Living)
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(mk(a), mk(b)), cmp.Compare(a, b)) })
	for start := 0; start < len(order); {
		end := start + 1
		for end < len(order) && mk(order[end])-mk(order[start]) < sameMK {
			end++
		}
		slices.Sort(order[start:end])
		start = end
	}
	rank := make([]int, len(p.Book.Birds))
	for k, b := range order {
		rank[b] = k + 1
	}
	return rank
}

// MeanKinshipRank returns a living bird's place by mean kinship among the living, 1 for
// the lowest; 0 for a dead bird.
func (p *Programme) MeanKinshipRank(b int) int { return p.rank[b] }

// Rows returns a row for every bird of the snapshot that has a record, by id;
// of the living alone unless all. Genome uniqueness takes a gene drop.
func (p *Programme) Rows(ctx context.Context, all bool, drop pedigree.Drop) ([]Row, error) {
	result, err := p.Living.GeneDrop(ctx, drop)
	if err != nil {
		return nil, err
	}
	return p.RowsFrom(result, all), nil
}

// RowsFrom is Rows with a gene drop of the living that has been done already.
func (p *Programme) RowsFrom(result *pedigree.DropResult, all bool) []Row {
	var birds []int
	for b := range p.Book.Birds {
		if p.Book.Birds[b].Recorded && (all || p.Book.Alive(b)) {
			birds = append(birds, b)
		}
	}
	return p.rowsOf(result, birds)
}

// rowsOf returns the rows of some birds.
func (p *Programme) rowsOf(result *pedigree.DropResult, birds []int) []Row {
	uniqueness := make(map[int]pedigree.Estimate, p.Living.Size())
	for k, node := range p.Living.Members() {
		uniqueness[node] = result.Uniqueness[k]
	}
	known := p.KnownAncestry()
	var rows []Row
	var nodes []int
	for _, b := range birds {
		bird := &p.Book.Birds[b]
		node := p.node[b]
		r := Row{
			Bird: b, Alive: p.Book.Alive(b), Mates: p.Mates(b), Holds: p.Book.HoldsOn(bird.ID),
			Inbreeding: p.Pedigree.F(node), KnownAncestry: known[node],
		}
		r.Age, r.AgePlusMinus, r.AgeKnown = p.Book.AgeYears(b)
		if r.Alive {
			r.MeanKinship, r.Rank = p.Living.MeanKinshipOf(node), p.rank[b]
			r.Uniqueness = uniqueness[node]
		}
		rows = append(rows, r)
		nodes = append(nodes, node)
	}
	for k, n := range p.Living.Descendants(nodes) {
		rows[k].Descendants = n
	}
	return rows
}
