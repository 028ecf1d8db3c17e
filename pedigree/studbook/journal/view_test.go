package journal

import (
	"io/fs"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// piped is a folder whose studbook is a pipe that nobody writes to: whoever opens it
// waits for ever.
type piped struct {
	fstest.MapFS
	t *testing.T
}

func (p piped) Open(name string) (fs.File, error) {
	require.NotEqual(p.t, "studbook.csv", name, "a pipe is opened")
	return p.MapFS.Open(name)
}

func (p piped) Stat(name string) (fs.FileInfo, error) { return fs.Stat(p.MapFS, name) }

// TestPipesAreNotOpened: what a folder is seen through describes a file without
// opening it.
func TestPipesAreNotOpened(t *testing.T) {
	folder := piped{fstest.MapFS{"studbook.csv": {Mode: fs.ModeNamedPipe}}, t}
	err := Whole(folder, func(fsys fs.FS) error {
		_, err := studbook.Read(t.Context(), fsys, "studbook.csv", studbook.Options{})
		return err
	})
	assert.EqualError(t, err, "studbook.csv is a pipe or a device; write what comes from it to a file, and name that")
}
