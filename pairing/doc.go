// Package pairing says what a pair of birds would do: who may breed, what one
// chick of a pair changes for the whole programme, and which mates are best
// for a bird.
//
// A Programme joins the state of a colony folder on one day with the pedigree
// and the population measures of that day; every decision is computed from it.
// Results are values with their reasons in plain words; nothing here formats
// or prints.
package pairing
