// Package transfer answers whether a bird should move between institutions so
// that it finds a mate, or a young one its place: what the season's decision has
// for it, what the move does to the colonies at both ends and to the programme,
// what else could be done, when the birds may travel, and what nobody knows.
//
// Results are values with their reasons as codes and figures; nothing here
// formats or prints.
package transfer
