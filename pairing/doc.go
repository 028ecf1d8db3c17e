// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, and which mates are best
// for a bird.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day; every decision is computed from it.
// Results are values with their reasons in plain words; nothing here formats
// or prints.
//
// A season's Plan is a whole problem of its own, on plain numbers:
//
//	planproblem.go  the season: S' as a quadratic in the birds' chicks, and its limits
//	planmost.go     the most chicks that the limits allow
//	plansearch.go   construction and exchange, with the change of S' told at once
//	planbound.go    the convex relaxation and its bound
//	planmaster.go   mixtures of its corners
//	planflow.go     the cheapest corner, a flow in a network
//	planbranch.go   branch and bound over the relaxation
//	plan.go         a programme's birds in, a plan with its reasons out
package pairing
