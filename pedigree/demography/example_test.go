package demography_test

import (
	"fmt"

	"pairwright/pedigree/demography"
)

// Three birds died at 2, 5 and 7 years, one left at 4 and one, hatched
// elsewhere, was watched from its third to its sixth year.
func ExampleKaplanMeier() {
	curve := demography.KaplanMeier([]demography.Life{
		{Exit: 2, Died: true},
		{Exit: 5, Died: true},
		{Exit: 7, Died: true},
		{Exit: 4},
		{Entry: 3, Exit: 6},
	})
	for _, s := range curve.Steps {
		fmt.Printf("at %v years: %v at risk, %v died, %.3f survive\n", s.Age, s.AtRisk, s.Deaths, s.Survival)
	}
	// Output:
	// at 2 years: 4 at risk, 1 died, 0.750 survive
	// at 5 years: 3 at risk, 1 died, 0.500 survive
	// at 7 years: 1 at risk, 1 died, 0.000 survive
}

// Chicks that hatch in a population of birds that first breed at two.
func ExampleNewGrowth() {
	l := []float64{1, 0.6, 0.5, 0.4, 0.3} // share alive at 0, 1, ... years
	m := []float64{0, 0, 0.8, 1.0, 1.0}   // daughters of a female of that age
	g := demography.NewGrowth(l, m)
	fmt.Printf("R0 %.2f, growth %.3f a year, generation %.2f years\n", g.R0, g.Lambda.Value, g.GenerationLength.Value)
	// Output:
	// R0 1.10, growth 1.033 a year, generation 2.89 years
}
