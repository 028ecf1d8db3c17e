package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// Import is the account of an import.
type Import struct {
	Source    string           `json:"source"`
	Format    string           `json:"format"`
	Encoding  *string          `json:"encoding"`
	Sheets    []ImportSheet    `json:"sheets"`
	Rows      ImportRows       `json:"rows"`
	Columns   []ImportColumn   `json:"columns"`
	Dates     ImportDates      `json:"dates"`
	Parents   ImportParents    `json:"parents"`
	Fates     ImportFates      `json:"fates"`
	Totals    []ImportTotal    `json:"totals"`
	Decisions []ImportDecision `json:"decisions"`
	Figures   *ImportFigures   `json:"figures"`
	Findings  []CheckFinding   `json:"findings"`
	Mapping   string           `json:"mapping"`
	Written   []string         `json:"written"`
}

// ImportSheet is a sheet and what became of it.
type ImportSheet struct {
	Name string  `json:"name"`
	As   string  `json:"as"`
	Rows int     `json:"rows"`
	Took int     `json:"took"`
	Why  *string `json:"why"`
}

// ImportRows adds up: read is birds and joined and those left out.
type ImportRows struct {
	Read    int             `json:"read"`
	Birds   int             `json:"birds"`
	Joined  int             `json:"joined"`
	LeftOut []ImportLeftOut `json:"left_out"`
}

// ImportLeftOut is a row that became nothing.
type ImportLeftOut struct {
	Sheet  string `json:"sheet"`
	Line   int    `json:"line"`
	Reason string `json:"reason"`
}

// ImportColumn is a column of the file and what was made of it.
type ImportColumn struct {
	Theirs  string   `json:"theirs"`
	Ours    *string  `json:"ours"`
	Sheet   string   `json:"sheet"`
	How     string   `json:"how"`
	Read    []string `json:"read"`
	Written []string `json:"written"`
}

// ImportDates is the order of numeric dates and what proves it.
type ImportDates struct {
	Order *string `json:"order"`
	Proof *string `json:"proof"`
}

// ImportParents counts two parents for every bird.
type ImportParents struct {
	ByKind  ImportKinds `json:"by_kind"`
	Wild    []WordCount `json:"wild_words"`
	Unknown []WordCount `json:"unknown_words"`
	Rowless []WordCount `json:"without_row"`
}

// ImportKinds are the ways in which parents were found.
type ImportKinds struct {
	ByID                 int `json:"by_id"`
	ByIDWrittenOtherwise int `json:"by_id_written_otherwise"`
	ByBand               int `json:"by_band"`
	ByName               int `json:"by_name"`
	ByNest               int `json:"by_nest"`
	ByGroup              int `json:"by_group"`
	Possible             int `json:"possible"`
	Wild                 int `json:"wild"`
	Unknown              int `json:"unknown"`
	WithoutRow           int `json:"without_row"`
}

// WordCount is a word and how often it stood for a parent.
type WordCount struct {
	Word  string `json:"word"`
	Times int    `json:"times"`
}

// ImportFates counts the birds by what became of them.
type ImportFates struct {
	Living         int          `json:"living"`
	Died           int          `json:"died"`
	DiedUnknownDay int          `json:"died_unknown_day"`
	Left           int          `json:"left"`
	At             []ImportFate `json:"at"`
}

// ImportFate is the fates of the birds of one place and sex.
type ImportFate struct {
	Place          *string `json:"place"`
	Sex            string  `json:"sex"`
	Living         int     `json:"living"`
	Died           int     `json:"died"`
	DiedUnknownDay int     `json:"died_unknown_day"`
	Left           int     `json:"left"`
}

// ImportTotal is a total that the file gives itself.
type ImportTotal struct {
	Sheet   string `json:"sheet"`
	Line    int    `json:"line"`
	Text    string `json:"text"`
	Says    string `json:"says"`
	Counted string `json:"counted"`
	Agrees  bool   `json:"agrees"`
}

// ImportDecision is something that was taken without being certain or, where
// taken is null, must be decided first.
type ImportDecision struct {
	Code   string  `json:"code"`
	Sheet  *string `json:"sheet"`
	Line   *int    `json:"line"`
	Column *string `json:"column"`
	Value  string  `json:"value"`
	Taken  *string `json:"taken"`
	Flag   *string `json:"flag"`
	Text   string  `json:"text"`
	Share  float64 `json:"gene_pool_share"`
}

