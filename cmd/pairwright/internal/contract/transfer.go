package contract

import (
	"slices"

	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
)

// TransferAnswer is the answer of the transfer command for one bird. Bird is
// the one asked about and Partner its intended mate; Moves say which birds
// travel, and From and To are the ends of the first move.
type TransferAnswer struct {
	Bird         string                `json:"bird"`
	From         string                `json:"from"`
	To           string                `json:"to"`
	Purpose      string                `json:"purpose"`
	Partner      string                `json:"partner"`
	AsOf         string                `json:"as_of"`
	Proposal     TransferOption        `json:"proposal"`
	Effects      TransferEffects       `json:"effects"`
	Alternatives []TransferAlternative `json:"alternatives"`
	Timing       TransferTiming        `json:"timing"`
	EarlierMoves []EarlierMove         `json:"earlier_moves"` // of the birds of the proposal
	Cautions     []string              `json:"cautions"`
	NotKnown     []string              `json:"not_known"`
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
	Kind         string         `json:"kind"`
	Moves        []TransferMove `json:"moves"`
	Pairs        []TransferPair `json:"pairs"`
	ExpectedGain float64        `json:"expected_gain"`
	GainPerMove  float64        `json:"gain_per_move"`
	BondsBroken  [][2]string    `json:"bonds_broken"`
	Obstacles    []string       `json:"obstacles"`
}

// TransferAlternative is an option that comes second, what it would do, and
// why it comes second.
type TransferAlternative struct {
	TransferOption
	Effects OptionEffects `json:"effects"`
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
	ExpectedGain        float64 `json:"expected_gain"`
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
	first := c.Best.Moves[0]
	out := TransferAnswer{
		Bird: p.Book.Birds[c.Bird].ID, From: first.From, To: first.To, Purpose: report.TransferPurpose(p, c), Partner: p.Book.Birds[c.Mate].ID,
		AsOf: p.Book.AsOf.String(), Proposal: transferOption(p, c.Best), Alternatives: []TransferAlternative{}, EarlierMoves: []EarlierMove{},
		Effects:  TransferEffects{Sender: transferEffect(c.Sender()), Receiver: transferEffect(c.Receiver()), Programme: transferEffect(&c.Effects[len(c.Effects)-1])},
		Timing:   transferTiming(p, &c.Timing[0]),
		Cautions: report.Cautions(p, c), NotKnown: report.TransferReasons(p, c.Unknown),
	}
	for k := range c.Effects {
		if e := &c.Effects[k]; !e.Programme() && e.At != first.From && e.At != first.To {
			out.Effects.Further = map[string]TransferEffect{e.At: transferEffect(e)}
		}
	}
	for k := range c.Timing[1:] {
		out.Timing.Further = append(out.Timing.Further, transferTiming(p, &c.Timing[k+1]))
	}
	for _, m := range c.Earlier {
		out.EarlierMoves = append(out.EarlierMoves, EarlierMove{m.ID, m.Date.Text, text(m.From), text(m.To), text(m.Reason)})
	}
	for _, a := range c.Alternatives {
		out.Alternatives = append(out.Alternatives, TransferAlternative{transferOption(p, a.Option), optionEffects(a.Effects), report.AlternativeText(p, &a)})
	}
	return out
}

func transferOption(p *pairing.Programme, o *transfer.Option) TransferOption {
	out := TransferOption{Kind: string(o.Way), Moves: []TransferMove{}, Pairs: []TransferPair{}, ExpectedGain: o.ExpectedGain, GainPerMove: o.GainPerMove,
		BondsBroken: [][2]string{}, Obstacles: report.TransferReasons(p, slices.Concat(o.NoSpace, o.Held))}
	for _, m := range o.Moves {
		out.Moves = append(out.Moves, TransferMove{p.Book.Birds[m.Bird].ID, m.From, m.To, known(m.Distance, m.Placed), m.Quarantine, known(m.Spaces, m.Spaces >= 0)})
	}
	for _, x := range o.Pairs {
		out.Pairs = append(out.Pairs, TransferPair{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID, x.At, string(x.Figures.Verdict),
			x.Figures.OffspringInbreeding, x.Figures.GeneDiversityGain, x.Figures.ExpectedChicks, x.Figures.ExpectedGain})
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
		out.Females, out.Males, out.Unsexed, out.MedianAge = &who.Females, &who.Males, &who.Unsexed, known(who.MedianAge, who.AgeKnown)
	}
	return out
}

func transferTiming(p *pairing.Programme, t *transfer.Timing) TransferTiming {
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
	Moves  []TransferListed `json:"moves"`
	// MovesInAll counts those that --top leaves out too.
	MovesInAll int              `json:"moves_in_all"`
	NoPlace    int              `json:"useful_pairs_without_a_free_place"`
	Swaps      []TransferOption `json:"swaps"`
	SwapsInAll int              `json:"swaps_in_all"`
}

// TransferListed is a useful move of one bird to one mate. Together is false
// if one of its birds or places is taken by a move above it.
type TransferListed struct {
	Rank                int      `json:"rank"`
	Bird                string   `json:"bird"`
	Sex                 string   `json:"sex"`
	From                string   `json:"from"`
	To                  string   `json:"to"`
	Partner             string   `json:"partner"`
	Verdict             string   `json:"verdict"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	ExpectedChicks      float64  `json:"expected_chicks"`
	ExpectedGain        float64  `json:"expected_gain"`
	DistanceKM          *float64 `json:"distance_km"`
	FreePlaces          *int     `json:"free_places"`
	QuarantineDays      int      `json:"quarantine_days"`
	Together            bool     `json:"together"`
}

// TransfersJSON returns the first moves and swaps of the list.
func TransfersJSON(p *pairing.Programme, l *transfer.List, top int) Transfers {
	out := Transfers{Colony: text(l.Colony), AsOf: p.Book.AsOf.String(), Moves: TransferRows(p, l, top), MovesInAll: len(l.Singles), NoPlace: l.Full, Swaps: []TransferOption{}, SwapsInAll: len(l.Swaps)}
	for _, o := range l.Swaps[:min(top, len(l.Swaps))] {
		out.Swaps = append(out.Swaps, transferOption(p, o))
	}
	return out
}

// TransferRows returns the first moves of the list as rows.
func TransferRows(p *pairing.Programme, l *transfer.List, top int) []TransferListed {
	out := []TransferListed{}
	for k, o := range l.Singles[:min(top, len(l.Singles))] {
		m, x := o.Moves[0], o.Pairs[0]
		bird := &p.Book.Birds[m.Bird]
		out = append(out, TransferListed{
			Rank: k + 1, Bird: bird.ID, Sex: bird.Sex.String(), From: m.From, To: m.To, Partner: p.Book.Birds[report.Partner(x, m.Bird)].ID,
			Verdict: string(x.Figures.Verdict), OffspringInbreeding: x.Figures.OffspringInbreeding, ExpectedChicks: x.Figures.ExpectedChicks, ExpectedGain: o.ExpectedGain,
			DistanceKM: known(m.Distance, m.Placed), FreePlaces: known(m.Spaces, m.Spaces >= 0), QuarantineDays: m.Quarantine, Together: o.Together,
		})
	}
	return out
}
