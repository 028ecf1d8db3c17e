// Package season finds the best broods for a season, on plain numbers alone: a
// Problem in, a Solution with a proven bound out. Who the birds are, and why
// one may breed, is the business of package pairing.
//
//	problem.go     S' as a quadratic in the birds' chicks, and its limits
//	solve.go       what is asked of a problem, and how it is answered
//	most.go        the most chicks that the limits allow
//	exchange.go    construction and exchange, with the change of S' told at once
//	branch.go      branch and bound over the relaxation
//	relaxation.go  the convex relaxation and its bound
//	master.go      mixtures of its corners
//	network.go     the cheapest corner, a flow in a network
package season
