package contract

import "pairwright/pedigree/studbook/exchange"

// Merge is what a newer export changes in a colony folder.
type Merge struct {
	Source    string          `json:"source"`
	New       []string        `json:"new"`
	Gone      []string        `json:"gone"`
	Part      bool            `json:"part"`
	Silent    []string        `json:"silent"`
	Changes   []MergeChange   `json:"changes"`
	Kept      []MergeChange   `json:"kept"`
	Conflicts []MergeConflict `json:"conflicts"`
	Findings  []CheckFinding  `json:"findings"`
	Written   []string        `json:"written"`
	Change    *int            `json:"change"`
}

// MergeChange is a cell that the newer export has otherwise.
type MergeChange struct {
	File   string  `json:"file"`
	Row    string  `json:"row"`
	Column *string `json:"column"`
	Was    string  `json:"was"`
	Now    string  `json:"now"`
}

// MergeConflict is a cell that changed on both sides.
type MergeConflict struct {
	File    string  `json:"file"`
	Row     string  `json:"row"`
	Column  *string `json:"column"`
	Was     string  `json:"was"`
	Ours    string  `json:"ours"`
	Theirs  string  `json:"theirs"`
	Settled *string `json:"settled"`
}

// MergeJSON returns a merge as other programs read it. change is the number of
// the change that was written, 0 if nothing was.
func MergeJSON(source string, m *exchange.Merged, change int) Merge {
	out := Merge{Source: source, New: []string{}, Gone: append([]string{}, m.Gone...), Part: m.Part, Silent: append([]string{}, m.Silent...), Changes: []MergeChange{}, Kept: []MergeChange{}, Conflicts: []MergeConflict{},
		Findings: findingRows(m.Findings), Written: []string{}, Change: known(change, change > 0)}
	for _, b := range m.New {
		out.New = append(out.New, b.ID)
	}
	for _, c := range m.Changes {
		out.Changes = append(out.Changes, MergeChange{c.File, c.Row, text(c.Column), c.Was, c.Now})
	}
	for _, c := range m.Kept {
		out.Kept = append(out.Kept, MergeChange{c.File, c.Row, text(c.Column), c.Was, c.Now})
	}
	for _, c := range m.Conflicts {
		out.Conflicts = append(out.Conflicts, MergeConflict{c.File, c.Row, text(c.Column), c.Was, c.Ours, c.Theirs, text(c.Settled)})
	}
	if change > 0 {
		for _, f := range m.Files {
			out.Written = append(out.Written, f.Name)
		}
	}
	return out
}
