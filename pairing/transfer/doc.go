// Package transfer makes the case for moving a bird between institutions so
// that it finds a mate: which move is best, what it does to the colonies at
// both ends and to the programme, what else could be done, when the birds may
// travel, and what nobody knows.
//
// Results are values with their reasons as codes and figures; nothing here
// formats or prints.
package transfer
