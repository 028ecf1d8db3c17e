package pairing

import (
	"math"

	"pairwright/pedigree/studbook"
)

// What speaks for a candidate and against it, in the order that it is said.
// Birds is the candidate and the bird that looks for a mate, unless said
// otherwise.
const (
	AheadOfPairs Code = "ahead_of"         // Value the share of the eligible pairs, Count of them, that it is ahead of
	NotWhile     Code = "not_while_others" // Value F of a chick, Other the preferred limit: both birds have other mates
	CannotMove   Code = "cannot_move"      // neither of the two may be moved
	PairedInTime Code = "paired_in_time"   // no move brings the two together for the coming season. Birds: the one that has a mate for it, and that mate
	Otherwise    Code = "otherwise"        // Birds: the candidate and whom it would be paired with else; it alone if nobody
	ChickAlike   Code = "chick_alike"      // a chick of every eligible pair gains the same, or there is no other pair
	NotKin       Code = "not_kin"          // no common ancestor on record
	Inbred       Code = "inbred"           // Kin what the candidate is to the bird, Value F of a chick, Other the share of its chance to survive that this takes
	MeanKinships Code = "mean_kinship"     // Value its mean kinship, Count its rank, Of the living birds
	RareToCommon Code = "rare_to_common"   // Value the difference of the two mean kinships

	// The record that the chance of success, Value, comes from: of the two
	// together (Records has one) or of the female and the male with others.
	RecordTogether Code = "record_together"
	RecordsApart   Code = "records_apart"
	NoRecord       Code = "no_record"
	NeverFertile   Code = "never_fertile" // Count clutches of the pair were candled, none had a fertile egg: sex both, ask the veterinarian

	AgeVague       Code = "age_vague"     // Value years either way
	AgeUnknown     Code = "age_unknown"   //
	AtHome         Code = "at_home"       //
	Away           Code = "away"          // From where it lives, Value km
	AwayUnplaced   Code = "away_unplaced" // From where it lives; how far that is nobody knows
	HeldHere       Code = "held_here"     // Birds the one that may not move, Note why, Date until when
	TheirBond      Code = "their_bond"    // the two are bonded
	OtherBond      Code = "other_bond"    // Birds: the candidate and its mate
	FormerBond     Code = "former_bond"   // the two were bonded before
	AncestryUnsure Code = "ancestry"      // Value the share of its ancestry that is known
	RankConfidence Code = "rank_confidence"
	// RankConfidence: Value the share of Count possible pedigrees in which it is
	// the best, Other in which it is one of the first three.
)

// Why a bird must not travel on some days.
const (
	OnNest       Code = "on_nest"       // Date of its clutch, Count days allowed for it
	LayingMonth  Code = "laying_month"  //
	PairingMonth Code = "pairing_month" //
	EndClosed    Code = "end_closed"    // From takes and sends no birds
	Permit       Code = "permit"        // to cross a border From To takes Count weeks
	MoultMonth   Code = "moult_month"   //
)

// wellKnown is the share of known ancestry below which the figures of a bird
// carry a caution (common practice, no source).
const wellKnown = 0.75

