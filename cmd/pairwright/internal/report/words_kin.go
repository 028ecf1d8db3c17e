package report

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// kinText names what a bird is to another: "half sister", "great-grandmother",
// "first cousin once removed".
func kinText(k pairing.KinName) string {
	by := func(female, male, unsexed string) string {
		switch k.Sex {
		case studbook.Female:
			return female
		case studbook.Male:
			return male
		}
		return unsexed
	}
	half := ""
	if k.Half {
		half = "half "
	}
	great := func(n int) string { return strings.Repeat("great-", max(0, n)) }
	switch k.Code {
	case pairing.Itself:
		return "the bird itself"
	case pairing.Parent:
		if k.Steps > 1 {
			return great(k.Steps-2) + "grand" + by("mother", "father", "parent")
		}
		return by("mother", "father", "parent")
	case pairing.Chick:
		if k.Steps > 1 {
			return great(k.Steps-2) + "grand" + by("daughter", "son", "child")
		}
		return by("daughter", "son", "chick")
	case pairing.Sibling:
		return half + by("sister", "brother", "sibling")
	case pairing.Aunt:
		return half + great(k.Steps-1) + by("aunt", "uncle", "aunt or uncle")
	case pairing.Niece:
		return half + great(k.Steps-1) + by("niece", "nephew", "niece or nephew")
	case pairing.Cousin:
		words := []string{"first", "second", "third"}
		degree := fmt.Sprintf("%dth", k.Steps)
		if k.Steps <= len(words) {
			degree = words[k.Steps-1]
		}
		text := half + degree + " cousin"
		switch k.Removed {
		case 0:
		case 1:
			text += " once removed"
		case 2:
			text += " twice removed"
		default:
			text += fmt.Sprintf(" %d times removed", k.Removed)
		}
		return text
	case pairing.Distant:
		return "distant kin"
	}
	return "no kin on record"
}

// kinOf says what a bird is to the one with an id.
func kinOf(k pairing.KinInWords, id string) string {
	if k.Code == pairing.NoKin {
		return KinWords(k)
	}
	return id + "'s " + KinWords(k)
}

// KinWords says how two birds are related: the closest kinship, whether there
// are others, and what an uncertain parent may make of it.
func KinWords(k pairing.KinInWords) string {
	text := kinText(k.KinName)
	if k.Further {
		text += ", and kin in other ways"
	}
	if k.Maybe.Code != "" {
		text += ", perhaps " + kinText(k.Maybe) + ", as a parent is uncertain"
	}
	return text
}

// kinDecimals is how many decimals a kinship is printed with.
const kinDecimals = 4

// kinLevel names a kinship, or the F of a chick, by the kin that have it where
// nothing else makes them kin (Wright 1922). It speaks of the printed figure:
// what reads 0.0625 is the level of first cousins.
func kinLevel(kinship float64) string {
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