// ImportFigures are figures to check an import by.
type ImportFigures struct {
	AsOf         string       `json:"as_of"`
	Living       int          `json:"living"`
	Founders     int          `json:"founders"`
	Generations  float64      `json:"generations"`
	ParentsKnown float64      `json:"parents_known"`
	MeanF        float64      `json:"mean_inbreeding"`
	Closest      []ImportPair `json:"most_related"`
}

// ImportPair is two birds and their kinship.
type ImportPair struct {
	A       string  `json:"a"`
	B       string  `json:"b"`
	Kinship float64 `json:"kinship"`
}

// ImportJSON returns the account of an import as other programs read it. f is
// nil where it stopped; written are the files that were written.
func ImportJSON(r *exchange.Report, f *exchange.Figures, written []string) Import {
	out := Import{
		Source: r.Source, Format: r.Format, Encoding: text(r.Encoding),
		Sheets: []ImportSheet{}, Columns: []ImportColumn{}, Totals: []ImportTotal{}, Decisions: []ImportDecision{}, Findings: findingRows(r.Findings),
		Rows:  ImportRows{Read: r.RowsRead, Birds: r.Birds, Joined: r.Joined, LeftOut: []ImportLeftOut{}},
		Dates: ImportDates{text(r.DateOrder), text(r.DateProof)},
		Parents: ImportParents{
			ByKind: ImportKinds{
				ByID: r.Parents.ByID, ByIDWrittenOtherwise: r.Parents.ByIDWrittenOtherwise, ByBand: r.Parents.ByBand, ByName: r.Parents.ByName,
				ByNest: r.Parents.ByNest, ByGroup: r.Parents.ByGroup, Possible: r.Parents.Possible, Wild: r.Parents.Wild,
				Unknown: r.Parents.Unknown, WithoutRow: r.Parents.WithoutRow,
			},
			Wild: wordCounts(r.Parents.WildWords), Unknown: wordCounts(r.Parents.UnknownWords), Rowless: wordCounts(r.Parents.Rowless),
		},
		Fates:   ImportFates{Living: r.Fates.Living, Died: r.Fates.Died, DiedUnknownDay: r.Fates.DiedUnknownDay, Left: r.Fates.Left, At: []ImportFate{}},
		Mapping: r.Mapping, Written: append([]string{}, written...),
	}
	for _, s := range r.Sheets {
		out.Sheets = append(out.Sheets, ImportSheet{s.Name, s.As, s.Rows, s.Took, text(s.Why)})
	}
	for _, l := range r.LeftOut {
		out.Rows.LeftOut = append(out.Rows.LeftOut, ImportLeftOut(l))
	}
	for _, c := range r.Columns {
		out.Columns = append(out.Columns, ImportColumn{c.Theirs, text(c.Ours), c.Sheet, c.How, append([]string{}, c.Cells...), append([]string{}, c.Taken...)})
	}
	for _, a := range r.FatesAt {
		out.Fates.At = append(out.Fates.At, ImportFate{text(a.Place), a.Sex.String(), a.Living, a.Died, a.DiedUnknownDay, a.Left})
	}
	for _, t := range r.Totals {
		out.Totals = append(out.Totals, ImportTotal(t))
	}
	for _, d := range r.Stops {
		out.Decisions = append(out.Decisions, importDecision(d))
	}
	for _, d := range r.Decisions {
		out.Decisions = append(out.Decisions, importDecision(d))
	}
	if f != nil {
		out.Figures = &ImportFigures{f.AsOf.String(), f.Living, f.Founders, f.Generations, f.ParentsKnown, f.MeanF, []ImportPair{}}
		for _, p := range f.Closest {
			out.Figures.Closest = append(out.Figures.Closest, ImportPair(p))
		}
	}
	return out
}

func importDecision(d exchange.Decision) ImportDecision {
	return ImportDecision{d.Code, text(d.Sheet), known(d.Line, d.Line > 0), text(d.Column), d.Value, text(d.Taken), text(report.ImportFlag(&d)), d.Text, d.Share}
}

func wordCounts(in []exchange.Counted) []WordCount {
	out := []WordCount{}
	for _, c := range in {
		out = append(out, WordCount(c))
	}
	return out
}

func findingRows(in []studbook.Finding) []CheckFinding {
	return CheckJSON(in, nil, nil).Findings
}