// Name returns a bird's id, with its name if it has one: "C12 (Bracken)".
func (p *Programme) Name(b int) string {
	return p.Book.Birds[b].Named()
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

// nameKin fills in what the candidate is to the bird.
func (r *Ranker) nameKin(out *Ranking, c *Candidate) {
	c.Kin = r.p.KinInWordsOf(out.Bird, c.Bird, c.OffspringInbreeding)
}

// explain fills in what speaks for the candidate and against it, and its kin.
func (r *Ranker) explain(out *Ranking, c *Candidate) {
	p := r.p
	bird, mate := &p.Book.Birds[out.Bird], &p.Book.Birds[c.Bird]
	var all []Reason
	add := func(x Reason) {
		if x.Birds == nil {
			x.Birds = []*studbook.Bird{mate, bird}
		}
		all = append(all, x)
	}

	if c.Decided && out.Bond != nil && out.Bond.Word != nil {
		add(out.Bond.Word.Reason(p))
	}
	if out.AllAlike {
		add(Reason{Code: ChickAlike})
	} else {
		add(Reason{Code: AheadOfPairs, Value: c.AheadOf, Count: out.EligiblePairs})
	}
	r.nameKin(out, c)
	if c.OffspringInbreeding == 0 {
		add(Reason{Code: NotKin})
	} else {
		add(Reason{Code: Inbred, Kin: c.Kin, Value: c.OffspringInbreeding, Other: 1 - c.SurvivalUnderInbreeding})
	}
	for _, d := range p.Doubt(out.Bird, c.Bird) {
		add(d)
	}
	why, off := r.d.PutOff(out.Bird, &c.Choice)
	switch {
	case c.Open || c.BondedTo == bird.ID:
	case off:
		add(why)
	case !p.Preferred(c.OffspringInbreeding) || c.doubtful:
		add(Reason{Code: NotWhile, Value: c.OffspringInbreeding, Other: p.Settings().PreferInbreeding})
	default:
		add(Reason{Code: CannotMove})
	}
	if c.BondedTo != bird.ID {
		otherwise := []*studbook.Bird{mate}
		if c.Otherwise >= 0 {
			otherwise = append(otherwise, &p.Book.Birds[c.Otherwise])
		}
		add(Reason{Code: Otherwise, Birds: otherwise})
	}
	add(Reason{Code: MeanKinships, Value: c.MeanKinship, Count: p.Rank(c.Bird), Of: p.Living.Size()})
	if mean, _ := p.Living.MeanKinship(); c.MeanKinshipDifference > mean/2 {
		add(Reason{Code: RareToCommon, Value: c.MeanKinshipDifference})
	}
	add(c.Success.reason())
	female, male := out.Bird, c.Bird
	if bird.Sex == studbook.Male {
		female, male = male, female
	}
	if own := p.Broods(female, male); own.NeverFertile() {
		add(Reason{Code: NeverFertile, Count: own.Barren})
	}
	if c.AgeKnown && c.AgePlusMinus >= 0.5 {
		add(Reason{Code: AgeVague, Value: math.Ceil(c.AgePlusMinus)})
	}
	if !c.AgeKnown {
		add(Reason{Code: AgeUnknown})
	}
	if c.NeedsTransfer {
		if c.Placed {
			add(Reason{Code: Away, From: mate.Location, Value: c.Distance})
		} else {
			add(Reason{Code: AwayUnplaced, From: mate.Location})
		}
		if c.Late {
			add(Reason{Code: TooLate, Count: p.Calendar().Year + 1})
		}
		for _, x := range [2][2]int{{out.Bird, c.Bird}, {c.Bird, out.Bird}} {
			if w, no := r.d.DeclinedMove(x[0], x[1], p.Book.Birds[x[1]].Location); no {
				add(w.Reason(p))
			}
		}
		for _, b := range []*studbook.Bird{mate, bird} {
			if hold, ok := p.Book.Blocked(b.ID, studbook.BlocksMoving); ok {
				add(Reason{Code: HeldHere, Birds: []*studbook.Bird{b}, Note: hold.Reason, Date: hold.Until})
			}
		}
	} else {
		add(Reason{Code: AtHome})
	}
	switch {
	case c.BondedTo == bird.ID:
		add(Reason{Code: TheirBond})
	case c.BondedTo != "":
		add(Reason{Code: OtherBond, Birds: []*studbook.Bird{mate, p.Book.Bird(c.BondedTo)}})
	case c.KnownBond:
		add(Reason{Code: FormerBond})
	}
	if c.KnownAncestry < wellKnown {
		add(Reason{Code: AncestryUnsure, Value: c.KnownAncestry})
	}
	if out.Uncertain && c.BestIn < 1 && (c.Rank <= first || c.AmongFirstIn > 0) {
		add(Reason{Code: RankConfidence, Value: c.BestIn, Other: c.AmongFirstIn, Count: out.Samples})
	}
	c.Reasons = all
}

// reason says which record the chance comes from.
func (s *Success) reason() Reason {
	switch {
	case s.Pair.Clutches > 0:
		return Reason{Code: RecordTogether, Value: s.Chance, Records: []Record{s.Pair}}
	case s.Female.Clutches+s.Male.Clutches > 0:
		return Reason{Code: RecordsApart, Value: s.Chance, Records: []Record{s.Female, s.Male}}
	}
	return Reason{Code: NoRecord, Value: s.Chance}
}
