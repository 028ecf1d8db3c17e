package pairing

import (
	"math"

	"pairwright/pedigree/studbook"
)

// What speaks for a candidate and against it, in the order that it is said.
// Birds is the candidate and the bird that looks for a mate, unless said
// otherwise.
const (
	AheadOfPairs Code = "ahead_of"         // Value the share of the eligible pairs, Count of them, that it is ahead of, Other that it is behind
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
	StayTogether   Code = "stay_together" // the two are bonded and stay so; free again they would not be advised to each other
	OtherBond      Code = "other_bond"    // Birds: the candidate and its mate
	BondToEnd      Code = "bond_to_end"   // the same, and people have agreed to part them: Date, By
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
	x := &explaining{Ranker: r, out: out, c: c, bird: &r.p.Book.Birds[out.Bird], mate: &r.p.Book.Birds[c.Bird]}
	r.nameKin(out, c)
	x.pair()
	x.record()
	x.way()
	x.bonds()
	if c.KnownAncestry < wellKnown {
		x.add(Reason{Code: AncestryUnsure, Value: c.KnownAncestry})
	}
	if out.Uncertain && c.BestIn < 1 && (c.Rank <= first || c.AmongFirstIn > 0) {
		x.add(Reason{Code: RankConfidence, Value: c.BestIn, Other: c.AmongFirstIn, Count: out.Samples})
	}
	c.Reasons = x.all
}

// explaining is the reasons of a candidate while they are gathered, in the order in which
// they are told.
type explaining struct {
	*Ranker
	out        *Ranking
	c          *Candidate
	bird, mate *studbook.Bird
	all        []Reason
}

// add adds a reason, of the candidate and the bird unless it names others.
func (x *explaining) add(r Reason) {
	if r.Birds == nil {
		r.Birds = []*studbook.Bird{x.mate, x.bird}
	}
	x.all = append(x.all, r)
}

// pair tells what the pair is worth, how the two are related, and what the decision makes
// of them.
func (x *explaining) pair() {
	p, c, out := x.p, x.c, x.out
	if c.Decided && out.Bond != nil && out.Bond.Word != nil {
		x.add(out.Bond.Word.Reason(p))
	}
	if c.Settled() {
		x.add(Reason{Code: StayTogether})
	}
	if out.AllAlike {
		x.add(Reason{Code: ChickAlike})
	} else {
		x.add(Reason{Code: AheadOfPairs, Value: c.AheadOf, Other: c.Behind, Count: out.EligiblePairs})
	}
	if c.OffspringInbreeding == 0 {
		x.add(Reason{Code: NotKin})
	} else {
		x.add(Reason{Code: Inbred, Kin: c.Kin, Value: c.OffspringInbreeding, Other: 1 - c.SurvivalUnderInbreeding})
	}
	for _, d := range p.Heed(out.Bird, c.Bird) {
		x.add(d)
	}
	why, off := x.d.PutOff(out.Bird, &c.Choice)
	switch {
	case c.Open || c.BondedTo == x.bird.ID:
	case off:
		x.add(why)
	case !p.Preferred(c.OffspringInbreeding) || c.doubtful:
		x.add(Reason{Code: NotWhile, Value: c.OffspringInbreeding, Other: p.Settings().PreferInbreeding})
	default:
		x.add(Reason{Code: CannotMove})
	}
	if c.BondedTo != x.bird.ID {
		otherwise := []*studbook.Bird{x.mate}
		if c.Otherwise >= 0 {
			otherwise = append(otherwise, &p.Book.Birds[c.Otherwise])
		}
		x.add(Reason{Code: Otherwise, Birds: otherwise})
	}
	x.add(Reason{Code: MeanKinships, Value: c.MeanKinship, Count: p.MeanKinshipRank(c.Bird), Of: p.Living.Size()})
	if mean, _ := p.Living.MeanKinship(); c.MeanKinshipDifference > mean/2 {
		x.add(Reason{Code: RareToCommon, Value: c.MeanKinshipDifference})
	}
}

// record tells the record of broods, and how sure the mate's age is.
func (x *explaining) record() {
	c := x.c
	x.add(c.Success.reason())
	pair := x.d.pairOf(x.out.Bird, c.Bird)
	if own := x.p.Broods(pair[0], pair[1]); own.NeverFertile() {
		x.add(Reason{Code: NeverFertile, Count: own.Barren})
	}
	if c.AgeKnown && c.AgePlusMinus >= 0.5 {
		x.add(Reason{Code: AgeVague, Value: math.Ceil(c.AgePlusMinus)})
	}
	if !c.AgeKnown {
		x.add(Reason{Code: AgeUnknown})
	}
}

// way tells how far apart the two live, and what stands in the way of a move.
func (x *explaining) way() {
	p, c := x.p, x.c
	if !c.NeedsTransfer {
		x.add(Reason{Code: AtHome})
		return
	}
	if c.Placed {
		x.add(Reason{Code: Away, From: x.mate.Location, Value: c.Distance})
	} else {
		x.add(Reason{Code: AwayUnplaced, From: x.mate.Location})
	}
	if c.Late {
		x.add(Reason{Code: TooLate, Count: p.Calendar().Year + 1})
	}
	for _, way := range [2][2]int{{x.out.Bird, c.Bird}, {c.Bird, x.out.Bird}} {
		if w, no := x.d.DeclinedMove(way[0], way[1], p.Book.Birds[way[1]].Location); no {
			x.add(w.Reason(p))
		}
	}
	for _, b := range []*studbook.Bird{x.mate, x.bird} {
		if hold, ok := p.Book.Blocked(b.ID, studbook.BlocksMoving); ok {
			x.add(Reason{Code: HeldHere, Birds: []*studbook.Bird{b}, Note: hold.Reason, Date: hold.Until})
		}
	}
}

// bonds tells of bonds that the two are or were in.
func (x *explaining) bonds() {
	switch c := x.c; {
	case c.Settled():
	case c.BondedTo == x.bird.ID:
		x.add(Reason{Code: TheirBond})
	case c.BondedTo != "":
		other, _ := x.p.Book.Index(c.BondedTo)
		bond := Reason{Code: OtherBond}
		if w := x.d.rulings.parts[x.d.pairOf(c.Bird, other)]; w != nil {
			bond = w.Reason(x.p)
			bond.Code = BondToEnd
		}
		bond.Birds = x.p.birds(c.Bird, other)
		x.add(bond)
	case c.KnownBond:
		x.add(Reason{Code: FormerBond})
	}
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
