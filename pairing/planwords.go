package pairing

import (
	"fmt"
	"math"
	"strings"

	"pairwright/pedigree/studbook"
)

// What the plan, the transfer and the review still say in words of their own.

// Plain says a reason why a bird is ruled out.
func (r Reason) Plain() string {
	switch r.Code {
	case Dead:
		return "died " + r.Date.Text
	case SameSex:
		return "is " + r.Birds[0].Sex.Word() + " too"
	case SexUnknown:
		return "its sex is not known"
	case TooYoung:
		return fmt.Sprintf("%s old; breeding begins at %s", years(r.Value), years(r.Other))
	case TooOld:
		return fmt.Sprintf("%s old; breeding ends at %s", years(r.Value), years(r.Other))
	case OnHold:
		text := "on hold for breeding: " + r.Note
		if r.Date.Known() {
			text += ", until " + r.Date.Text
		}
		return text
	case CloseKin:
		return fmt.Sprintf("too closely related: a chick would have F %s, the limit is %s", FourDecimals(r.Value), FourDecimals(r.Other))
	case Bonded:
		return "is bonded to " + r.Birds[1].ID
	case Elsewhere:
		return "lives at " + r.From + "; only birds at home were asked for"
	}
	return string(r.Code)
}

func holdText(what string, hold studbook.Hold) string {
	text := "on hold for " + what + ": " + hold.Reason
	if hold.Until.Known() {
		text += ", until " + hold.Until.Text
	}
	return text
}

// years is an age as a person says it.
func years(age float64) string {
	said := strings.TrimSuffix(fmt.Sprintf("%.1f", age), ".0")
	if said == "1" {
		return "1 year"
	}
	return said + " years"
}

// FourDecimals writes a kinship, a mean kinship or F for a reason: with four
// decimals, halves rounded up, as in the tables.
func FourDecimals(x float64) string {
	if x == 0 {
		return "0"
	}
	return fmt.Sprintf("%.4f", math.Round(x*1e4)/1e4)
}

// Count says how many there are of something: "1 chick", "2 chicks".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func levelText(kinship float64) string {
	switch {
	case kinship < 1.0/16:
		return "below the level of first cousins (0.0625)"
	case kinship == 1.0/16:
		return "the level of first cousins"
	case kinship < 1.0/8:
		return "between first cousins (0.0625) and half siblings (0.125)"
	case kinship == 1.0/8:
		return "the level of half siblings"
	case kinship < 1.0/4:
		return "between half siblings (0.125) and full siblings (0.25)"
	case kinship == 1.0/4:
		return "the level of full siblings, or of parent and chick"
	}
	return "closer than full siblings (0.25)"
}

func kinText(f, lethalEquivalents float64) string {
	if f == 0 {
		return "no common ancestor on record: a chick would not be inbred"
	}
	return fmt.Sprintf("a chick would have F %s, %s; that lowers its chance to survive by %.1f %%",
		FourDecimals(f), levelText(f), 100*(1-math.Exp(-lethalEquivalents*f)))
}

// Tally counts birds by the first reason why they are ruled out: "12 bonded to
// others, 3 too young".
func Tally(excluded []Excluded) string {
	words := []struct {
		code Code
		text string
	}{
		{SameSex, "of the same sex"}, {SexUnknown, "of unknown sex"}, {TooYoung, "too young"}, {TooOld, "too old"},
		{OnHold, "on hold"}, {CloseKin, "too closely related"}, {Bonded, "bonded to others"}, {Elsewhere, "not at home"}, {Dead, "dead"},
	}
	counts := map[Code]int{}
	for _, x := range excluded {
		counts[x.Reasons[0].Code]++
	}
	var parts []string
	for _, w := range words {
		if n := counts[w.code]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, w.text))
		}
	}
	return strings.Join(parts, ", ")
}
