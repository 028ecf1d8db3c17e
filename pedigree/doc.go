// Package pedigree computes what follows from who descends from whom:
// inbreeding, kinship, mean kinship, gene diversity, the founders' shares and
// what is left of them, and how much of the pedigree is known.
//
//	pedigree.go      the nodes; inbreeding.go their F, by lines.go, walk.go, sweep.go or
//	                 narrow.go
//	flow.go          the passes that all sums are made of
//	kinship.go       kinship of two, of one with all, of all; meeting.go by which
//	                 ancestors
//	population.go    mean kinship and gene diversity of some birds; kinshipsum.go
//	                 as birds join and leave
//	founders.go      the founders' shares; genedrop.go what is left of them by chance
//	completeness.go  how much is known
//	sample.go        possible pedigrees where parents are uncertain
//	effectivesize.go the effective size that the inbreeding on record tells
//	founderkinship.go founders that are known to be kin
//
// # Nodes
//
// A Pedigree numbers its nodes from 0, founders first, then parents before
// chicks; among birds that neither descends from the other the elder comes
// first. Most nodes are birds. Two further kinds keep the arithmetic whole:
//
//   - an unknown parent is an anonymous, unrelated founder of its own;
//   - an uncertain parent (one of several birds, with weights) is a node that
//     is the weighted mean of its candidates.
//
// With them every bird that is not a founder has exactly two parent nodes, and
// every measure is one walk over the nodes.
//
// # The one operator
//
// Relationship A = 2·kinship factors as A = T B Tᵀ (Henderson 1976), T the flow
// of genes from parents to chicks and B what each node adds to its parents'
// genes. A times a vector is therefore one pass from chicks to parents, one
// product with B and one pass from parents to chicks (Colleau 2002): linear in
// the pedigree, without forming A. Mean kinship, rows of the kinship matrix and
// the kinship of a pair are that product with different vectors.
//
// Values are float64 and exact for dyadic weights down to about 25
// generations. A Pedigree is immutable and safe for concurrent use.
package pedigree
