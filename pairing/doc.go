// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, which birds should live with
// whom and how many chicks each pair may hatch.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day. Its Decision is the one value that
// every answer is read from. Results are values with their reasons as codes and
// figures; nothing here formats, prints or has words.
//
//	programme.go  the day's birds with their numbers: what all answers share
//	calendar.go   the coming season
//	state.go      what a bird can do in it; fitness.go, mates.go, nest.go
//	worth.go      what a bird is worth to the future
//	success.go    the chance that a clutch of a pair fledges a chick; broods.go
//	              its record
//	market.go     what every possible pair is worth
//	decision.go   who lives with whom; choices.go what each mate would gain
//	plan.go       who hatches how many chicks; eggs.go what to do with those
//	              that lie there; planreasons.go why; need.go how many
//	young.go      where birds should be that come to breeding age
//	rank.go       the mates of a bird in order; reasons.go says why
//	doubt.go      who may be closer kin than anybody knows; possible.go
//	kinwords.go   what two birds are to each other
//	gaps.go       which unknown parents matter most
//
// The assignment and the broods themselves are solved on plain numbers in
// internal/bonds and internal/broods.
package pairing
