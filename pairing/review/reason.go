package review

import "pairwright/pairing"

// What there is to say of a pair besides what keeps it from breeding; see
// PairReview.Why.
const (
	WorthLess      pairing.Code = "worth_less"       // its chicks, than those of the average pair
	PlanHas        pairing.Code = "plan_has"         // up to Count chicks of it
	PlanHasReserve pairing.Code = "plan_has_reserve" // up to Count chicks of it if a planned pair fails
	PlanNeedsNone  pairing.Code = "plan_needs_none"  // its eggs are to be replaced
	PlanElsewhere  pairing.Code = "plan_elsewhere"   // From, where it is to live, plans its chicks
	InTheWay       pairing.Code = "in_the_way"       // the programme would gain by its parting; then what follows, see pairing.Obstacle.Reasons
	NotPreferred   pairing.Code = "not_preferred"    // Value F of a chick, Other the preferred limit
	FailedLately   pairing.Code = "failed_lately"    // the last Count seasons, too few to judge
	NewPair        pairing.Code = "new_pair"         // no clutch on record, of a bond of the last year
	NoClutches     pairing.Code = "no_clutches"      // of a pair that is not new
	NoOutcomes     pairing.Code = "no_outcomes"      // of any clutch
	PartBetween    pairing.Code = "part_between"     // seasons alone
	SitsNow        pairing.Code = "sits_now"         //
)

// What there is to say of a bird besides its state and why it is alone; see
// BirdReview.Why. Birds[1] is the mate that a code speaks of.
const (
	FewRelatives    pairing.Code = "few_relatives"      // fewer than the average bird
	ManyRelatives   pairing.Code = "many_relatives"     //
	PairPlanned     pairing.Code = "pair_planned"       // up to Count chicks of its pair
	PairInReserve   pairing.Code = "pair_in_reserve"    //
	PairToPart      pairing.Code = "pair_to_part"       //
	PairToPartFor   pairing.Code = "pair_to_part_for"   // Birds[2] would be its mate then
	PairToPartAlone pairing.Code = "pair_to_part_alone" // and it would have no mate then
	PairToExamine   pairing.Code = "pair_to_examine"    //
	PairRests       pairing.Code = "pair_rests"         // then why, where something keeps it from breeding
	PlannedWith     pairing.Code = "planned_with"       // at home
	GoesTo          pairing.Code = "goes_to"            // its mate at To
	MateComes       pairing.Code = "mate_comes"         // From where
)

// Why something is to be done that the decision has no reason of its own for; see
// Decided.
const (
	ForTheSeason pairing.Code = "for_the_season" // Value chicks expected, Count wanted, Other the chance that there are enough
	NeverSexed   pairing.Code = "never_sexed"    // Date when the first season of one too young to breed begins
	GenesBehind  pairing.Code = "genes_behind"   // Value the share of the living birds' genes, Count birds that could have been the parent
	FoundersKin  pairing.Code = "founders_kin"   // Relation what two founders are by DNA, Value their kinship then
	// GoalOutOfReach: Value the most gene diversity that the genes of Count founders can
	// hold, Of the founders that the goal takes, 0 where no number is enough.
	GoalOutOfReach pairing.Code = "goal_out_of_reach"
	AheadOf        pairing.Code = "ahead_of_share" // Value the share of the programme's possible pairs, Count of them, that it is ahead of, Other that it is behind
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
