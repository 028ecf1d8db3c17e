package contract

import (
	"slices"

	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
)

// TransferAnswer is the answer of the transfer command for one bird. Bird is
// the one asked about and Partner its intended mate; Moves say which birds
// travel, and From and To are the ends of the first move. Where no bird need move
// they are null, and so is what there would be to say of the move.
type TransferAnswer struct {
	Bird         string                `json:"bird"`
	Needed       bool                  `json:"needed"`
	Reason       string                `json:"reason"`
	State        string                `json:"state"`
	StateUntil   *string               `json:"state_until"`
	From         *string               `json:"from"`
	To           *string               `json:"to"`
	Purpose      *string               `json:"purpose"`
	Partner      *string               `json:"partner"`
	NetGain      *float64              `json:"net_gain"`
	NetGainFor   *string               `json:"net_gain_for"`
	LeastGain    float64               `json:"least_gain"` // what a pair must gain to be worth a move
	AsOf         string                `json:"as_of"`
	Proposal     *TransferOption       `json:"proposal"`
	Effects      *TransferEffects      `json:"effects"`
	Alternatives []TransferAlternative `json:"alternatives"`
	Timing       *TransferTiming       `json:"timing"`
	EarlierMoves []EarlierMove         `json:"earlier_moves"` // of the birds of the proposal
	Cautions     []string              `json:"cautions"`
	NotKnown     []string              `json:"not_known"`
	Undoing
	Request *TransferRequest `json:"request"` // on file for the first move, made by where it goes
	Waiting *string          `json:"waiting"` // what people have said of the move that is still to be decided
}

// TransferRequest is a row of requests.csv.
type TransferRequest struct {
	To      string  `json:"to"`
	Partner *string `json:"partner"`
	AskedBy *string `json:"asked_by"`
	Date    *string `json:"date"`
	Notes   *string `json:"notes"`
}

// EarlierMove is a move that a bird has made before; from and to are null where
// it came from outside or left the programme.
type EarlierMove struct {
	Bird   string  `json:"bird"`
	Date   string  `json:"date"`
	From   *string `json:"from"`
	To     *string `json:"to"`
	Reason *string `json:"reason"`
}

// TransferOption is one way to give a bird a mate: kind is "stay", "bring",
// "send", "swap" or "chain".
type TransferOption struct {
	Kind        string         `json:"kind"`
	Decided     bool           `json:"decided"` // the season's decision has it
	Moves       []TransferMove `json:"moves"`
	Pairs       []TransferPair `json:"pairs"` // none for a young bird
	NetGain     *float64       `json:"net_gain"`
	NetGainFor  *string        `json:"net_gain_for"`        // the bird that it is for: less what its mate would do otherwise; null of a sum over several pairs
	LessMoves   *float64       `json:"net_gain_less_moves"` // what a move must be worth taken off for each pair that needs one
	BondsBroken [][2]string    `json:"bonds_broken"`
	Obstacles   []string       `json:"obstacles"`
}

// TransferAlternative is an option that comes second, what it would do, what would
// speak for it, and what speaks against it.
type TransferAlternative struct {
	TransferOption
	Effects OptionEffects `json:"effects"`
	For     string        `json:"for"`
	Why     string        `json:"why"`
}

// OptionEffects are the effects of an option on the programme and on every
// place that a bird leaves or a new pair lives in.
type OptionEffects struct {
	Programme TransferEffect            `json:"programme"`
	Places    map[string]TransferEffect `json:"places"`
}

// TransferMove is the journey of one bird.
type TransferMove struct {
	Bird           string   `json:"bird"`
	From           string   `json:"from"`
	To             string   `json:"to"`
	DistanceKM     *float64 `json:"distance_km"`
	QuarantineDays int      `json:"quarantine_days"`
	FreePlaces     *int     `json:"free_places"`
}

// TransferPair is a new pair.
type TransferPair struct {
	Female              string  `json:"female"`
	Male                string  `json:"male"`
	Location            string  `json:"location"`
	Verdict             string  `json:"verdict"`
	OffspringInbreeding float64 `json:"offspring_inbreeding"`
	GeneDiversityGain   float64 `json:"gene_diversity_gain"`
	ExpectedChicks      float64 `json:"expected_chicks"`
	Value               float64 `json:"value"`
	NetGain             float64 `json:"net_gain"`
	NetGainFor          string  `json:"net_gain_for"`
	AheadOf             float64 `json:"ahead_of"`
}

