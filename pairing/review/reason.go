package review

import "pairwright/pairing"

// What there is to say of a pair besides what rules it out; see PairReview.Why.
const (
	NothingToCompare    pairing.Code = "nothing_to_compare"    // no other pair may breed
	WorthMore           pairing.Code = "worth_more"            // its chicks, than those of the average pair
	WorthLess           pairing.Code = "worth_less"            //
	WorthLessReplace    pairing.Code = "worth_less_replace"    // the same, and its eggs are to be replaced
	PlanHas             pairing.Code = "plan_has"              // Count chicks of it
	PlanHasDoubtful     pairing.Code = "plan_has_doubtful"     // Count chicks of it, which its record does not promise
	PlanNeedsNone       pairing.Code = "plan_needs_none"       //
	NotPreferred        pairing.Code = "not_preferred"         // Value F of a chick, Other the preferred limit
	NeverFertile        pairing.Code = "never_fertile"         // no egg on record, and no chick in the last Count seasons
	FailedThoughFertile pairing.Code = "failed_though_fertile" // the last Count seasons
	Failed              pairing.Code = "failed"                // the last Count seasons
	FailedLately        pairing.Code = "failed_lately"         // the last Count seasons, too few to judge
	NewPair             pairing.Code = "new_pair"              // no clutch on record
	NoOutcomes          pairing.Code = "no_outcomes"           // of any clutch
	LivesApart          pairing.Code = "lives_apart"           // the two, on record
	PartBetween         pairing.Code = "part_between"          // seasons alone
	SitsNow             pairing.Code = "sits_now"              //
)

// What there is to say of a bird besides what makes it unfit to breed; see
// BirdReview.Why. Birds[1] is the mate that a code speaks of.
const (
	FewRelatives  pairing.Code = "few_relatives"   // fewer than the average bird
	ManyRelatives pairing.Code = "many_relatives"  //
	PairPlanned   pairing.Code = "pair_planned"    // Count chicks of its pair
	PairInReserve pairing.Code = "pair_in_reserve" //
	PairToPart    pairing.Code = "pair_to_part"    //
	PairRests     pairing.Code = "pair_rests"      // then why, where that is what rules the pair out
	MateCommoner  pairing.Code = "mate_commoner"   // so that it would do more with another
	PlannedWith   pairing.Code = "planned_with"    //
	NoMateNow     pairing.Code = "no_mate_now"     //
	GoodMate      pairing.Code = "good_mate"       // there is one
	NoBetterMate  pairing.Code = "no_better_mate"  // than the average pair
)

// What a review cannot say, or not surely; see Review.Missing.
const (
	NobodyAlive      pairing.Code = "nobody_alive"
	NobodyHere       pairing.Code = "nobody_here"
	OneBird          pairing.Code = "one_bird"
	FewBirds         pairing.Code = "few_birds" // Count
	NobodySexed      pairing.Code = "nobody_sexed"
	NoFemale         pairing.Code = "no_female"
	NoMale           pairing.Code = "no_male"
	NoHatchDates     pairing.Code = "no_hatch_dates"
	SomeUndated      pairing.Code = "some_undated" // Count
	AllFounders      pairing.Code = "all_founders"
	NoMovesFile      pairing.Code = "no_moves_file"
	NoBondsFile      pairing.Code = "no_bonds_file"
	NoClutchesFile   pairing.Code = "no_clutches_file"
	NoGenerations    pairing.Code = "no_generation_length"
	ProgrammesTables pairing.Code = "programmes_tables" // Note: females, males or both; Count at risk that a table takes
	Emptied          pairing.Code = "emptied"
)
