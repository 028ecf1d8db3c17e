package report

import "pairwright/cmd/pairwright/internal/document"

// kinDecimals is how many decimals a kinship is printed with.
const kinDecimals = 4

// KinLevel names a kinship, or the F of a chick, by the kin that have it where
// nothing else makes them kin (Wright 1922). It speaks of the printed figure:
// what reads 0.0625 is the level of first cousins.
func KinLevel(kinship float64) string {
	switch f := document.Printed(kinship, kinDecimals); {
	case kinship == 0:
		return "unrelated"
	case f < 0.0625:
		return "below the level of first cousins (0.0625)"
	case f == 0.0625:
		return "the level of first cousins"
	case f < 0.125:
		return "between first cousins (0.0625) and half siblings (0.125)"
	case f == 0.125:
		return "the level of half siblings"
	case f < 0.25:
		return "between half siblings (0.125) and full siblings (0.25)"
	case f == 0.25:
		return "the level of full siblings, or of parent and chick"
	}
	return "closer than full siblings (0.25)"
}
