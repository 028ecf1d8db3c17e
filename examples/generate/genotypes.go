package main

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
)

const (
	markers     = 14
	mostAlleles = 7    // of a marker
	unread      = 0.03 // share of findings that failed
	misread     = 0.004
)

// dna is what birds have at each marker: lengths, in base pairs.
type dna [markers][2]int

// inherit gives every bird its genes, founders by chance and chicks from their true
// parents. It draws from numbers of its own, so that the rest of the programme is the
// same without it.
func (p *programme) inherit(random *rand.Rand) map[*bird]*dna {
	genes := make(map[*bird]*dna, len(p.birds))
	birds := slices.Clone(p.birds)
	slices.SortStableFunc(birds, func(a, b *bird) int { return cmp.Compare(a.hatch, b.hatch) })
	from := func(parent *bird, k int) int {
		if parent == nil {
			// Of two draws the lower: some alleles are common, some rare.
			return 120 + 26*k + 2*min(random.IntN(mostAlleles), random.IntN(mostAlleles))
		}
		return genes[parent][k][random.IntN(2)]
	}
	for _, b := range birds {
		g := &dna{}
		for k := range g {
			g[k] = [2]int{from(b.sire, k), from(b.dam, k)}
		}
		genes[b] = g
	}
	return genes
}

// sampled are the birds whose sires are in doubt, with their dams and most of the males
// that could be it. The sires of the others died before anybody kept samples.
func (p *programme) sampled() []*bird {
	byID := make(map[string]*bird, len(p.birds))
	for _, b := range p.birds {
		byID[b.id] = b
	}
	in := make(map[*bird]bool)
	add := func(birds ...*bird) {
		for _, b := range birds {
			in[b] = in[b] || b != nil
		}
	}
	ids := regexp.MustCompile(`C\d{4}`)
	for _, b := range p.birds {
		if b.sire == nil || b.sireText == "" || !strings.ContainsAny(b.sireText, ";") && b.sireText != "unknown" {
			continue
		}
		add(b, b.dam, b.sire)
		for _, id := range ids.FindAllString(b.sireText, -1) {
			add(byID[id])
		}
	}
	delete(in, nil)
	return slices.SortedFunc(func(yield func(*bird) bool) {
		for b := range in {
			if !yield(b) {
				return
			}
		}
	}, func(a, b *bird) int { return cmp.Compare(a.id, b.id) })
}

func (p *programme) genotypes() []byte {
	random := rand.New(rand.NewPCG(committed, markers))
	genes := p.inherit(random)
	head := []string{"id"}
	for k := range markers {
		head = append(head, fmt.Sprintf("IB%02d", k+1))
	}
	var rows [][]string
	for _, b := range p.sampled() {
		row := []string{b.id}
		for _, g := range genes[b] {
			if random.Float64() < misread {
				g[random.IntN(2)] += 2
			}
			cell := fmt.Sprintf("%d/%d", min(g[0], g[1]), max(g[0], g[1]))
			if random.Float64() < unread {
				cell = ""
			}
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	return table("# Lengths found at 14 markers, in base pairs; blank where the laboratory found nothing.\n", head, rows)
}
