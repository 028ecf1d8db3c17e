// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, and which mates are best
// for a bird.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day; every decision is computed from it.
// Results are values with their reasons as codes and figures; the report turns
// these into words.
//
//	programme.go  the day's birds with their numbers: what all answers share
//	reason.go     what there is to say of birds and pairs
//	fitness.go    who may breed; mates.go who is taken and who is free
//	success.go    the chance that a clutch fledges, and the chicks to expect;
//	              broods.go the record of a pair
//	doubt.go      pairs that may be closer kin than the pedigree says
//	kinwords.go   what two birds are to each other: sister, uncle, cousin
//	rank.go       the mates of a bird in order; reasons.go says why, order.go
//	              what comes first, possible.go draws pedigrees, related.go
//	              tells what is left where all are too close kin
//	plan.go       the season's plan; planner.go makes its problem of birds and
//	              a plan of the answer, planreasons.go says why
//	after.go      the programme as it is once a plan has gone ahead
//	need.go       how many chicks a season needs
//	gaps.go       which unknown parents matter most
//
// The plan's problem itself is solved on plain numbers in internal/season.
package pairing
