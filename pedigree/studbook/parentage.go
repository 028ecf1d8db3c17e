package studbook

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// weightSlack is how far the weights of candidate parents may miss 1 by
// rounding of their decimals.
const weightSlack = 1e-9

// ParseParentage reads the cell of a sire or dam:
//
//	A12               that bird
//	blank, unknown    nothing is known
//	wild              a wild bird
//	A12=0.7; B3=0.3   one of several birds, with the chance of each
//	A12; B3           one of several birds, equally likely
//
// A candidate may be written "unknown"; its share, and what the weights lack
// to 1, is missing: the chance that the parent is a bird not named, in [0, 1].
// It is 0 where no candidate is named at all.
func ParseParentage(s string) (p Parentage, missing float64, err error) {
	s = strings.TrimSpace(s)
	switch {
	case nobody(s):
		return Parentage{}, 0, nil
	case strings.EqualFold(s, "wild"):
		return Parentage{Wild: true}, 0, nil
	case certain(s):
		return Parentage{Candidates: []Candidate{{ID: s, Weight: 1}}}, 0, nil
	}
	var parts []Candidate
	weighted := 0
	if strings.Count(s, ";") > MostCandidates {
		return Parentage{}, 0, fmt.Errorf("more than %d birds are named; leave the cell blank if the parent is unknown", MostCandidates)
	}
	for part := range strings.SplitSeq(s, ";") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue // a semicolon at the end
		}
		c := Candidate{ID: part}
		if eq := strings.LastIndexByte(part, '='); eq >= 0 {
			c.ID = strings.TrimSpace(part[:eq])
			text := strings.TrimSpace(part[eq+1:])
			c.Weight, err = parseNumber(text)
			if err != nil || c.Weight <= 0 || c.Weight > 1 {
				return Parentage{}, 0, fmt.Errorf("the weight %q of %q is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3", text, c.ID)
			}
			weighted++
		}
		if c.ID == "" {
			return Parentage{}, 0, errors.New("a weight stands without a bird; write A12=0.7; B3=0.3")
		}
		if strings.Contains(c.ID, "=") {
			return Parentage{}, 0, fmt.Errorf("two equals signs in %q; put a semicolon between candidates, as A12=0.7; B3=0.3", part)
		}
		parts = append(parts, c)
	}
	if len(parts) == 0 {
		return Parentage{}, 0, errors.New("no bird is named; leave the cell blank if the parent is unknown")
	}
	if weighted != 0 && weighted != len(parts) {
		return Parentage{}, 0, errors.New("some candidates have a weight and some have none; give one to each, or to none if they are equally likely")
	}
	sum := 0.0
	seen := make(map[string]bool, len(parts))
	for _, c := range parts {
		if weighted == 0 {
			c.Weight = 1 / float64(len(parts))
		}
		if seen[c.ID] {
			return Parentage{}, 0, fmt.Errorf("%q is named twice; add its weights together", c.ID)
		}
		seen[c.ID] = true
		sum += c.Weight
		if nobody(c.ID) || strings.EqualFold(c.ID, "wild") {
			missing += c.Weight
			continue
		}
		p.Candidates = append(p.Candidates, c)
	}
	if sum > 1+weightSlack {
		return Parentage{}, 0, fmt.Errorf("the weights add up to %s, more than 1; lower them until they add up to 1 or less", strconv.FormatFloat(sum, 'g', 6, 64))
	}
	if rest := 1 - sum; rest > weightSlack {
		missing += rest
	}
	if len(p.Candidates) == 0 {
		missing = 0
	}
	return p, missing, nil
}

// certain reports whether the cell of a parent names one bird and nothing else.
func certain(s string) bool {
	return !nobody(s) && !strings.EqualFold(s, "wild") && strings.IndexByte(s, ';') < 0 && strings.IndexByte(s, '=') < 0
}

// parent returns the one bird that is a parent for certain, in a block with others.
func (r *reader) parent(id string) []Candidate {
	if len(r.parents) == cap(r.parents) {
		r.parents = make([]Candidate, 0, 4096)
	}
	n := len(r.parents)
	r.parents = append(r.parents, Candidate{ID: id, Weight: 1})
	return r.parents[n : n+1 : n+1]
}

// nobody reports whether a parent's cell says that nothing is known.
func nobody(s string) bool { return s == "" || strings.EqualFold(s, "unknown") }

// parseNumber reads a decimal number with a point or, as spreadsheets in half
// of the world write it, a comma.
func parseNumber(s string) (float64, error) {
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	if s == "" || strings.Trim(s, "+-.0123456789eE") != "" {
		return 0, strconv.ErrSyntax // keeps out "inf", "nan" and hexadecimals
	}
	return strconv.ParseFloat(s, 64)
}
