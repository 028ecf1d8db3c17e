package studbook

import (
	"context"
	"fmt"
	"io"
	"slices"
)

// SeasonsFolder is the folder beside the studbook in which people keep seasons of
// their own, each a CSV file of Choices.
const SeasonsFolder = "plans"

// Choice is one row of a season that a person has made: what they would have done.
// Bonds that no choice parts stay; birds that none pairs stay alone, and a pair for
// which there is no hatch hatches nothing.
type Choice struct {
	What Subject
	// Birds are the bird that moves; of the others a female and a male, in any order.
	Birds  []string
	To     string // of a move; of a bond where the two are to live, "" where that is left open
	Chicks int    // of a hatch: how many chicks may hatch; -1 where the row gives none
	// Fixed choices are kept when the best is asked for under what is fixed.
	Fixed  bool
	Reason string
	Line   int
}

var seasonTable = &file[Choice]{SeasonsFolder + "/NAME", "a choice of a season of your own", func(x *Choice) *int { return &x.Line }, []column[Choice]{
	wordColumn("what", "what it is about", subjectWords, 0, badSubject, func(x *Choice) *Subject { return &x.What }).fill(),
	idsColumn("birds", "the bird that moves; else a female and a male, `A12; B3`", func(x *Choice) *[]string { return &x.Birds }).fill(),
	idColumn("to", "of a move, code of the institution where the bird goes; of a bond, where the pair is to live", func(x *Choice) *string { return &x.To }),
	countColumn("chicks", "of a hatch, how many chicks may hatch", "chicks", func(x *Choice) *int { return &x.Chicks }),
	wordColumn("fixed", "keep it when the best is asked for under what is fixed; blank is no", fixedWords, false, badFixed, func(x *Choice) *bool { return &x.Fixed }),
	textColumn("reason", "why", func(x *Choice) *string { return &x.Reason }),
}}

var (
	fixedWords = []word[bool]{{"yes", true, true}, {"no", false, true}, {"true", true, false}, {"false", false, false}, {"x", true, false}}
	badFixed   = complaint{codeBadFixed, "this says neither yes nor no", "write yes, or leave the cell blank"}
)

// ReadSeason reads a season that a person has made for a colony. name is that of the
// file, for findings. The error is a *Faults with every finding, or ctx's.
func (c *Colony) ReadSeason(ctx context.Context, name string, raw []byte) ([]Choice, error) {
	return readAlone(ctx, c, c.register(), seasonTable, name, raw, checkChoice)
}

// WriteSeason writes a season as ReadSeason reads it.
func WriteSeason(w io.Writer, choices []Choice) error { return writeRows(w, seasonTable, choices) }

func checkChoice(s spot, x *Choice) bool {
	r := s.r
	s.needed("what")
	if !s.needed("birds") || x.What == 0 {
		return true
	}
	switch {
	case x.What == RulesMove && x.To == "":
		r.fault(s.at("to"), codeMissingValue, "the move does not say where to", "fill in the code of the institution")
	case x.What == RulesHatch && x.Chicks < 0:
		r.fault(s.at("chicks"), codeMissingValue, "it does not say how many chicks may hatch", "fill in a number; 0 if none may")
	}
	switch n := len(x.Birds); {
	case x.What == RulesMove && n != 1:
		r.fault(s.at("birds"), codeTooManyBirds, "a move is about one bird", "write one row for each bird that moves, and a bond for two that come together")
		return true
	case x.What != RulesMove && n != 2:
		r.fault(s.at("birds"), codeTooManyBirds, "this is about a pair", "write the female and the male, as A12; B3")
		return true
	}
	s.birdsOf(x.Birds)
	return true
}

// birdsOf checks the ids of a row that is about one bird or a pair.
func (s spot) birdsOf(ids []string) {
	r := s.r
	if len(ids) == 2 && ids[0] == ids[1] {
		r.fault(s.at("birds"), codeSameBird, "a bird cannot be its own mate", "correct one of the two ids")
		return
	}
	sexes := make(map[Sex]string)
	for _, id := range ids {
		if !r.birds {
			continue
		}
		i, ok := r.index.find(id)
		if !ok || !r.colony.Birds[i].Recorded {
			r.fault(s.at("birds"), codeUnknownID, fmt.Sprintf("no bird of the studbook has the id %q", id), r.alike(id, "correct the id, or add the bird to the studbook"))
			continue
		}
		sex := r.colony.Birds[i].Sex
		if other, same := sexes[sex]; same && other != id && sex != Unsexed && sex != 0 {
			r.fault(s.at("birds"), codeWrongSex, fmt.Sprintf("%q and %q are of one sex", other, id), "correct one of the two ids, or the sex in the studbook")
		}
		sexes[sex] = id
	}
}

// SameBirds reports whether two choices are about the same birds, in any order.
func (x *Choice) SameBirds(ids ...string) bool {
	return len(ids) == len(x.Birds) && !slices.ContainsFunc(ids, func(id string) bool { return !slices.Contains(x.Birds, id) })
}
