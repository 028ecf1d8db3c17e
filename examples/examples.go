// Package examples makes an invented colony to try Pairwright on: a
// cooperative breeding programme for a long-lived cliff-nesting bird that does
// not exist, at nine institutions that do not exist, from 1991 to 2026, seen
// from the home colony at Harrow Fell.
//
// The folder harrow-fell beside this package is what Files returns for
// DefaultSeed. Everything in it is simulated: birds hatch, bond, move and die
// by chance from a seeded generator, and a few lives are then steered so that
// the home colony has each kind of case a keeper meets (story.go). Pedigree,
// dates and places agree with one another because they come from one history.
package examples

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
)

//go:generate go run ./generate

// DefaultSeed is the seed of the committed folder harrow-fell.
const DefaultSeed = 217

// Files returns the files of the example colony by name, as they would be
// written. The same seed gives the same bytes on every machine. Another seed
// gives another programme with the same kinds of birds at home.
func Files(seed uint64) map[string][]byte {
	return render(simulate(seed))
}

// Write writes the example colony into dir, which must be absent or empty, and
// returns the names of the files written, sorted.
func Write(dir string, seed uint64) ([]string, error) {
	switch entries, err := os.ReadDir(dir); {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, fmt.Errorf("example colony: %w", err)
		}
	case err != nil:
		return nil, fmt.Errorf("example colony: %w", err)
	case len(entries) > 0:
		return nil, fmt.Errorf("example colony: %s is not empty; name a new or an empty folder", dir)
	}
	files := Files(seed)
	names := slices.Sorted(maps.Keys(files))
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(dir, name), files[name], 0o644); err != nil {
			return nil, fmt.Errorf("example colony: %w", err)
		}
	}
	return names, nil
}
