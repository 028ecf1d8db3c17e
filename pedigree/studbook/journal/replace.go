package journal

import (
	"bytes"
	"context"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
)

// Import is the kind of the event that lays a newer export over the folder.
const Import = "import"

// Replace writes files as a whole, as one change that is kept, told and taken
// back as others are. What is to be written is made of the folder as it is
// while nobody else writes to it: change returns it by the names of files. The
// number is that of the change, 0 where nothing differs.
func (f *Folder) Replace(ctx context.Context, e Event, change func(fsys fs.FS) (map[string][]byte, error)) (number int, err error) {
	unlock, err := f.begin(ctx)
	if err != nil {
		return 0, err
	}
	defer unlock()
	fsys := os.DirFS(f.dir)
	next, err := change(fsys)
	if err != nil {
		return 0, err
	}
	p := &Proposal{Event: e}
	var files []studbook.Rewritten
	for _, name := range slices.Sorted(maps.Keys(next)) {
		before, err := readIfThere(fsys, name)
		if err != nil {
			return 0, err
		}
		if before != nil && bytes.Equal(before, next[name]) {
			continue
		}
		files = append(files, studbook.Rewritten{Name: name, Before: before, After: next[name]})
		if slices.ContainsFunc(studbook.Files(), func(x studbook.File) bool { return x.Name == name }) {
			p.Edits = append(p.Edits, linesChanged(name, string(before), string(next[name]))...)
		}
	}
	if len(files) == 0 {
		return 0, nil
	}
	return f.put(ctx, p, files)
}

// linesChanged are the lines in which two states of a file differ, those with
// one beginning, as far as the first delimiter, as one row that changed.
func linesChanged(name, before, after string) []studbook.Edit {
	left := make(map[string]int) // lines of before that after does not have, so often
	old := slices.Collect(strings.Lines(before))
	for _, line := range old {
		left[line]++
	}
	var fresh []studbook.Edit
	begun := make(map[string][]int) // places in fresh, by beginning
	n := 0
	for line := range strings.Lines(after) {
		n++
		if left[line] > 0 {
			left[line]--
			continue
		}
		row := strings.TrimRight(line, "\r\n")
		begun[beginning(row)] = append(begun[beginning(row)], len(fresh))
		fresh = append(fresh, studbook.Edit{File: name, Line: n, After: row})
	}
	for _, line := range old {
		if left[line] == 0 {
			continue
		}
		left[line]--
		row := strings.TrimRight(line, "\r\n")
		if row == "" {
			continue
		}
		if like := begun[beginning(row)]; len(like) > 0 {
			fresh[like[0]].Before = row
			begun[beginning(row)] = like[1:]
		} else {
			fresh = append(fresh, studbook.Edit{File: name, Before: row})
		}
	}
	return slices.DeleteFunc(fresh, func(e studbook.Edit) bool { return e.Before == "" && e.After == "" })
}

// beginning is the first cell of a row.
func beginning(row string) string {
	if k := strings.IndexAny(row, ",;\t"); k >= 0 {
		return row[:k]
	}
	return row
}
