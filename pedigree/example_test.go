package pedigree_test

import (
	"context"
	"fmt"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Two founders have two chicks. How closely are these related, and what would
// a chick of the two do to the gene diversity of the four birds?
func Example() {
	of := func(id string) studbook.Parentage {
		return studbook.Parentage{Candidates: []studbook.Candidate{{ID: id, Weight: 1}}}
	}
	birds := []studbook.Bird{
		{ID: "Ash", Sex: studbook.Male},
		{ID: "Birch", Sex: studbook.Female},
		{ID: "Cedar", Sex: studbook.Male, Sire: of("Ash"), Dam: of("Birch")},
		{ID: "Dogwood", Sex: studbook.Female, Sire: of("Ash"), Dam: of("Birch")},
	}
	p, err := pedigree.New(context.Background(), birds, nil)
	if err != nil {
		fmt.Println(err)
		return
	}

	var living []int
	for _, b := range birds {
		node, _ := p.Index(b.ID)
		living = append(living, node)
	}
	cedar, dogwood := living[2], living[3]
	kinship := p.Kinship(cedar, dogwood)
	fmt.Printf("kinship of Cedar and Dogwood, F of a chick of theirs: %.3f\n", kinship)

	all := p.Population(living)
	gd, _ := all.GeneDiversity()
	fmt.Printf("gene diversity of the four: %.4f\n", gd)
	fmt.Printf("mean kinship of Cedar: %.4f\n", all.MeanKinshipOf(cedar))
	fmt.Printf("change by one chick of Cedar and Dogwood: %+.5f\n", all.GainFromChick(cedar, dogwood, kinship))

	// Output:
	// kinship of Cedar and Dogwood, F of a chick of theirs: 0.250
	// gene diversity of the four: 0.7188
	// mean kinship of Cedar: 0.3125
	// change by one chick of Cedar and Dogwood: -0.02375
}
