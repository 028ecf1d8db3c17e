package contract

import (
	"strconv"
	"strings"

	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// The structs of this file, and of bird.go, plan.go, transfer.go and review.go, are what other programs read: the keys and their order are a
// contract. Fractions are plain numbers, never percent; what is
// absent is null, never 0.

// known returns v, or nothing if it is not known.
func known[T any](v T, ok bool) *T {
	if !ok {
		return nil
	}
	return &v
}

func text(s string) *string { return known(s, s != "") }

// BirdRow is a bird of the birds command.
type BirdRow struct {
	ID               string   `json:"id"`
	Name             *string  `json:"name"`
	Sex              string   `json:"sex"`
	AgeYears         *float64 `json:"age_years"`
	Location         *string  `json:"location"`
	Mate             *string  `json:"mate"`
	State            string   `json:"state"`
	StateUntil       *string  `json:"state_until"`
	Worth            *float64 `json:"worth"` // to the future, in chicks just hatched
	Inbreeding       float64  `json:"inbreeding"`
	MeanKinship      *float64 `json:"mean_kinship"`
	MKRank           *int     `json:"mk_rank"`
	GenomeUniqueness *float64 `json:"genome_uniqueness"`
	KnownAncestry    float64  `json:"known_ancestry"`
	Alive            bool     `json:"alive"`
	Holds            []string `json:"holds"`
}

// uniquenessSE returns the standard error of a bird's genome uniqueness, which the dead
// have not.
func uniquenessSE(r *pairing.Row) *float64 { return known(r.Uniqueness.StandardError, r.Alive) }

// BirdRows returns the rows as other programs read them.
func BirdRows(p *pairing.Programme, rows []pairing.Row) []BirdRow {
	out := make([]BirdRow, len(rows))
	for k := range rows {
		out[k] = birdRow(p, &rows[k])
	}
	return out
}

func birdRow(p *pairing.Programme, r *pairing.Row) BirdRow {
	bird := &p.Book.Birds[r.Bird]
	return BirdRow{
		ID:               bird.ID,
		Name:             text(bird.Name),
		Sex:              bird.Sex.String(),
		AgeYears:         known(r.Age, r.AgeKnown),
		Location:         text(bird.Location),
		Mate:             text(strings.Join(report.BirdIDs(p, r.Mates), "; ")),
		State:            string(p.State(r.Bird).State),
		StateUntil:       day(p.State(r.Bird).Until),
		Worth:            known(p.Worth(r.Bird), r.Alive),
		Inbreeding:       r.Inbreeding,
		MeanKinship:      known(r.MeanKinship, r.Alive),
		MKRank:           known(r.Rank, r.Alive),
		GenomeUniqueness: known(r.Uniqueness.Value, r.Alive),
		KnownAncestry:    r.KnownAncestry,
		Alive:            r.Alive,
		Holds:            report.HoldReasons(r.Holds),
	}
}

// Kin is the answer of the kin command.
type Kin struct {
	A                   string        `json:"a"`
	B                   string        `json:"b"`
	Kinship             float64       `json:"kinship"`
	OffspringInbreeding *float64      `json:"offspring_inbreeding"`
	KinshipSharing      *float64      `json:"kinship_sharing"` // if the two, of one clutch, share an uncertain parent; null where they have none in question
	Ancestors           []KinAncestor `json:"ancestors"`
	OtherAncestors      float64       `json:"other_ancestors"` // what comes through those that are not listed
	IfPaired            *IfPaired     `json:"if_paired"`       // null for birds that can be no pair
}

// KinAncestor is a common ancestor's part in a kinship. Of two founders known
// to be related the id and name have both, joined by " & ".
type KinAncestor struct {
	ID           string    `json:"id"`
	Name         *string   `json:"name"`
	Inbreeding   *float64  `json:"inbreeding"`
	Contribution float64   `json:"contribution"`
	Paths        []KinPath `json:"paths"`
	PathsLeftOut int       `json:"paths_left_out"`
}

// KinPath is a path from a up to the ancestor and down to b.
type KinPath struct {
	Path         []string `json:"path"`
	Contribution float64  `json:"contribution"`
}

// String writes the path as "a-b-c (0.125)", for a cell of a table.
func (k KinPath) String() string {
	return strings.Join(k.Path, "-") + " (" + strconv.FormatFloat(k.Contribution, 'f', -1, 64) + ")"
}

// KinJSON returns why two birds are kin.
func KinJSON(p *pairing.Programme, k *pairing.Kin, together *pairing.Together) Kin {
	out := Kin{
		A: p.Book.Birds[k.A].ID, B: p.Book.Birds[k.B].ID, Kinship: k.Kinship,
		OffspringInbreeding: known(k.Kinship, k.A != k.B), Ancestors: []KinAncestor{}, KinshipSharing: known(k.Sharing, k.Shared), OtherAncestors: k.Others, IfPaired: togetherJSON(p, together),
	}
	for _, m := range k.Meetings {
		id, name := report.MeetingID(p, m)
		a := KinAncestor{
			ID: id, Name: text(name), Contribution: m.Contribution,
			Inbreeding: known(p.Pedigree.F(m.Ancestor), m.With == m.Ancestor),
			Paths:      []KinPath{}, PathsLeftOut: m.PathsLeftOut,
		}
		for _, path := range m.Paths {
			a.Paths = append(a.Paths, KinPath{report.PathIDs(p, path), path.Contribution})
		}
		out.Ancestors = append(out.Ancestors, a)
	}
	return out
}

// Mates is the answer of the mates command for one bird.
type Mates struct {
	Bird       string          `json:"bird"`
	AsOf       string          `json:"as_of"`
	State      string          `json:"state"`
	StateUntil *string         `json:"state_until"`
	Decision   MatesDecision   `json:"decision"`
	Population MatesPopulation `json:"population"`
	Candidates []MateCandidate `json:"candidates"`
	// CandidatesInAll counts those that --top leaves out too.
	CandidatesInAll int            `json:"candidates_in_all"`
	RuledOut        []MateExcluded `json:"ruled_out"`
}

// MatesDecision is what the season's decision has for a bird.
type MatesDecision struct {
	Mate *string `json:"mate"` // null if it is to be alone
	Text string  `json:"text"`
	Undoing
}

// MatesPopulation is the programme that the figures refer to.
type MatesPopulation struct {
	Size                         int      `json:"size"`
	GeneDiversity                *float64 `json:"gene_diversity"`
	GeneDiversityWithoutFounders *float64 `json:"gene_diversity_without_founders"`
	EligiblePairs                int      `json:"eligible_pairs"`
}

// MateCandidate is one ranked mate.
type MateCandidate struct {
	Rank                  int      `json:"rank"`
	ID                    string   `json:"id"`
	Name                  *string  `json:"name"`
	Sex                   string   `json:"sex"`
	Location              *string  `json:"location"`
	Verdict               string   `json:"verdict"`
	OffspringInbreeding   float64  `json:"offspring_inbreeding"`
	KinInWords            string   `json:"kin_in_words"`
	MeanKinship           float64  `json:"mean_kinship"`
	MeanKinshipDifference float64  `json:"mean_kinship_difference"`
	GeneDiversityGain     float64  `json:"gene_diversity_gain"`
	Advantage             *float64 `json:"advantage"`
	ExpectedChicks        float64  `json:"expected_chicks"`       // in the coming season
	ExpectedChicksAhead   float64  `json:"expected_chicks_ahead"` // in all seasons that value counts
	Prices                float64  `json:"prices"`                // of the bond and of a move, with what a move must gain: value is expected_chicks_ahead × advantage − prices
	Value                 float64  `json:"value"`
	NetGain               float64  `json:"net_gain"`
	AheadOf               float64  `json:"ahead_of"`
	Otherwise             *string  `json:"otherwise"`
	RankConfidence        float64  `json:"rank_confidence"`   // share of possible pedigrees in which it is the best
	AmongFirstThree       float64  `json:"among_first_three"` // and in which it is one of the first three
	BondedTo              *string  `json:"bonded_to"`
	DistanceKM            *float64 `json:"distance_km"`
	NeedsTransfer         bool     `json:"needs_transfer"`
	AgeYears              *float64 `json:"age_years"`
	KnownAncestry         float64  `json:"known_ancestry"`
	Reasons               []string `json:"reasons"`
}

// MateExcluded is a bird that is ruled out, with every reason.
type MateExcluded struct {
	ID      string           `json:"id"`
	Reasons []ExcludedReason `json:"reasons"`
}

// ExcludedReason is why a bird is ruled out.
type ExcludedReason struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// MatesJSON returns the ranking with at most top candidates, and the free birds at
// home.
func MatesJSON(p *pairing.Programme, r *pairing.Ranking, top int) Mates {
	gd, ok := p.Living.GeneDiversity()
	without, okWithout := p.WithoutFounders().GeneDiversity()
	out := Mates{
		Bird: p.Book.Birds[r.Bird].ID, AsOf: p.Book.AsOf.String(), State: string(r.Standing.State), StateUntil: day(r.Standing.Until),
		Decision: decisionAnswer(p, r),
		Population: MatesPopulation{
			Size: p.Living.Size(), GeneDiversity: known(gd, ok), GeneDiversityWithoutFounders: known(without, okWithout), EligiblePairs: r.EligiblePairs,
		},
		Candidates: Candidates(p, r, top), CandidatesInAll: len(r.Candidates),
		RuledOut: []MateExcluded{},
	}
	for x := range p.AllRuledOut(r) {
		e := MateExcluded{ID: p.Book.Birds[x.Bird].ID}
		for _, reason := range x.Reasons {
			e.Reasons = append(e.Reasons, ExcludedReason{string(reason.Code), report.ReasonText(p, &reason)})
		}
		out.RuledOut = append(out.RuledOut, e)
	}
	return out
}

func decisionAnswer(p *pairing.Programme, r *pairing.Ranking) MatesDecision {
	out := MatesDecision{Text: report.DecisionText(p, r)}
	if x := r.Bond; x != nil {
		out.Mate = text(p.Book.Birds[x.Mate(r.Bird)].ID)
		out.Undoing = undoing(p, x.UndoneBy)
	}
	return out
}

// Candidates returns the first candidates of a ranking, and the free birds at home.
func Candidates(p *pairing.Programme, r *pairing.Ranking, top int) []MateCandidate {
	out := []MateCandidate{}
	for _, c := range r.Shown(top) {
		mate := &p.Book.Birds[c.Bird]
		x := MateCandidate{
			Rank: c.Rank, ID: mate.ID, Name: text(mate.Name), Sex: mate.Sex.String(), Location: text(mate.Location),
			Verdict: string(c.Verdict), OffspringInbreeding: c.OffspringInbreeding, KinInWords: report.KinWords(c.Kin),
			MeanKinship: c.MeanKinship, MeanKinshipDifference: c.MeanKinshipDifference,
			GeneDiversityGain: c.GeneDiversityGain, Advantage: known(c.Advantage, !r.AllAlike),
			ExpectedChicks: c.Chicks, ExpectedChicksAhead: c.ChicksAhead, Prices: c.ChicksAhead*c.Advantage - c.Value, Value: c.Value, NetGain: c.NetGain, AheadOf: c.AheadOf,
			RankConfidence: c.BestIn, AmongFirstThree: c.AmongFirstIn, BondedTo: text(c.BondedTo),
			DistanceKM: known(c.Distance, c.Placed), NeedsTransfer: c.NeedsTransfer,
			AgeYears: known(c.Age, c.AgeKnown), KnownAncestry: c.KnownAncestry, Reasons: report.Reasons(p, c.Reasons),
		}
		if c.Otherwise >= 0 {
			x.Otherwise = text(p.Book.Birds[c.Otherwise].ID)
		}
		out = append(out, x)
	}
	return out
}

// BestMates is the answer for one free bird of the mates command without an id.
type BestMates struct {
	Bird     string          `json:"bird"`
	State    string          `json:"state"`
	Decision MatesDecision   `json:"decision"`
	Best     []MateCandidate `json:"best"`
	Note     *string         `json:"note"`
}

// BestMatesJSON returns the best mates of every free bird.
func BestMatesJSON(p *pairing.Programme, rankings []*pairing.Ranking, top int) []BestMates {
	out := []BestMates{}
	for _, r := range rankings {
		best := Candidates(p, r, top)
		out = append(out, BestMates{
			Bird: p.Book.Birds[r.Bird].ID, State: string(r.Standing.State), Decision: decisionAnswer(p, r),
			Best: best[:min(top, len(best))], Note: text(report.DecisionText(p, r)),
		})
	}
	return out
}

// Check is the answer of the check command.
type Check struct {
	Findings []CheckFinding `json:"findings"`
	Gaps     []CheckGap     `json:"gaps"`
}

// CheckFinding is one fault of the files.
type CheckFinding struct {
	Severity string  `json:"severity"`
	File     string  `json:"file"`
	Line     *int    `json:"line"`
	Column   *string `json:"column"`
	Value    *string `json:"value"`
	Code     string  `json:"code"`
	Message  string  `json:"message"`
	Help     *string `json:"help"`
}

// CheckGap is a parent that is not known for certain.
type CheckGap struct {
	ID            string  `json:"id"`
	Parent        string  `json:"parent"` // "sire" or "dam"
	GenePoolShare float64 `json:"gene_pool_share"`
	// Candidates are the birds that the studbook names, then others that could have been
	// the parent, by id: the first mostCandidates of those.
	Candidates        []string `json:"candidates"`
	CandidatesLeftOut int      `json:"candidates_left_out"`
	// ByDNA is who the parent is by the genotypes, null where they do not tell.
	ByDNA *string `json:"by_dna"`
}

// mostCandidates bounds how many birds that the studbook does not name are listed for a gap:
// in a large place hundreds of birds could be each parent of thousands.
const mostCandidates = 50

// CheckJSON returns findings and gaps; p is nil where the findings stopped the
// computation.
func CheckJSON(findings []studbook.Finding, p *pairing.Programme, gaps []pairing.Gap) Check {
	out := Check{Findings: []CheckFinding{}, Gaps: []CheckGap{}}
	for _, f := range findings {
		out.Findings = append(out.Findings, CheckFinding{
			Severity: f.Severity.String(), File: f.File, Line: known(f.Line, f.Line > 0),
			Column: text(f.Column), Value: text(f.Value), Code: f.Code, Message: f.Message, Help: text(f.Help),
		})
	}
	for _, g := range gaps {
		others, more := p.Others(&g, mostCandidates)
		var byDNA *string
		if parent, found := g.DNA.Found(); found {
			byDNA = &p.Book.Birds[parent].ID
		}
		out.Gaps = append(out.Gaps, CheckGap{
			ID: p.Book.Birds[g.Bird].ID, Parent: report.ParentWord(g.Sex), GenePoolShare: g.Share,
			Candidates: append(append([]string{}, g.Named...), others...), CandidatesLeftOut: more, ByDNA: byDNA,
		})
	}
	return out
}

// BestMate is one of the best mates of a free bird, as a row.
type BestMate struct {
	Bird                string  `json:"bird"`
	Rank                int     `json:"rank"`
	ID                  string  `json:"id"`
	Location            *string `json:"location"`
	Verdict             string  `json:"verdict"`
	OffspringInbreeding float64 `json:"offspring_inbreeding"`
	NetGain             float64 `json:"net_gain"`
	AheadOf             float64 `json:"ahead_of"`
	NeedsTransfer       bool    `json:"needs_transfer"`
}

// BestMatesRecords returns the best mates as rows.
func BestMatesRecords(all []BestMates) []BestMate {
	rows := []BestMate{}
	for _, b := range all {
		for _, c := range b.Best {
			rows = append(rows, BestMate{b.Bird, c.Rank, c.ID, c.Location, c.Verdict, c.OffspringInbreeding, c.NetGain, c.AheadOf, c.NeedsTransfer})
		}
	}
	return rows
}
