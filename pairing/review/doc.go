// Package review is the yearly account of a colony within its programme: how
// the gene pool and the numbers stand, what changed them since the last review,
// and what to do next with each bird and pair.
//
//	review.go    the whole of it
//	history.go   the figures of the gene pool, year by year
//	causes.go    every event since the last review with its own effect
//	outlook.go   how long the gene diversity lasts, and what the goal takes
//	forward.go   the programme run forward for the years of the goal
//	numbers.go   ages, deaths, hatches and the chicks wanted
//	founders.go  what is left of each founder; inbred.go the
//	             inbred birds and whom they are inbred through
//	advice.go    what to do with each bird and each pair
//	lastyear.go  what was advised at the last review, and what became of it
//	decisions.go what to do first
//	missing.go   what cannot be said, and why; reason.go the codes
//	glance.go    the figures that matter, with a word on each
//
// Every figure is computed by the functions that the other answers use. The
// values carry no formatting.
package review
