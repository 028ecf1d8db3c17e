package pairing

import (
	"context"
	"math"
	"slices"
	"sync"

	"pairwright/pedigree/studbook"
)

// Why a bird has no mate, or a programme no pair that could ever hatch a chick, besides
// what keeps a bird from breeding.
const (
	NoOtherBird    Code = "no_other_bird"     // Birds: the bird; Count other birds that live and are past breeding
	NoOtherSex     Code = "no_other_sex"      // Birds: one of the sex that there is; Count birds of the other that live and are past breeding
	NoneOfSexFree  Code = "none_of_sex_free"  // Birds: the bird; none of the other sex is free to be paired in the season
	AllPast        Code = "all_past"          // Count birds live, all past breeding
	AllTooCloseKin Code = "all_too_close_kin" // Value the least F of a chick of any two that may breed, now or later, Other the limit
)

// NoPairs says why no two birds of the programme can have a chick, in this season or a
// later one, so that only birds from outside help; is is false where some could, where
// the sex of birds that could be mates is not known, and where nobody lives.
func (d *Decision) NoPairs() (why Reason, is bool) {
	for _, x := range d.Bonds {
		if x.Kind != BondReleased && x.Chicks > 0 && !TooClose(x.Kinship, d.limit) {
			return why, false
		}
	}
	p, able := d.p, d.breeders().able
	females, males, unsexed := able[studbook.Female], able[studbook.Male], able[studbook.Unsexed]
	all := slices.Concat(females, males, unsexed)
	switch {
	case len(p.Book.Living) == 0:
		return why, false
	case len(all) == 0:
		return Reason{Code: AllPast, Count: len(p.Book.Living)}, true
	case len(all) == 1, len(unsexed) == 0 && (len(females) == 0 || len(males) == 0):
		return d.noMates(all[0])
	case len(unsexed) > 0:
		return why, false
	}
	var rows, columns []int
	for _, b := range females {
		rows = append(rows, p.node[b])
	}
	for _, b := range males {
		columns = append(columns, p.node[b])
	}
	var one sync.Mutex
	nearest := math.Inf(1)
	_ = p.Pedigree.KinshipRows(context.Background(), rows, columns, func(r int, row []float64) {
		least := math.Inf(1)
		for c, f := range row {
			if kin, are := p.KinByDNA(females[r], males[c]); are {
				f = max(f, kin.Value)
			}
			least = min(least, f)
		}
		one.Lock()
		nearest = min(nearest, least)
		one.Unlock()
	})
	if !TooClose(nearest, d.limit) {
		return why, false
	}
	return Reason{Code: AllTooCloseKin, Value: nearest, Other: d.limit}, true
}

// breeders are who of the living birds may have chicks, in this season or a later one.
type breeders struct {
	able   map[studbook.Sex][]int // not past breeding, by the sex on record
	living map[studbook.Sex]int
}

func (d *Decision) findBreeders() breeders {
	x := breeders{able: map[studbook.Sex][]int{}, living: map[studbook.Sex]int{}}
	for _, b := range d.p.Book.Living {
		sex := d.p.Book.Birds[b].Sex
		x.living[sex]++
		if d.p.whateverItsSex(b, d.p.BreedingDay()).State != StatePast {
			x.able[sex] = append(x.able[sex], b)
		}
	}
	return x
}

// noMates says that there is nobody that a bird could ever breed with, whoever its kin;
// is is false where there is somebody, or somebody of unknown sex.
func (d *Decision) noMates(b int) (why Reason, is bool) {
	p, x := d.p, d.breeders()
	other := studbook.Female
	if p.Book.Birds[b].Sex == studbook.Female {
		other = studbook.Male
	}
	females, males, unsexed := len(x.able[studbook.Female]), len(x.able[studbook.Male]), len(x.able[studbook.Unsexed])
	switch {
	case females+males+unsexed == 1:
		return Reason{Code: NoOtherBird, Birds: p.birds(b), Count: len(p.Book.Living) - 1}, true
	case unsexed == 0 && len(x.able[other]) == 0:
		return Reason{Code: NoOtherSex, Birds: p.birds(b), Count: x.living[other]}, true
	}
	return why, false
}

// noChoices says why a bird that may breed in the season has nobody to choose among.
func (d *Decision) noChoices(b int) Reason {
	if why, is := d.noMates(b); is {
		return why
	}
	others := d.free.males
	if d.p.Book.Birds[b].Sex == studbook.Male {
		others = d.free.females
	}
	if len(others) == 0 {
		return Reason{Code: NoneOfSexFree, Birds: d.p.birds(b)}
	}
	return Reason{Code: NoMateLeft, Birds: d.p.birds(b)}
}
