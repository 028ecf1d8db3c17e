// Generate makes the invented colony that Pairwright can be tried on: a
// cooperative breeding programme for a long-lived cliff-nesting bird that does
// not exist, at nine institutions that do not exist, from 1991 to 2026, seen
// from the home colony at Harrow Fell. Run by go generate in the folder
// examples it rewrites the folder harrow-fell there.
//
// Everything is simulated: birds hatch, bond, move and die by chance from a
// seeded generator, and a few lives are then steered so that the home colony
// has each kind of case a keeper meets (story.go). Pedigree, dates and places
// agree with one another because they come from one history.
package main

import (
	"log"
	"os"
	"path/filepath"
)

// committed is the seed of the folder harrow-fell. Another seed gives another
// programme with the same kinds of birds at home; the same seed gives the same
// bytes on every machine.
const committed = 217

func main() {
	const dir = "harrow-fell"
	if err := os.MkdirAll(dir, 0o755); err != nil {
		log.Fatal(err)
	}
	for name, content := range render(simulate(committed)) {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			log.Fatal(err)
		}
	}
}
