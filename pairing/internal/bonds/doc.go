// Package bonds finds who should live with whom, on plain numbers alone: free
// females and males, the value of each pair, and limits on moves in; out come
// the pairs whose values add up to most, a bound that proves how good they are,
// and for every bird what each mate would gain. Who the birds are, and why two
// may not be paired, is the business of package pairing.
//
//	problem.go     what is asked and what is answered
//	assignment.go  the plain assignment of females to males
//	limits.go      what moves take of places, and its price
//	search.go      prices by ascent, then branch and bound
//	answer.go      adjusted values
//	gains.go       what a mate is worth beyond what he would do otherwise
//	anew.go        the pairs and gains with other values, from the prices at hand
package bonds