// TransferEffects are the effects on both ends of the first move, on the
// programme, and on any further place of a ring.
type TransferEffects struct {
	Sender    TransferEffect            `json:"sender"`
	Receiver  TransferEffect            `json:"receiver"`
	Programme TransferEffect            `json:"programme"`
	Further   map[string]TransferEffect `json:"further,omitempty"`
}

// TransferEffect is what a request does to a population.
type TransferEffect struct {
	Before      TransferMeasures `json:"before"`
	After       TransferMeasures `json:"after"`
	AfterSeason TransferMeasures `json:"after_season"`
}

// TransferMeasures are the figures of a population; those of the season are
// expectations. Numbers of birds by sex are null after the season.
type TransferMeasures struct {
	Size           float64  `json:"size"`
	GeneDiversity  *float64 `json:"gene_diversity"`
	MeanKinship    *float64 `json:"mean_kinship"`
	MeanInbreeding *float64 `json:"mean_inbreeding"`
	Females        *int     `json:"females"`
	Males          *int     `json:"males"`
	Unsexed        *int     `json:"unsexed"`
	MedianAge      *float64 `json:"median_age_years"`
}

// TransferTiming is when the bird of the first move may travel; further moves
// have their own.
type TransferTiming struct {
	Earliest *string          `json:"earliest"`
	Latest   *string          `json:"latest"`
	Season   *string          `json:"season_begins"`
	Avoid    []TransferSpan   `json:"avoid"`
	AnswerBy *string          `json:"answer_by,omitempty"` // of the whole request, with the first move alone
	Further  []TransferTiming `json:"further,omitempty"`
}

// TransferSpan is a run of days on which a bird must not travel, until further
// notice if Until is null.
type TransferSpan struct {
	From   string  `json:"from"`
	Until  *string `json:"until"`
	Reason string  `json:"reason"`
}

// TransferJSON returns the case as other programs read it.
func TransferJSON(p *pairing.Programme, c *transfer.Case) TransferAnswer {
	out := TransferAnswer{
		Bird: p.Book.Birds[c.Bird].ID, Needed: c.Needed, Reason: report.TransferReason(p, c),
		State: string(c.Standing.State), StateUntil: day(c.Standing.Until), LeastGain: c.LeastGain,
		AsOf: p.Book.AsOf.String(), Alternatives: []TransferAlternative{}, EarlierMoves: []EarlierMove{},
		Cautions: []string{}, NotKnown: []string{},
	}
	for _, a := range c.Alternatives {
		out.Alternatives = append(out.Alternatives, TransferAlternative{transferOption(p, a.Option), optionEffects(a.Effects), report.FavourText(p, &a), report.AlternativeText(p, &a)})
	}
	if c.Best == nil {
		return out
	}
	first := c.Best.Moves[0]
	proposal, timing := transferOption(p, c.Best), transferTiming(p, &c.Timing[0])
	out.From, out.To, out.Purpose = text(first.From), text(first.To), text(report.TransferPurpose(p, c))
	answer, _ := c.AnswerBy()
	timing.AnswerBy = day(answer)
	out.Proposal, out.NetGain, out.NetGainFor, out.Timing = &proposal, proposal.NetGain, proposal.NetGainFor, &timing
	if c.Mate >= 0 {
		out.Partner = text(p.Book.Birds[c.Mate].ID)
	}
	out.Effects = &TransferEffects{Sender: transferEffect(c.Sender()), Receiver: transferEffect(c.Receiver()), Programme: transferEffect(&c.Effects[len(c.Effects)-1])}
	out.Undoing = undoing(p, c.Or)
	if q := c.Request; q != nil {
		out.Request = &TransferRequest{q.To, text(q.Partner), text(q.AskedBy), text(q.Date.Text), text(q.Notes)}
	}
	if c.Waiting != nil {
		out.Waiting = text(report.WaitingText(p, c))
	}
	out.Cautions, out.NotKnown = report.Cautions(p, c), report.TransferReasons(p, c.Unknown)
	for k := range c.Effects {
		if e := &c.Effects[k]; !e.Programme() && e.At != first.From && e.At != first.To {
			out.Effects.Further = map[string]TransferEffect{e.At: transferEffect(e)}
		}
	}
	for k := range c.Timing[1:] {
		timing.Further = append(timing.Further, transferTiming(p, &c.Timing[k+1]))
	}
	for _, m := range c.Earlier {
		out.EarlierMoves = append(out.EarlierMoves, EarlierMove{m.ID, m.Date.Text, text(m.From), text(m.To), text(m.Reason)})
	}
	return out
}

