package disk

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWritingAFile: what is there keeps its permissions and its links, and a
// file that cannot be written whole leaves what was there.
func TestWritingAFile(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	mode := func(name string) os.FileMode {
		info, err := os.Lstat(name)
		require.NoError(t, err)
		return info.Mode()
	}
	content := func(name string) string {
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		return string(b)
	}

	plain, err := os.Create("plain")
	require.NoError(t, err)
	require.NoError(t, plain.Close())
	require.NoError(t, Write("new", []byte("text")))
	assert.Equal(t, "text", content("new"))
	assert.Equal(t, mode("plain"), mode("new"), "a new file has the permissions that new files get")

	require.NoError(t, os.WriteFile("mine", []byte("old"), 0o600))
	require.NoError(t, os.Chmod("mine", 0o640))
	require.NoError(t, Write("mine", []byte("text")))
	assert.Equal(t, os.FileMode(0o640), mode("mine"))

	require.NoError(t, os.Mkdir("elsewhere", 0o700))
	require.NoError(t, os.Symlink(filepath.Join("elsewhere", "file"), "link"))
	for _, text := range []string{"one", "two"} { // the file that the link leads to is not there, then it is
		require.NoError(t, Write("link", []byte(text)))
		assert.Equal(t, text, content(filepath.Join("elsewhere", "file")))
		assert.NotZero(t, mode("link")&os.ModeSymlink)
	}

	require.NoError(t, os.Symlink("round", "about"))
	require.NoError(t, os.Symlink("about", "round"))
	assert.ErrorContains(t, Write("round", nil), "leads in circles")
	assert.Error(t, Write(filepath.Join("nowhere", "file"), nil))

	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	for _, e := range entries {
		assert.NotContains(t, e.Name(), ".part", "nothing half-written stays behind")
	}
}

// TestWhatTheKilledLeft: what programs began to write in the place of a file and
// never ended is removed by who writes it next; what was begun just now is another
// program's.
func TestWhatTheKilledLeft(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{".list.part0", ".list.part1", ".list.part2", ".other.part0"} {
		require.NoError(t, os.WriteFile(name, []byte("half"), 0o600))
		require.NoError(t, os.Chtimes(name, time.Time{}, time.Now().Add(-time.Hour)))
	}
	require.NoError(t, os.Chtimes(".list.part1", time.Time{}, time.Now()))
	require.NoError(t, Write("list", []byte("whole")))
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	assert.Equal(t, []string{".list.part1", ".other.part0", "list"}, names)
}

// TestLock: one holds it, the other waits or is told, and it ends with the file
// that was opened.
func TestLock(t *testing.T) {
	name := filepath.Join(t.TempDir(), "lock")
	unlock, err := Lock(t.Context(), name, 0)
	require.NoError(t, err)
	_, err = Lock(t.Context(), name, 30*time.Millisecond)
	assert.ErrorIs(t, err, ErrBusy)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Lock(ctx, name, time.Hour)
	assert.ErrorIs(t, err, context.Canceled)

	go func() {
		time.Sleep(30 * time.Millisecond)
		_ = unlock()
	}()
	again, err := Lock(t.Context(), name, time.Minute)
	require.NoError(t, err, "it waits until the other is done")
	require.NoError(t, again())
	_, err = Lock(t.Context(), filepath.Join(name, "below"), 0)
	assert.Error(t, err)
	assert.NotErrorIs(t, err, ErrBusy)
}
