// Package examples holds an invented colony to try Pairwright on: the folder
// harrow-fell beside it. Everything in it is simulated; the program generate
// wrote it.
package examples

import (
	"embed"
	"io/fs"
)

//go:generate go run ./generate

//go:embed harrow-fell
var folders embed.FS

// HarrowFell returns the files of the example colony.
func HarrowFell() fs.FS {
	colony, err := fs.Sub(folders, "harrow-fell")
	if err != nil {
		panic("examples: " + err.Error()) // of a name that is no path
	}
	return colony
}
