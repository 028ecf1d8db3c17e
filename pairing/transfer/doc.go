// Package transfer answers whether a bird should move between institutions so
// that it finds a mate, or a young one its place: what the season's decision has
// for it, what the move does to the colonies at both ends and to the programme,
// what else could be done, when the birds may travel, and what nobody knows.
//
//	case.go      the whole case for a move, or against it
//	options.go   the moves that come into question, in order; weighing.go what
//	             else could be done, and what speaks for it
//	effects.go   what a move does to both colonies and the programme
//	reason.go    why, as codes
//	list.go      every move that the season asks for; byinstitution.go what the plan
//	             asks of each institution
//	requests.go  the answers to all requests for birds, judged together
//	extract.go   the birds that a request must name
//
// Results are values with their reasons as codes and figures; nothing here
// formats or prints.
package transfer
