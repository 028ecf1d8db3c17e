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
	Inbreeding       float64  `json:"inbreeding"`
	MeanKinship      *float64 `json:"mean_kinship"`
	MKRank           *int     `json:"mk_rank"`
	GenomeUniqueness *float64 `json:"genome_uniqueness"`
	KnownAncestry    float64  `json:"known_ancestry"`
	Alive            bool     `json:"alive"`
	Holds            []string `json:"holds"`
}

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
	Ancestors           []KinAncestor `json:"ancestors"`
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
func KinJSON(p *pairing.Programme, k *pairing.Kin) Kin {
	out := Kin{
		A: p.Book.Birds[k.A].ID, B: p.Book.Birds[k.B].ID, Kinship: k.Kinship,
		OffspringInbreeding: known(k.Kinship, k.A != k.B), Ancestors: []KinAncestor{},
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
	Population MatesPopulation `json:"population"`
	Candidates []MateCandidate `json:"candidates"`
	// CandidatesInAll counts those that --top leaves out too.
	CandidatesInAll int            `json:"candidates_in_all"`
	RuledOut        []MateExcluded `json:"ruled_out"`
	Notes           []string       `json:"notes"`
}

// MatesPopulation is the programme that the figures refer to.
type MatesPopulation struct {
	Size                         int      `json:"size"`
	GeneDiversity                *float64 `json:"gene_diversity"`
	GeneDiversityWithoutFounders *float64 `json:"gene_diversity_without_founders"`
	EligiblePairs                int      `json:"eligible_pairs"`
	AverageGain                  *float64 `json:"average_gain"`
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
	MeanKinship           float64  `json:"mean_kinship"`
	MeanKinshipDifference float64  `json:"mean_kinship_difference"`
	GeneDiversityGain     float64  `json:"gene_diversity_gain"`
	Advantage             *float64 `json:"advantage"`
	SuccessChance         float64  `json:"success_chance"`
	SurvivalUnderF        float64  `json:"survival_under_inbreeding"`
	ExpectedChicks        float64  `json:"expected_chicks"`
	ExpectedGain          *float64 `json:"expected_gain"`
	KinInWords            string   `json:"kin_in_words"`      // what it is to the bird; blank where reasons are left out
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

// MatesJSON returns the ranking with at most top candidates.
func MatesJSON(p *pairing.Programme, r *pairing.Ranking, top int) Mates {
	gd, ok := p.Living.GeneDiversity()
	without, okWithout := p.WithoutFounders().GeneDiversity()
	out := Mates{
		Bird: p.Book.Birds[r.Bird].ID, AsOf: p.Book.AsOf.String(),
		Population: MatesPopulation{
			Size: p.Living.Size(), GeneDiversity: known(gd, ok), GeneDiversityWithoutFounders: known(without, okWithout),
			EligiblePairs: r.EligiblePairs, AverageGain: known(r.AverageGain, r.EligiblePairs > 0),
		},
		Candidates: Candidates(p, r, top), CandidatesInAll: len(r.Candidates),
		RuledOut: []MateExcluded{}, Notes: report.RankingNotes(p, r),
	}
	for _, x := range r.RuledOut {
		e := MateExcluded{ID: p.Book.Birds[x.Bird].ID}
		for _, reason := range x.Reasons {
			e.Reasons = append(e.Reasons, ExcludedReason{string(reason.Code), report.ReasonText(p, &reason)})
		}
		out.RuledOut = append(out.RuledOut, e)
	}
	return out
}

// Candidates returns the first candidates of a ranking.
func Candidates(p *pairing.Programme, r *pairing.Ranking, top int) []MateCandidate {
	out := []MateCandidate{}
	for k := range r.Candidates[:min(top, len(r.Candidates))] {
		c := &r.Candidates[k]
		mate := &p.Book.Birds[c.Bird]
		out = append(out, MateCandidate{
			Rank: c.Rank, ID: mate.ID, Name: text(mate.Name), Sex: mate.Sex.String(), Location: text(mate.Location),
			Verdict: string(c.Verdict), OffspringInbreeding: c.OffspringInbreeding,
			MeanKinship: c.MeanKinship, MeanKinshipDifference: c.MeanKinshipDifference,
			GeneDiversityGain: c.GeneDiversityGain, Advantage: known(c.Advantage, r.Compared),
			SuccessChance: c.Success.Chance, SurvivalUnderF: c.SurvivalUnderInbreeding,
			ExpectedChicks: c.ExpectedChicks, ExpectedGain: known(c.ExpectedGain, r.Compared),
			KinInWords: kinInWords(c.Kin), RankConfidence: c.BestIn, AmongFirstThree: c.AmongFirstIn, BondedTo: text(c.BondedTo),
			DistanceKM: known(c.Distance, c.Placed), NeedsTransfer: c.NeedsTransfer,
			AgeYears: known(c.Age, c.AgeKnown), KnownAncestry: c.KnownAncestry, Reasons: report.Reasons(p, c.Reasons),
		})
	}
	return out
}

func kinInWords(k pairing.KinInWords) string {
	if k.Code == "" {
		return ""
	}
	return report.KinWords(k)
}

// BestMates is the answer for one unpaired bird of the mates command without
// an id.
type BestMates struct {
	Bird string          `json:"bird"`
	Best []MateCandidate `json:"best"`
	Note *string         `json:"note"`
}

// BestMatesJSON returns the best mates of every unpaired bird.
func BestMatesJSON(p *pairing.Programme, rankings []*pairing.Ranking, top int) []BestMates {
	out := []BestMates{}
	for _, r := range rankings {
		out = append(out, BestMates{p.Book.Birds[r.Bird].ID, Candidates(p, r, top), text(report.RankingSummary(p, r))})
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
	ID            string   `json:"id"`
	Parent        string   `json:"parent"` // "sire" or "dam"
	GenePoolShare float64  `json:"gene_pool_share"`
	Candidates    []string `json:"candidates"`
}

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
		out.Gaps = append(out.Gaps, CheckGap{
			ID: p.Book.Birds[g.Bird].ID, Parent: report.ParentWord(g.Sex), GenePoolShare: g.Share, Candidates: append([]string{}, report.ParentCandidates(&g)...),
		})
	}
	return out
}

// BestMate is one of the best mates of an unpaired bird, as a row.
type BestMate struct {
	Bird                string   `json:"bird"`
	Rank                int      `json:"rank"`
	ID                  string   `json:"id"`
	Location            *string  `json:"location"`
	Verdict             string   `json:"verdict"`
	OffspringInbreeding float64  `json:"offspring_inbreeding"`
	Advantage           *float64 `json:"advantage"`
	ExpectedGain        *float64 `json:"expected_gain"`
	NeedsTransfer       bool     `json:"needs_transfer"`
}

// BestMatesRecords returns the best mates as rows.
func BestMatesRecords(all []BestMates) []BestMate {
	rows := []BestMate{}
	for _, b := range all {
		for _, c := range b.Best {
			rows = append(rows, BestMate{b.Bird, c.Rank, c.ID, c.Location, c.Verdict, c.OffspringInbreeding, c.Advantage, c.ExpectedGain, c.NeedsTransfer})
		}
	}
	return rows
}
