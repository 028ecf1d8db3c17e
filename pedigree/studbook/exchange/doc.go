// Package exchange reads other people's files into a colony folder and writes
// the folder out in open formats.
//
// Import takes a file as its owner keeps it: a workbook, a table of text, a
// pedigree of PLINK or a family tree of GEDCOM. It is cut into sheets of cells
// (grid.go and the readers beside it), each sheet's header is found and its
// columns named (layout.go, names.go), the values are read (dates.go, words.go,
// parents.go, fate.go), several rows of a bird are joined, and what comes out
// is the text of a clean colony folder together with an account of every row,
// column, parent and fate. What is certain is taken, what is likely is taken
// and said, and what could be wrong in silence stops everything, with the flag
// that decides it.
package exchange
