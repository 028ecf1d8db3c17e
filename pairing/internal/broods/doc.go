// Package broods finds how many chicks each of the season's pairs should hatch,
// on plain numbers alone: pairs that are already decided and the chicks wanted
// in; out come the broods that keep the most gene diversity with a proven
// bound, the reserves, and what is to be expected of them. Who the birds are is
// the business of package pairing.
//
//	problem.go     S' as a quadratic in the pairs' chicks, and its limits
//	solve.go       exchange, then branch and bound
//	relaxation.go  the convex relaxation and its bound
//	reserves.go    which pairs come next
//	expect.go      chance: distribution of the chicks, expected gene diversity
package broods
