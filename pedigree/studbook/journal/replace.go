package journal

import (
	"bytes"
	"context"
	"io/fs"
	"iter"
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
			was, _, _ := studbook.TableText(before)
			is, _, _ := studbook.TableText(next[name])
			p.Edits = append(p.Edits, rowsChanged(name, was, is)...)
		}
	}
	if len(files) == 0 {
		return 0, nil
	}
	return f.put(ctx, p, files)
}

// rowsChanged are the rows in which two states of a file differ, those with one
// beginning, as far as the first delimiter, as one that changed.
func rowsChanged(name, before, after string) []studbook.Edit {
	left := make(map[string]int) // rows of before that after does not have, so often
	var old []string
	for _, row := range rowsOf(before) {
		old = append(old, row)
		left[row]++
	}
	var fresh []studbook.Edit
	begun := make(map[string][]int) // places in fresh, by beginning
	for line, row := range rowsOf(after) {
		if left[row] > 0 {
			left[row]--
			continue
		}
		begun[beginning(row)] = append(begun[beginning(row)], len(fresh))
		fresh = append(fresh, studbook.Edit{File: name, Line: line, After: row})
	}
	for _, row := range old {
		if left[row] == 0 {
			continue
		}
		if left[row]--; row == "" {
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

// rowsOf yields the rows of a CSV text without their ends, with the line that each begins
// in: a cell in quotation marks may go on for several.
func rowsOf(text string) iter.Seq2[int, string] {
	return func(yield func(line int, row string) bool) {
		from, to, begun, n := 0, 0, 1, 0
		open := false // a quotation mark
		for line := range strings.Lines(text) {
			n, to = n+1, to+len(line)
			if strings.Count(line, `"`)%2 == 1 {
				open = !open
			}
			if open && to < len(text) {
				continue
			}
			if !yield(begun, strings.TrimRight(text[from:to], "\r\n")) {
				return
			}
			from, begun = to, n+1
		}
	}
}

// beginning is the first cell of a row.
func beginning(row string) string {
	if k := strings.IndexAny(row, ",;\t"); k >= 0 {
		return row[:k]
	}
	return row
}
