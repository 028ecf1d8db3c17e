package review

import (
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Number is a figure that may be unknown.
type Number = demography.Number

// Figures are the measures of a gene pool that need no gene drop. All but Size
// are unknown where there are no birds.
type Figures struct {
	Size     int
	Founders int // birds among them of which no parent is known
	Lines    int // founders whose genes they hold, unknown parents counted

	GeneDiversity            Number // 1 − MK, in 0..1
	WithoutFounders          Number // the same less the living founders
	MeanKinship              Number
	MeanInbreeding           Number
	FounderGenomeEquivalents Number // 1/(2·MK)
	FounderEquivalents       Number // 1/Σp²
	KnownAncestry            Number // mean share that traces to wild founders

	// Realised is the effective size from the inbreeding that the birds have
	// come to (Gutiérrez, Cervantes & Goyache 2009); its Size is 0 where it
	// cannot be estimated. See SizeFromInbreeding.
	Realised pedigree.RealisedSize
}

// SizeFromInbreeding returns the realised effective size, unknown where it
// cannot be estimated: where no bird with more than one equivalent generation known is
// inbred. Where Realised.Inbred are fewer than demography.FewAtRisk one bird more or less
// would make it another.
func (f *Figures) SizeFromInbreeding() Number {
	return number(f.Realised.Size, f.Realised.Size > 0)
}

// SizeError returns the standard error of SizeFromInbreeding, unknown of a single bird.
func (f *Figures) SizeError() Number {
	return number(f.Realised.StandardError, f.Realised.Size > 0 && f.Realised.Birds > 1)
}

func number(x float64, ok bool) Number {
	if !ok {
		return Number{}
	}
	return Number{Value: x, Known: true}
}

// pool measures the gene pools of one pedigree.
type pool struct {
	ped   *pedigree.Pedigree
	known []float64 // known ancestry by node
}

func newPool(p *pairing.Programme) *pool { return &pool{p.Pedigree, p.KnownAncestry()} }

// figures returns the measures of the birds at nodes.
func (x *pool) figures(nodes []int) Figures { return x.measure(x.ped.Population(nodes)) }

func (x *pool) measure(q *pedigree.Population) Figures {
	f := Figures{Size: q.Size()}
	var bred []int
	for _, node := range q.Members() {
		if node >= x.ped.Founders() {
			bred = append(bred, node)
		}
	}
	f.Founders = q.Size() - len(bred)
	for _, share := range q.Contributions() {
		if share > 0 {
			f.Lines++
		}
	}
	f.GeneDiversity = number(q.GeneDiversity())
	f.WithoutFounders = number(x.ped.Population(bred).GeneDiversity())
	f.MeanKinship = number(q.MeanKinship())
	f.MeanInbreeding = number(q.MeanInbreeding())
	f.FounderGenomeEquivalents = number(q.FounderGenomeEquivalents())
	f.FounderEquivalents = number(q.FounderEquivalents())
	f.KnownAncestry = number(q.Mean(x.known))
	f.Realised, _ = q.RealisedEffectiveSize()
	return f
}

// Year is the state of programme and colony at the end of a year, or on the
// day of the review.
type Year struct {
	Day               studbook.Day
	Programme, Colony Figures
}

// History returns the figures on 31 December of every year since the first
// birds on record, and on the day of the review.
//
// The birds of each day are those of the snapshot of that day; their kinships
// come from the pedigree of the last, because birds that come later change
// nothing between those that were there before.
func History(p *pairing.Programme, census *demography.Census, place string) []Year {
	x := newPool(p)
	var years []Year
	for _, l := range census.Years(demography.Programme) {
		y := Year{Day: min(l.To, p.Book.AsOf)}
		programme, colony := x.living(p.Book.Colony.At(y.Day), place)
		if len(programme) == 0 && len(years) == 0 {
			continue
		}
		y.Programme, y.Colony = x.figures(programme), x.figures(colony)
		years = append(years, y)
	}
	return years
}

// living returns the nodes of the birds living on the day of a snapshot, and of
// those of them at a place.
func (x *pool) living(book *studbook.Snapshot, place string) (all, at []int) {
	for _, b := range book.Living {
		node, _ := x.ped.Index(book.Birds[b].ID)
		all = append(all, node)
		if book.Birds[b].Location == place {
			at = append(at, node)
		}
	}
	return all, at
}
