package transfer

import (
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// A NoCaseError is why there is no case for a transfer.
type NoCaseError struct {
	pairing.Reason
	Because  []pairing.Reason   // what stands behind it, if anything
	RuledOut []pairing.Excluded // with NoMate: the birds there and what rules each out
}

// Error names the code, for whoever looks into a log; what a person is told is
// made from the reason.
func (e *NoCaseError) Error() string { return "no case for a transfer: " + string(e.Code) }

// Why there is no case, besides pairing.Dead. Birds begins with the bird asked
// about.
const (
	NoLocations     pairing.Code = "no_locations"     // the studbook has no location column
	NoRow           pairing.Code = "no_row"           // the bird has no row in the studbook
	LocationUnknown pairing.Code = "location_unknown" // of the last of Birds
	SamePlace       pairing.Code = "same_place"       // To where it lives; the second bird lives there too
	NobodyThere     pairing.Code = "nobody_there"     // To
	OwnMate         pairing.Code = "own_mate"         //
	NotNow          pairing.Code = "not_now"          // Because: what holds the birds
	MateRuledOut    pairing.Code = "mate_ruled_out"   // Birds: it and the mate; Because
	MateElsewhere   pairing.Code = "mate_elsewhere"   // Birds: it and the mate, From where the mate lives
	NoSuchMove      pairing.Code = "no_such_move"     // Birds: it and the mate
	NoExchange      pairing.Code = "no_exchange"      // To, From
	NoMate          pairing.Code = "no_mate_there"    // From where it was looked for, "" elsewhere; RuledOut; the second bird is a mate at home
)

// What stands in the way of an option, or may.
const (
	NoSpace      pairing.Code = "no_space"       // To has no free place for a bird of the sex of Birds
	PlaceToCome  pairing.Code = "place_to_come"  // the same, and the decision counts on a death expected there, or on another of its moves
	HeldFromMove pairing.Code = "held_from_move" // Birds may not travel until further notice, Note why
)

// Why an option is an alternative. All but the first of Alternative.Why say
// more of the first.
const (
	NotPossible     pairing.Code = "not_possible"        // then what holds the birds
	PlacesTaken     pairing.Code = "places_taken"        // the free places at To for the sex of Birds go to other moves of the decision
	SpaceWanted     pairing.Code = "space_wanted"        // then NoSpace
	NotAsked        pairing.Code = "not_asked"           // the decision has it, or it gains more, but it is not what was asked for
	NoGain          pairing.Code = "no_gain_by_move"     // nothing, against what the mate would do otherwise; then WantedElsewhere
	NotWorth        pairing.Code = "not_worth_this_move" // Birds: the pair, Value the net gain, Other what a move must be worth
	GainsAsMuch     pairing.Code = "gains_as_much"       // then what it costs more, if anything
	AsMuchAnew      pairing.Code = "as_much_anew"        // the mate is taken from another, or a move is left out: the others are paired anew, and some may move then
	GainsLess       pairing.Code = "gains_less"          // than what the decision has
	LessGain        pairing.Code = "less_gain"           // Value as a share; then what most makes it less
	WantedElsewhere pairing.Code = "wanted_elsewhere"    // Birds: the mate, and whom it would be paired with else
)

// What an option costs the birds more than another, or less, the heaviest first:
// Value against Other.
const (
	MoreMoves         pairing.Code = "more_moves"
	FewerMoves        pairing.Code = "fewer_moves"
	BreaksBonds       pairing.Code = "breaks_bonds" // Birds: females and males in turn
	KeepsBonds        pairing.Code = "keeps_bonds"
	Strangers         pairing.Code = "strangers" // the two do not know each other
	Acquainted        pairing.Code = "acquainted"
	MoreBorders       pairing.Code = "more_borders"
	FewerBorders      pairing.Code = "fewer_borders"
	DistanceUnknown   pairing.Code = "distance_unknown" // of the way From To, where these are given
	DistanceKnown     pairing.Code = "distance_known"   // that of the other is not
	LongerWay         pairing.Code = "longer_way"       // km
	ShorterWay        pairing.Code = "shorter_way"      // km
	MovedMore         pairing.Code = "moved_more"       // earlier moves of the birds that travel
	MovedLess         pairing.Code = "moved_less"       // the same
	SpaceUnknown      pairing.Code = "space_unknown"    // Birds and To, where these are given
	SpaceKnown        pairing.Code = "space_known"
	FewerSpaces       pairing.Code = "fewer_spaces"
	MoreSpaces        pairing.Code = "more_spaces"
	LongerQuarantine  pairing.Code = "longer_quarantine"  // days
	ShorterQuarantine pairing.Code = "shorter_quarantine" // days

	GoesRound pairing.Code = "goes_round" // Count pairs come together, and each place gives a bird and gets one
)

// What makes the gain of a pair less than that of another.
const (
	MoreInbred       pairing.Code = "more_inbred"         // Value F of a chick, instead of Other
	LessSuccess      pairing.Code = "less_success"        // Value chance of success, instead of Other
	CommonerMate     pairing.Code = "commoner_mate"       // Value its mean kinship, instead of Other
	LessForEachChick pairing.Code = "less_for_each_chick" //
)

// What the files do not tell.
const (
	AncestryGaps      pairing.Code = "ancestry_gaps"      // Birds: one, Value the share of its ancestry that is known; see Programme.GapsBehind
	AgeUnknown        pairing.Code = "mover_age_unknown"  // Birds
	AgeVague          pairing.Code = "mover_age_vague"    // Birds, Value years either way, Date of hatch
	SexesUnproven     pairing.Code = "sexes_unproven"     // how they were told is in no file
	NoInstitutions    pairing.Code = "no_institutions"    // there is no institutions.csv
	NotListed         pairing.Code = "not_listed"         // To is not in it
	QuarantineUnknown pairing.Code = "quarantine_unknown" // To, Count days assumed
	PermitUnknown     pairing.Code = "permit_unknown"     // how long a permit to cross the border From To takes
)

// What speaks against the best option, besides NoSpace and NotWorth.
const (
	NotAdvised        pairing.Code = "not_advised"        // the programme gains nothing by the pair
	HomeAsGood        pairing.Code = "home_as_good"       // Birds: the mate at home
	PromisedElsewhere pairing.Code = "promised_elsewhere" // Birds: one of the pair, and whom the season's decision gives it
	BondEnds          pairing.Code = "bond_ends"          // Birds: the two
	RestsFirst        pairing.Code = "rests_first"        // Birds: a new pair that hatches nothing in its first season, Count its year, by the plan of the place
	NotPreferred      pairing.Code = "pair_not_preferred" // Birds: the pair, Value F of a chick, Other the preferred limit
	NoDay             pairing.Code = "no_day"             // Birds, Count days of quarantine
	AfterSeason       pairing.Code = "after_season"       // Birds: it cannot be there before Date, when another season has gone by
	NoLayingMonths    pairing.Code = "no_laying_months"   // Birds
	NoMoultMonths     pairing.Code = "no_moult_months"    // Birds
	ParentsUncertain  pairing.Code = "parents_uncertain"  //
	RankUnsure        pairing.Code = "rank_unsure"        // Value share of Count pedigrees in which the mate is one of the first three
)

// about returns a reason of some birds of the programme.
func about(p *pairing.Programme, code pairing.Code, birds ...int) pairing.Reason {
	r := pairing.Reason{Code: code}
	for _, b := range birds {
		r.Birds = append(r.Birds, &p.Book.Birds[b])
	}
	return r
}

// held is the reason why a hold keeps a bird from moving until further notice.
func held(p *pairing.Programme, b int, hold studbook.Hold) pairing.Reason {
	r := about(p, HeldFromMove, b)
	r.Note = hold.Reason
	return r
}
