// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, and which mates are best
// for a bird.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day; every decision is computed from it.
// Results are values with their reasons in plain words; nothing here formats
// or prints.
//
//	programme.go  the day's birds with their numbers: what all answers share
//	fitness.go    who may breed
//	success.go    the chance that a clutch of a pair fledges a chick
//	rank.go       the mates of a bird in order; reasons.go says why
//	plan.go       the season's plan; planner.go makes its problem of birds and
//	              a plan of the answer, planreasons.go says why
//	after.go      the programme as it is once a plan has gone ahead
//	need.go       how many chicks a season needs
//	gaps.go       which unknown parents matter most
//
// The plan's problem itself is solved on plain numbers in internal/season.
package pairing
