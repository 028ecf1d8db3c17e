package pairing

import "pairwright/pedigree/studbook"

// countDeaths returns how many females and males of every place are expected to
// die within a year; of birds of unknown sex half are counted as either.
func (p *Programme) countDeaths() map[string][2]float64 {
	expected := map[string][2]float64{}
	for _, b := range p.Book.Living {
		bird := &p.Book.Birds[b]
		at, dies := expected[bird.Location], 1-p.worths().surviveFrom(b, 1)
		if bird.Sex == studbook.Unsexed {
			at[0], at[1] = at[0]+dies/2, at[1]+dies/2
		} else {
			at[side(bird.Sex)] += dies
		}
		expected[bird.Location] = at
	}
	return expected
}
