// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, which birds should live with
// whom and how many chicks each pair may hatch.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day. Its Decision is the one value that
// every answer is read from. Results are values with their reasons as codes and
// figures; nothing here formats, prints or has words.
//
//	programme.go  the birds of a day with their numbers, which all answers share;
//	              rows.go, profile.go, kin.go, kinbonds.go read them
//	calendar.go   the coming season; journey.go when a bird may travel
//	state.go      what a bird can do in it: fitness.go its breeding ages,
//	              mates.go its mates, unbonded.go who only seems to have one,
//	              onnest.go what it does on the nest
//	worth.go      what a bird is worth to the future
//	success.go    the chance that a clutch of a pair fledges a chick; broods.go
//	              its record, laying.go whether the settings fit what pairs lay
//	market.go     what every possible pair is worth; places.go what lies between
//	              the two, deaths.go which places come free
//	decision.go   who lives with whom; rulings.go what people decided before,
//	              unkept.go what has not come of it,
//	              chosenseason.go a season that a person has made
//	choices.go    what each mate would gain; ifpaired.go what becomes of others
//	parting.go    bonds that stand in the way, and what follows if they are parted
//	plan.go       who hatches how many chicks; eggs.go what to do with those
//	              that lie there, secondclutch.go who may lay again, untold.go of
//	              which nobody said what came; planreasons.go why;
//	              chicksneeded.go how many; otherplan.go what another plan
//	              of the day asks of the pair
//	young.go      where birds should be that come to breeding age
//	rank.go       the mates of a bird in order; ties.go how, limits.go who is
//	              too close; reason.go and matereasons.go say why, related.go
//	              where all are too close, nopairs.go where nobody can breed
//	confidence.go how sure that is, from the decision taken anew in possible
//	              pedigrees (possible.go)
//	doubt.go      who may be closer kin than anybody knows
//	parentage.go  who the parents are by DNA; founderkin.go which founders are kin
//	kinwords.go   what two birds are to each other
//	gaps.go       which unknown parents matter most
//	parallel.go   work shared out on all cores
//
// The assignment and the broods themselves are solved on plain numbers in
// internal/bonds and internal/broods.
package pairing
