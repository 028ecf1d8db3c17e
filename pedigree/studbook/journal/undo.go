package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"pairwright/pedigree/studbook"
)

// Changes returns the last changes, the newest first; at most as many as are
// kept.
func (f *Folder) Changes() ([]Entry, error) { return entries(View(os.DirFS(f.dir))) }

func entries(fsys fs.FS) ([]Entry, error) {
	numbers, err := accounts(fsys)
	if err != nil {
		return nil, err
	}
	var all []Entry
	undone := make(map[int]bool)
	for _, n := range slices.Backward(numbers) {
		raw, err := fs.ReadFile(fsys, fmt.Sprintf("%s/%04d.json", Earlier, n))
		if errors.Is(err, fs.ErrNotExist) { // forgotten meanwhile
			continue
		}
		if err != nil {
			return nil, err
		}
		var e Entry
		if err := json.Unmarshal(raw, &e); err != nil {
			return nil, fmt.Errorf("%s/%04d.json cannot be read: %w", Earlier, n, err)
		}
		if e.Undoes != 0 {
			undone[e.Undoes] = true
		}
		e.Undone = undone[n]
		all = append(all, e)
	}
	return all, nil
}

// takeBack makes of p the proposal that takes back the last change that stands.
// A file that is still as the change left it becomes what it was, byte for byte;
// in one that was changed since, the rows are put back, if they are there.
func (f *Folder) takeBack(fsys fs.FS, w *studbook.Rewriter, p *Proposal) ([]studbook.Rewritten, error) {
	all, err := entries(fsys)
	if err != nil {
		return nil, err
	}
	k := slices.IndexFunc(all, func(e Entry) bool { return e.Undoes == 0 && !e.Undone })
	if k < 0 {
		p.Findings = append(p.Findings, studbook.Finding{Severity: studbook.Error, Code: codeNothingNew, Message: "nothing was written down that could be taken back", Help: "correct the files by hand"})
		return nil, nil
	}
	p.Undoes = &all[k]
	var files []studbook.Rewritten
	restored := make(map[string]bool)
	for _, x := range p.Undoes.Files {
		now, err := readIfThere(fsys, x.Name)
		if err != nil {
			return nil, err
		}
		if x.Name == changes || hashOf(now) != x.After {
			continue
		}
		before, err := readKept(fsys, p.Undoes, x)
		if err != nil {
			continue // then by its rows
		}
		restored[x.Name] = true
		files = append(files, studbook.Rewritten{Name: x.Name, Before: now, After: before})
	}
	byRows := make(map[string]bool)
	for _, e := range p.Undoes.Edits {
		p.Edits = append(p.Edits, reversed(e))
		name := w.FileOf(e.File)
		byRows[name] = true
		if !restored[name] {
			if err := putBack(w, p, e); err != nil {
				return nil, err
			}
		}
	}
	for _, x := range p.Undoes.Files {
		if x.Name != changes && !restored[x.Name] && !byRows[x.Name] {
			p.Findings = append(p.Findings, studbook.Finding{Severity: studbook.Error, File: x.Name, Code: codeChangedHand,
				Message: "the file is no longer as the change left it", Help: "correct it by hand"})
		}
	}
	byRow, _, err := w.Rewrite()
	return append(files, byRow...), err
}

// reversed is an edit taken back.
func reversed(e studbook.Edit) studbook.Edit {
	back := studbook.Edit{File: e.File, Line: e.Line, Before: e.After, After: e.Before}
	if back.After == "" {
		back.Line = 0
	}
	for _, c := range e.Cells {
		back.Cells = append(back.Cells, studbook.CellEdit{Column: c.Column, Before: c.After, After: c.Before})
	}
	return back
}

// putBack puts one row back as it was before an edit.
func putBack(w *studbook.Rewriter, p *Proposal, e studbook.Edit) error {
	done, err := w.PutBack(e)
	if err == nil && !done {
		p.Findings = append(p.Findings, studbook.Finding{Severity: studbook.Error, File: e.File, Line: e.Line, Value: e.After, Code: codeChangedHand,
			Message: "the row that was written is no longer there as it was written", Help: "correct it by hand"})
	}
	return err
}
