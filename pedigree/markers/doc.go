// Package markers judges kin by DNA: how likely it is, by the genotypes of birds at
// autosomal markers, that one is the chick of others, and that two are kin of a kind.
package markers
