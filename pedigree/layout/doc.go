// Package layout finds the places of birds in the drawing of a colony's pedigree:
// which kin belong in it (kin.go), who stands beside whom and where a family has
// to be parted (seats.go), the order of the rows (rows.go, order.go), the places
// and the lines (places.go, lines.go), and what goes onto which sheet (sheets.go).
// It draws nothing.
//
// The layout of a pedigree follows Sugiyama, Tagawa & Toda 1981 (IEEE Trans
// Syst Man Cybern 11:109): birds are set into rows by generation, rows are put
// in order by the barycentres of their neighbours, and then places are found.
// What stands in a row is a chain: birds that are mates, each beside the next.
package layout
