// Package markers judges parentage by DNA: how likely it is, by the genotypes of
// birds at autosomal markers, that one is the chick of others.
package markers
