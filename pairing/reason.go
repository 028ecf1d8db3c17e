package pairing

import (
	"slices"

	"pairwright/pedigree/studbook"
)

// Reason is one thing there is to say of birds, of a pair or of a plan: a code
// with the birds, places and figures that it speaks of. The words, and how many
// decimals a figure gets, are the report's. Every code says which fields it
// fills; the others are zero.
type Reason struct {
	Code  Code
	Birds []*studbook.Bird // whom it is about, in the order that the code names them

	From, To     string  // codes of institutions
	Value, Other float64 // the figure, and the one that it is held against
	Count, Of    int
	Date         studbook.Date
	Kin          KinInWords
	Records      []Record
	Note         string // what the files say in their own words, as the reason of a hold
	By           string // who said so, of what a person decided
	Relation     FounderRelation
}

// Code names a Reason.
type Code string

// The reasons why a bird is ruled out as a mate. Birds is that bird.
const (
	Dead       Code = "dead"        // Date of its death
	Gone       Code = "left"        // it left the programme, or has not come yet
	SameSex    Code = "same_sex"    //
	SexUnknown Code = "sex_unknown" //
	TooYoung   Code = "too_young"   // Value its age, on Date if that is still to come, Other the age at which breeding begins, in years
	TooOld     Code = "too_old"     // Value its age, on Date if that is still to come, Other the age at which breeding ends, in years
	OnHold     Code = "on_hold"     // Note why, Date until when
	CloseKin   Code = "close_kin"   // Value F of a chick, Other the limit
	IsParent   Code = "is_parent"   // by DNA, and the studbook does not have it so. Birds: the chick and its parent
	AreKin     Code = "are_kin"     // by DNA founders are, and the studbook does not have it so. Value F of a chick with that, Other the limit; Relation what the two are if they are founders
	Bonded     Code = "bonded"      // Birds: it and its mate
	Elsewhere  Code = "elsewhere"   // From where it lives
)

// Is reports whether the reason is one of some codes.
func (r *Reason) Is(codes ...Code) bool {
	return slices.Contains(codes, r.Code)
}
