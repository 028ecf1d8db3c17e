package pairing_test

import (
	"context"
	"fmt"
	"testing/fstest"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// smallColony reads a colony of seven birds: Ash and Bryony with their grown
// chicks Cobb and Dew, and three birds of the wild that are nobody's kin.
func smallColony() *pairing.Programme {
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	folder := fstest.MapFS{
		"studbook.csv": file(`id,sex,sire,dam,hatch_date,origin
Ash,M,wild,wild,2016-05-01,wild
Bryony,F,wild,wild,2016-05-01,wild
Cobb,M,Ash,Bryony,2020-05-01,captive
Dew,F,Ash,Bryony,2020-05-01,captive
Fern,F,wild,wild,2019-05-01,wild
Heath,M,wild,wild,2019-05-01,wild
Ivy,F,wild,wild,2019-05-01,wild
`),
		"bonds.csv": file("female,male,since\nBryony,Ash,2018-03-01\n"),
		"programme.toml": file(`name = "Seven birds"
current_to = "2025-01-15"

[months]
laying = [4, 5]
`),
	}
	ctx := context.Background()
	colony, err := studbook.Read(ctx, folder, "studbook.csv", studbook.Options{})
	if err != nil {
		panic(err)
	}
	p, err := pairing.New(ctx, colony.At(colony.Settings.CurrentTo))
	if err != nil {
		panic(err)
	}
	return p
}

// The season's decision says who lives with whom: Ash and Bryony stay together, and
// of the free birds those pair whose chicks have the fewest kin, two of the wild;
// a chick of Cobb or Dew would gain less than that of the average pair.
func ExampleProgramme_Decide() {
	p := smallColony()
	d, err := p.Decide(context.Background(), pairing.DecisionOptions{})
	if err != nil {
		panic(err)
	}
	for _, x := range d.Bonds {
		fmt.Println(p.Book.Birds[x.Female].ID, "with", p.Book.Birds[x.Male].ID, x.Kind)
	}
	fmt.Println("proven:", d.Proven)
	// Output:
	// Bryony with Ash kept
	// Fern with Heath new
	// proven: true
}

// A ranking has every possible mate of a bird, and why the others are none.
// Ivy would do for Heath as well as Fern, so the decision takes the first by id.
func ExampleRanker_Rank() {
	ctx := context.Background()
	p := smallColony()
	d, err := p.Decide(ctx, pairing.DecisionOptions{})
	if err != nil {
		panic(err)
	}
	r, err := pairing.NewRanker(ctx, d, pairing.Options{})
	if err != nil {
		panic(err)
	}
	fern, err := p.Bird("Fern")
	if err != nil {
		panic(err)
	}
	ranking, err := r.Rank(ctx, fern)
	if err != nil {
		panic(err)
	}
	for _, c := range ranking.Candidates {
		fmt.Println(c.Rank, p.Book.Birds[c.Bird].ID, c.Verdict, c.OffspringInbreeding)
	}
	for _, x := range ranking.RuledOut {
		fmt.Println(p.Book.Birds[x.Bird].ID, x.Reasons[0].Code)
	}
	// Output:
	// 1 Heath recommended 0
	// 2 Cobb not advised 0
	// Ash bonded
	// Bryony same_sex
	// Dew same_sex
	// Ivy same_sex
}

// The plan shares the chicks wanted out among the pairs of the decision. Not every
// egg that is left to a pair hatches, so the three wanted take four.
func ExampleDecision_Plan() {
	ctx := context.Background()
	p := smallColony()
	d, err := p.Decide(ctx, pairing.DecisionOptions{})
	if err != nil {
		panic(err)
	}
	plan, err := d.Plan(ctx, pairing.PlanOptions{Whole: true, Chicks: 3})
	if err != nil {
		panic(err)
	}
	for _, x := range plan.Pairs {
		fmt.Println(p.Book.Birds[x.Female].ID, "with", p.Book.Birds[x.Male].ID, x.Role, x.HatchUpTo)
	}
	for _, a := range plan.Unpaired {
		fmt.Println(p.Book.Birds[a.Bird].ID, a.Reason.Code)
	}
	// Output:
	// Fern with Heath planned 2
	// Bryony with Ash planned 2
	// Cobb no_gain
	// Dew no_gain
	// Ivy others_need
}