func transferOption(p *pairing.Programme, o *transfer.Option) TransferOption {
	out := TransferOption{Kind: string(o.Way), Decided: o.Decided, Moves: []TransferMove{}, Pairs: []TransferPair{}, NetGain: known(o.NetGain, len(o.Pairs) > 0), LessMoves: known(o.LessMoves, len(o.Pairs) > 0),
		BondsBroken: [][2]string{}, Obstacles: report.TransferReasons(p, slices.Concat(o.NoSpace, o.Held))}
	for _, m := range o.Moves {
		out.Moves = append(out.Moves, TransferMove{p.Book.Birds[m.Bird].ID, m.From, m.To, known(m.Distance, m.Placed), m.Quarantine, known(m.Spaces, m.Spaces >= 0)})
	}
	for _, x := range o.Pairs {
		out.Pairs = append(out.Pairs, TransferPair{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID, x.At, string(x.Figures.Verdict),
			x.Figures.OffspringInbreeding, x.Figures.GeneDiversityGain, x.Figures.Chicks, x.Figures.Value, x.Figures.NetGain, p.Book.Birds[x.GainFor()].ID, x.Figures.AheadOf})
	}
	if len(o.Pairs) == 1 {
		out.NetGainFor = text(out.Pairs[0].NetGainFor)
	}
	for _, b := range o.Broken {
		out.BondsBroken = append(out.BondsBroken, [2]string{b.Female, b.Male})
	}
	return out
}

func optionEffects(effects []transfer.Effect) OptionEffects {
	out := OptionEffects{Places: map[string]TransferEffect{}}
	for k := range effects {
		if e := &effects[k]; e.Programme() {
			out.Programme = transferEffect(e)
		} else {
			out.Places[e.At] = transferEffect(e)
		}
	}
	return out
}

func transferEffect(e *transfer.Effect) TransferEffect {
	return TransferEffect{transferMeasures(e.Before, &e.MakeupBefore), transferMeasures(e.After, &e.MakeupAfter), transferMeasures(e.AfterSeason, nil)}
}

func transferMeasures(m transfer.Measures, who *transfer.Makeup) TransferMeasures {
	out := TransferMeasures{Size: m.Size, GeneDiversity: known(m.GeneDiversity, m.Known), MeanKinship: known(m.MeanKinship, m.Known), MeanInbreeding: known(m.MeanInbreeding, m.Known)}
	if who != nil {
		out.Females, out.Males, out.Unsexed, out.MedianAge = &who.Females, &who.Males, &who.Unsexed, who.MedianAge.Ptr()
	}
	return out
}

func transferTiming(p *pairing.Programme, t *pairing.Timing) TransferTiming {
	out := TransferTiming{Earliest: text(t.Earliest.String()), Latest: text(t.Latest.String()), Season: text(t.Season.String()), Avoid: []TransferSpan{}}
	for _, s := range t.Avoid {
		out.Avoid = append(out.Avoid, TransferSpan{s.From.String(), text(s.Until.String()), report.AvoidText(p, &s)})
	}
	return out
}

// Transfers is the answer of the transfer command with --list.
type Transfers struct {
	Colony *string          `json:"colony"` // null for the programme
	AsOf   string           `json:"as_of"`
	Moves  []TransferListed `json:"moves"` // to a mate, then those agreed on without one, then of young birds
	// MovesInAll and YoungInAll count those that --top leaves out too.
	MovesInAll int              `json:"moves_in_all"`
	YoungInAll int              `json:"young_in_all"`
	Swaps      []TransferOption `json:"swaps"` // and rings, among all the moves
	SwapsInAll int              `json:"swaps_in_all"`
	LeastGain  float64          `json:"least_gain"`
}

