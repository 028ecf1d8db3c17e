// Package board computes today's board of one colony: its nests with what the season
// asks of each, the birds in none, and what is to be done by when. It decides
// nothing: all that it says is read from the season's decision and plan, and from
// what the files say has happened.
//
//	board.go   the board, its nests and the birds in none
//	tasks.go   what is to be done by when
package board
