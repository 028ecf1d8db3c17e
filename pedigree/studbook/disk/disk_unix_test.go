//go:build unix

package disk

import (
	"os"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPipesAreWrittenTo: a pipe and a device are written to, not replaced.
func TestPipesAreWrittenTo(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, syscall.Mkfifo("pipe", 0o600))
	require.NoError(t, os.Symlink("pipe", "link"))
	for _, name := range []string{"pipe", "link"} {
		read := make(chan string)
		go func() {
			b, err := os.ReadFile("pipe") // and is done with it before the next writer comes
			if err != nil {
				b = []byte(err.Error())
			}
			read <- string(b)
		}()
		require.NoError(t, Disk{}.Write(name, []byte("text")))
		assert.Equal(t, "text", <-read)
		info, err := os.Stat("pipe")
		require.NoError(t, err)
		assert.NotZero(t, info.Mode()&os.ModeNamedPipe)
	}
	require.NoError(t, Disk{}.Write(os.DevNull, []byte("text")))
	info, err := os.Stat(os.DevNull)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeDevice)
}

// TestUmask: a new file is as private as the user's new files are.
func TestUmask(t *testing.T) {
	t.Chdir(t.TempDir())
	old := syscall.Umask(0o077)
	defer syscall.Umask(old)
	require.NoError(t, Disk{}.Write("new", nil))
	info, err := os.Stat("new")
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, Fill("folder", func(yield func(string, []byte) bool) { yield("file", nil) }))
	info, err = os.Stat("folder")
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
}
