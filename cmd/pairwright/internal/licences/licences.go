// Package licences holds the licences of everything that the program is built
// from, as their authors wrote them.
package licences

import (
	_ "embed"
	"io"
)

// text is written by the test with -update, from the modules themselves.
//
//go:embed licences.txt
var text string

// Write writes the names of all modules in the program, then the licence of
// each.
func Write(w io.Writer) error {
	_, err := io.WriteString(w, text)
	return err
}
