package disk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
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
	require.NoError(t, Disk{}.Write("new", []byte("text")))
	assert.Equal(t, "text", content("new"))
	assert.Equal(t, mode("plain"), mode("new"), "a new file has the permissions that new files get")

	require.NoError(t, os.WriteFile("mine", []byte("old"), 0o600))
	require.NoError(t, os.Chmod("mine", 0o640))
	require.NoError(t, Disk{}.Write("mine", []byte("text")))
	assert.Equal(t, os.FileMode(0o640), mode("mine"))

	require.NoError(t, os.Mkdir("elsewhere", 0o700))
	require.NoError(t, os.Symlink(filepath.Join("elsewhere", "file"), "link"))
	for _, text := range []string{"one", "two"} { // the file that the link leads to is not there, then it is
		require.NoError(t, Disk{}.Write("link", []byte(text)))
		assert.Equal(t, text, content(filepath.Join("elsewhere", "file")))
		assert.NotZero(t, mode("link")&os.ModeSymlink)
	}

	require.NoError(t, os.Symlink("round", "about"))
	require.NoError(t, os.Symlink("about", "round"))
	assert.ErrorContains(t, Disk{}.Write("round", nil), "leads in circles")
	assert.Error(t, Disk{}.Write(filepath.Join("nowhere", "file"), nil))

	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	for _, e := range entries {
		assert.NotContains(t, e.Name(), ".pairwright-", "nothing half-written stays behind")
	}
}

// TestWhatTheKilledLeft: what a killed program began to write goes at the next
// writing; what somebody is still at, and what is not ours, stays.
func TestWhatTheKilledLeft(t *testing.T) {
	t.Chdir(t.TempDir())
	killed := errors.New("killed")
	for _, at := range []string{"create", "write", "sync", "rename", "settle"} {
		err := Disk{Before: func(step, _ string) error {
			if step == at || step == "remove" {
				return killed
			}
			return nil
		}}.Write("new", []byte("half"))
		require.ErrorIs(t, err, killed)
		require.NoError(t, os.RemoveAll("new"))
		require.NoError(t, os.WriteFile(".new.part", []byte("not ours"), 0o600))
		waiting, err := Disk{}.Prepare("other", []byte("waits"))
		require.NoError(t, err)

		require.NoError(t, Disk{}.Write("new", []byte("text")))
		assert.Equal(t, []string{".new.part", ".other.pairwright-0", "new"}, names(t, "."), at)
		require.NoError(t, waiting.Put())
		assert.Equal(t, []string{".new.part", "new", "other"}, names(t, "."), at)
		require.NoError(t, os.Remove("other"))
	}
	waiting, err := Disk{}.Prepare("other", nil)
	require.NoError(t, err)
	require.NoError(t, waiting.Drop())
	assert.NotContains(t, names(t, "."), "other")

	long := strings.Repeat("ä", 120) + ".csv"
	require.NoError(t, Disk{}.Write(long, []byte("text")))
	assert.FileExists(t, long)
}

func names(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// TestFillingAFolder: a new one, one that is there, one that a link leads to or
// will lead to; and never one that has something in it.
func TestFillingAFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	files := func(yield func(string, []byte) bool) {
		_ = yield("b", []byte("B")) && yield("in/a", []byte("A")) && yield("a", []byte("A"))
	}
	require.NoError(t, os.Mkdir("there", 0o700))
	require.NoError(t, os.Mkdir("linked", 0o700))
	require.NoError(t, os.Symlink("linked", "link"))
	require.NoError(t, os.Symlink("to-be", "dangling"))
	// What a killed program left in it is nothing, and goes.
	require.NoError(t, os.MkdirAll(filepath.Join("there", ".there.pairwright-0", "in"), 0o700))
	for name, dir := range map[string]string{"new": "new", "deep/er": "deep/er", "there": "there", "link": "linked", "dangling": "to-be"} {
		require.NoError(t, Free(name))
		require.NoError(t, Fill(name, files), name)
		assert.Equal(t, []string{"a", "b", "in"}, names(t, dir))
		assert.Equal(t, []string{"a"}, names(t, filepath.Join(dir, "in")))
		assert.ErrorContains(t, Fill(name, files), name+" is not empty")
	}
	twice := func(yield func(string, []byte) bool) {
		if yield("a", nil) {
			yield("a", nil)
		}
	}
	require.Error(t, Fill("none", twice))
	assert.NoDirExists(t, "none")
	require.NoError(t, os.Mkdir("empty", 0o700))
	err := Fill("empty", twice)
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "pairwright-")
	assert.Empty(t, names(t, "empty"))
	require.NoError(t, os.WriteFile("file", nil, 0o600))
	assert.ErrorContains(t, Free("file"), "file is a file: name a new folder")
	assert.Error(t, Fill("file/below", files))
	for _, name := range names(t, ".") {
		assert.NotContains(t, name, "pairwright-")
	}
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

// TestFoldersFilledAtOnce: who sweeps a folder finds what others are only beginning, and
// nobody's work ends for that.
func TestFoldersFilledAtOnce(t *testing.T) {
	t.Chdir(t.TempDir())
	const programs, each = 8, 20
	var failed [programs]error
	var all sync.WaitGroup
	for k := range programs {
		all.Go(func() {
			for n := range each {
				failed[k] = errors.Join(failed[k], Fill(fmt.Sprintf("%d-%d", k, n), func(yield func(string, []byte) bool) { yield("a", nil) }))
			}
		})
	}
	all.Wait()
	require.NoError(t, errors.Join(failed[:]...))
	assert.Len(t, names(t, "."), programs*each)
}
