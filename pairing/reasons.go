package pairing

import (
	"fmt"
	"math"

	"pairwright/pedigree/studbook"
)

// Levels of relationship that keepers know, as the F of a chick (Wright 1922).
const (
	firstCousins = 1.0 / 16
	halfSiblings = 1.0 / 8
	fullSiblings = 1.0 / 4
)

// wellKnown is the share of known ancestry below which the figures of a bird
// carry a caution (common practice, no source).
const wellKnown = 0.75

// Name returns a bird's id, with its name if it has one: "C12 (Bracken)".
func (p *Programme) Name(b int) string {
	bird := &p.Book.Birds[b]
	if bird.Name == "" {
		return bird.ID
	}
	return bird.ID + " (" + bird.Name + ")"
}

// Place returns the name of an institution with its code, or what there is.
func (p *Programme) Place(code string) string {
	if in, ok := p.Book.Institution(code); ok && in.Name != "" {
		return in.Name + " (" + code + ")"
	}
	if code == "" {
		return "a place not on record"
	}
	return code
}

// reasons says in plain words what speaks for the candidate and against it.
func (r *Ranker) reasons(out *Ranking, c *Candidate) []string {
	p := r.p
	bird, mate := &p.Book.Birds[out.Bird], &p.Book.Birds[c.Bird]
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }

	if out.Compared {
		word := "better"
		if c.Advantage <= 0 {
			word = "no better"
		}
		add("one chick %s the programme's gene diversity, a chick of the average pair %s it: %s",
			changes(c.GeneDiversityGain), changes(out.AverageGain), word)
	} else {
		add("one chick %s the programme's gene diversity; there is no other eligible pair to compare with", changes(c.GeneDiversityGain))
	}
	add("%s", kinText(c.OffspringInbreeding, p.Settings().LethalEquivalents))
	add("its mean kinship %s is number %d of %d living birds (1 has the fewest relatives)",
		FourDecimals(c.MeanKinship), p.Rank(c.Bird), p.Living.Size())
	if mean, _ := p.Living.MeanKinship(); c.MeanKinshipDifference > mean/2 {
		add("the two birds' mean kinships differ by %s: the rarer one's genes would be tied to common ones", FourDecimals(c.MeanKinshipDifference))
	}
	add("%s", successText(c))
	if c.AgeKnown && c.AgePlusMinus >= 0.5 {
		add("its age is known only to about %s either way", years(math.Ceil(c.AgePlusMinus)))
	}
	if !c.AgeKnown {
		add("its age is not known, so nobody can say whether it is of breeding age")
	}
	switch {
	case !c.NeedsTransfer:
		add("lives in the same place: no move")
	case c.Placed:
		add("lives at %s, %.0f km away: one of the two must move", p.Place(mate.Location), c.Distance)
	default:
		add("lives at %s: one of the two must move", p.Place(mate.Location))
	}
	if c.NeedsTransfer {
		for _, id := range []string{mate.ID, bird.ID} {
			if hold, ok := p.Book.Blocked(id, studbook.BlocksMoving); ok {
				add("%s is %s", id, holdText("moving", hold))
			}
		}
	}
	switch {
	case c.BondedTo == bird.ID:
		add("the two are bonded")
	case c.BondedTo != "":
		add("is bonded to %s: that bond would have to be broken", c.BondedTo)
	case c.KnownBond:
		add("the two were bonded before")
	}
	if c.KnownAncestry < wellKnown {
		add("only %.0f %% of its ancestry is known, so it may be closer kin than the figures say", 100*c.KnownAncestry)
	}
	if out.Uncertain && c.RankConfidence < 1 {
		add("keeps this rank or a better one in %.0f %% of %d pedigrees drawn from the uncertain parents", 100*c.RankConfidence, out.Samples)
	}
	return say
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

// changes says a gain as a verb: "adds 21.3 millionths to".
func changes(gain float64) string {
	switch {
	case gain > 0:
		return fmt.Sprintf("adds %.1f millionths to", gain*1e6)
	case gain < 0:
		return fmt.Sprintf("takes %.1f millionths from", -gain*1e6)
	}
	return "changes nothing in"
}

// Level says in words how close a kinship is, by relationships that keepers
// know.
func Level(kinship float64) string {
	switch {
	case kinship == 0:
		return "unrelated"
	case kinship < firstCousins:
		return "below the level of first cousins (0.0625)"
	case kinship == firstCousins:
		return "the level of first cousins"
	case kinship < halfSiblings:
		return "between first cousins (0.0625) and half siblings (0.125)"
	case kinship == halfSiblings:
		return "the level of half siblings"
	case kinship < fullSiblings:
		return "between half siblings (0.125) and full siblings (0.25)"
	case kinship == fullSiblings:
		return "the level of full siblings, or of parent and chick"
	}
	return "closer than full siblings (0.25)"
}

func kinText(f, lethalEquivalents float64) string {
	if f == 0 {
		return "no common ancestor on record: a chick would not be inbred"
	}
	return fmt.Sprintf("a chick would have F %s, %s; that lowers its chance to survive by %.1f %%",
		FourDecimals(f), Level(f), 100*(1-math.Exp(-lethalEquivalents*f)))
}

func successText(c *Candidate) string {
	s := c.Success
	switch own := s.Pair; {
	case own.Clutches > 0:
		return fmt.Sprintf("the pair fledged chicks from %d of %s together: chance of success %.2f", own.Fledged, Count(own.Clutches, "clutch", "clutches"), s.Chance)
	case s.Female.Clutches+s.Male.Clutches > 0:
		return fmt.Sprintf("with other mates %s, and %s: chance of success %.2f",
			recordText("the female", s.Female), recordText("the male", s.Male), s.Chance)
	}
	return fmt.Sprintf("neither bird has a clutch on record; at their ages the chance of success is %.2f", s.Chance)
}

func recordText(who string, r Record) string {
	if r.Clutches == 0 {
		return who + " has no clutch on record"
	}
	return fmt.Sprintf("%s fledged chicks from %d of %s", who, r.Fledged, Count(r.Clutches, "clutch", "clutches"))
}