// TransferListed is a move of the season's decision: of one bird to its mate, with
// kind "agreed" one that people agreed on and that brings no pair together or, with
// kind "young", of a young bird to where it should be when it comes of age.
type TransferListed struct {
	Rank                int      `json:"rank"`
	Kind                string   `json:"kind"` // "mate", "agreed" or "young"
	Bird                string   `json:"bird"`
	Sex                 string   `json:"sex"`
	From                string   `json:"from"`
	To                  string   `json:"to"`
	Partner             *string  `json:"partner"`
	Earliest            *string  `json:"earliest"`
	Latest              *string  `json:"latest"`
	Verdict             *string  `json:"verdict"`
	OffspringInbreeding *float64 `json:"offspring_inbreeding"`
	ExpectedChicks      *float64 `json:"expected_chicks"`
	NetGain             *float64 `json:"net_gain"`
	NetGainFor          *string  `json:"net_gain_for"`
	AheadOf             *float64 `json:"ahead_of"`
	DistanceKM          *float64 `json:"distance_km"`
	FreePlaces          *int     `json:"free_places"`
	QuarantineDays      int      `json:"quarantine_days"`
	AgreeBy             *string  `json:"agree_by"` // by when to agree and apply for the permit; null where people have agreed
	Heed                *string  `json:"heed"`     // on what it depends; null where it is made in any case
	Undoing
}

// TransfersJSON returns the first moves and swaps of the list.
func TransfersJSON(p *pairing.Programme, l *transfer.List, top int) Transfers {
	out := Transfers{Colony: text(l.Colony), AsOf: p.Book.AsOf.String(), Moves: TransferRows(p, l, top), MovesInAll: len(l.Moves), YoungInAll: len(l.Young),
		Swaps: []TransferOption{}, SwapsInAll: len(l.Rings), LeastGain: l.LeastGain}
	for _, o := range l.Rings[:min(top, len(l.Rings))] {
		out.Swaps = append(out.Swaps, transferOption(p, o))
	}
	return out
}

// TransferRows returns the first moves of the list as rows, all that were agreed on,
// and the first of its young birds.
func TransferRows(p *pairing.Programme, l *transfer.List, top int) []TransferListed {
	out := []TransferListed{}
	for _, o := range slices.Concat(l.Moves[:min(top, len(l.Moves))], l.Sent, l.Young[:min(top, len(l.Young))]) {
		m := o.Moves[0]
		bird := &p.Book.Birds[m.Bird]
		row := TransferListed{
			Rank: len(out) + 1, Kind: "mate", Bird: bird.ID, Sex: bird.Sex.String(), From: m.From, To: m.To,
			Earliest: day(o.Timing.Earliest), Latest: day(o.Timing.Latest),
			DistanceKM: known(m.Distance, m.Placed), FreePlaces: known(m.Spaces, m.Spaces >= 0), QuarantineDays: m.Quarantine, AgreeBy: day(o.AgreeBy()), Heed: text(report.MoveHeed(p, &o)), Undoing: undoing(p, o.UndoneBy),
		}
		switch y := o.Young; {
		case y != nil:
			row.Kind = "young"
			if y.Mate >= 0 {
				row.Partner = text(p.Book.Birds[y.Mate].ID)
			}
		case len(o.Pairs) == 0:
			row.Kind = "agreed"
		default:
			x := &o.Pairs[0].Figures
			row.Partner, row.Verdict = text(p.Book.Birds[o.Pairs[0].Mate(m.Bird)].ID), text(string(x.Verdict))
			row.OffspringInbreeding, row.ExpectedChicks, row.NetGain, row.NetGainFor, row.AheadOf = &x.OffspringInbreeding, &x.Chicks, &x.NetGain, text(p.Book.Birds[o.Pairs[0].GainFor()].ID), &x.AheadOf
		}
		out = append(out, row)
	}
	return out
}
