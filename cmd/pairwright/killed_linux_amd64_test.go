package main

import (
	"errors"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
	"pairwright/pedigree/studbook/journal"
	"pairwright/pedigree/studbook/studbooktest"
)

// small is a folder to write to: two pairs, one of them with eggs.
var small = map[string]string{
	"studbook.csv": "id,name,sex,sire,dam,hatch_date,death_date,location,keeper\n" +
		"A01,Ash,M,,,2018-05-01,,HOME,ann\nA02,Bryony,F,,,2018-05-02,,HOME,ann\nC,Cole,M,,,2019-05-01,,HOME,\nA04,Dove,F,,,2019-06-01,,HOME,\n",
	"bonds.csv":      "female,male,since,until,nest,ended_by\nA02,A01,2021-03-01,,7,\nA04,C,2022-03-01,,8,\n",
	"clutches.csv":   "female,male,laid,eggs,fertile,hatched,fledged\nA02,A01,2026-10-20,2,,,\n",
	"programme.toml": "home = \"HOME\"\ncurrent_to = 2026-11-01 # the last day\n",
}

// Two exports of one file, a year apart.
const (
	exported = "Ring;Sex;Sire;Dam;Hatched;Died\nA;m;;;2001-01-01;\nB;w;;;2001-02-02;\nC;m;A;B;2004-03-03;\n"
	newer    = "Ring;Sex;Sire;Dam;Hatched;Died\nA;m;;;2001-01-01;2010-01-01\nB;w;;;2001-02-03;\nC;m;A;B;2004-03-03;\nD;w;A;B;2006-06-06;\n"
)

// writing is a command that writes, in a folder of its own.
type writing struct {
	name   string
	colony string            // the colony's folder in it
	files  map[string]string // that stand there
	before []string          // a command
	args   []string

	program string // the program's own file
	start   string // a folder as it is before the command
}

var writings = []writing{
	{name: "record", colony: ".", files: small, args: []string{"record", "hatch", "A02", "--date", "2026-11-20", "--yes"}},
	{name: "undo", colony: ".", files: small, before: []string{"record", "move", "A04", "AWAY", "--date", "2026-10-30", "--yes"}, args: []string{"undo", "--yes"}},
	{name: "import", colony: "colony", files: map[string]string{"old.csv": exported}, args: []string{"import", "old.csv", "--into", "colony"}},
	{name: "import again", colony: "colony", files: map[string]string{"old.csv": exported, "new.csv": newer},
		before: []string{"import", "old.csv", "--into", "colony"}, args: []string{"import", "new.csv", "--into", "colony", "--apply"}},
	{name: "out", colony: ".", files: small, args: []string{"birds", "--as-of", "2026-11-20", "--out", "list.txt"}},
	{name: "out again", colony: ".", files: map[string]string{"studbook.csv": small["studbook.csv"], "list.txt": "as it was"}, args: []string{"birds", "--as-of", "2026-11-20", "--out", "list.txt"}},
}

// moment is what holds the time of a change in changes.csv.
var moment = regexp.MustCompile(`\d{4}-\d\d-\d\d \d\d:\d\d:\d\d [+-]\d{4}`)

// seen is what a reader finds: every file by its name, without what the journal
// keeps for itself.
func (w *writing) seen(t *testing.T, dir string) map[string]string {
	t.Helper()
	names := make(map[string]bool)
	require.NoError(t, fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case d.IsDir() && (d.Name() == journal.Earlier || name != "." && strings.HasPrefix(d.Name(), ".")):
			return fs.SkipDir
		case !d.IsDir() && !strings.HasPrefix(d.Name(), "."):
			names[name] = true
		}
		return err
	}))
	for _, f := range studbook.Files() { // which a change that was begun may have removed
		names[path.Join(w.colony, f.Name)] = true
	}
	files := make(map[string]string)
	whole := journal.View(os.DirFS(filepath.Join(dir, w.colony)))
	for name := range names {
		fsys, under := os.DirFS(dir), name
		if rest, ok := strings.CutPrefix(name, w.colony+"/"); ok || w.colony == "." {
			fsys, under = whole, rest
		}
		raw, err := fs.ReadFile(fsys, under)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		require.NoError(t, err)
		if path.Base(name) != exchange.AccountFile { // which names the folder
			files[name] = moment.ReplaceAllString(string(raw), "then")
		}
	}
	return files
}

// hidden are the files below a folder that no user should see for long.
func hidden(t *testing.T, dir string) (names []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if name != dir && strings.HasPrefix(d.Name(), ".") {
			names = append(names, name)
		}
		return err
	}))
	return names
}

// folder makes a new folder, in memory where the system has that, with the files of
// a writing and what comes before it.
func (w *writing) folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "pairwright")
	if err != nil {
		dir = t.TempDir()
	}
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(dir)) })
	if w.start != "" {
		require.NoError(t, os.CopyFS(dir, os.DirFS(w.start)))
		return dir
	}
	for name, text := range w.files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	if w.before != nil {
		w.run(t, dir, w.before)
	}
	w.start = dir
	return w.folder(t)
}

// run runs the program in a folder, which must do what it is to do.
func (w *writing) run(t *testing.T, dir string, args []string) {
	t.Helper()
	cmd := exec.Command(w.program, args...)
	cmd.Dir = dir
	said, err := cmd.CombinedOutput()
	require.NoError(t, err, "%v: %s", args, said)
}

// at runs a writing in a new folder, with one of its changes to the disk coming to
// something else.
func (w *writing) at(t *testing.T, n int, then fate, errno syscall.Errno) (dir string, code int, said string) {
	t.Helper()
	dir, k := w.folder(t), -1
	code, said = traced(t, dir, func(change) (fate, syscall.Errno) {
		if k++; k == n {
			return then, errno
		}
		return passes, 0
	}, w.program, w.args...)
	return dir, code, said
}

// TestWriter kills the real program before each change that it makes to the disk,
// and in the middle of what it writes. Who reads the folder then, and who writes to
// it next, finds it as it was or as it was to be, whole, and nothing stays behind.
// Then it lets each change fail: the folder is as it was and the message is plain,
// or the folder is as it was to be. Last the disk is full from then on, and goes on to
// be until the next run, and the folder cannot be written to at all.
func TestWriter(t *testing.T) {
	studbooktest.WithoutRace(t)
	program := filepath.Join(t.TempDir(), "pairwright") // not this one, which is slow where races are watched
	said, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, "%s", said)
	for _, w := range writings {
		w.program = program
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			dir := w.folder(t)
			old := w.seen(t, dir)
			var changes []change
			code, said := traced(t, dir, func(c change) (fate, syscall.Errno) {
				changes = append(changes, change{c.call, strings.TrimPrefix(c.file, dir)})
				return passes, 0
			}, w.program, w.args...)
			require.Zero(t, code, said)
			fresh := w.seen(t, dir)
			require.NotEqual(t, old, fresh)

			ends := map[bool]int{}
			for n, c := range changes {
				ends[w.killed(t, n, killed, c, old, fresh)]++
				if c.call == "write" {
					w.killed(t, n, halved, c, old, fresh)
				}
				w.meetsError(t, n, c, old, fresh)
				if c.call == "write" {
					w.staysFull(t, n, old, fresh)
				}
			}
			w.readOnly(t, old)
			assert.Greater(t, ends[false], 3)
			assert.Positive(t, ends[true], "also after all is written")
		})
	}
}

// killed kills the program at a change to the disk and reports whether the folder
// is as it was to be.
func (w *writing) killed(t *testing.T, n int, how fate, at change, old, fresh map[string]string) (isNew bool) {
	t.Helper()
	dir, code, said := w.at(t, n, how, 0)
	require.Equal(t, -1, code, said)
	found := w.seen(t, dir)
	isNew = maps.Equal(found, fresh)
	require.True(t, isNew || maps.Equal(found, old), "killed at %v, a reader finds %v", at, found)
	w.goesOn(t, dir, isNew, at)
	return isNew
}

// goesOn makes the change again, if the folder is not as it was to be, and another, of
// which nothing must stay behind.
func (w *writing) goesOn(t *testing.T, dir string, isNew bool, after change) {
	t.Helper()
	if !isNew {
		w.run(t, dir, w.args)
	}
	next := w.args
	if !strings.HasPrefix(w.name, "out") {
		next = []string{"record", "death", "C", "--date", "2026-10-01", "--yes"}
	}
	w.run(t, filepath.Join(dir, w.colony), next)
	assert.Empty(t, hidden(t, dir), "after %v", after)
	assert.NoFileExists(t, filepath.Join(dir, w.colony, journal.Earlier, "pending.json"))
}

// staysFull lets no more be written from a change to the disk on, until the program
// is run again.
func (w *writing) staysFull(t *testing.T, n int, old, fresh map[string]string) {
	t.Helper()
	dir, k := w.folder(t), -1
	var at change
	code, said := traced(t, dir, func(c change) (fate, syscall.Errno) {
		if k++; k == n {
			at = c
		}
		if k >= n && slices.Contains([]string{"write", "pwrite64", "mkdirat", "sendfile", "copy_file_range"}, c.call) {
			return fails, syscall.ENOSPC
		}
		return passes, 0
	}, w.program, w.args...)
	found := w.seen(t, dir)
	isNew := maps.Equal(found, fresh)
	if code == exitDone {
		assert.True(t, isNew, "full from %v", at)
	} else {
		assert.Equal(t, exitFault, code, said)
		assert.Equal(t, old, found, "full from %v", at)
		assert.Contains(t, said, syscall.ENOSPC.Error())
		assert.NotContains(t, said, ".pairwright-")
	}
	w.goesOn(t, dir, isNew, at)
}

// readOnly lets nothing be changed.
func (w *writing) readOnly(t *testing.T, old map[string]string) {
	t.Helper()
	dir := w.folder(t)
	code, said := traced(t, dir, func(change) (fate, syscall.Errno) { return fails, syscall.EROFS }, w.program, w.args...)
	assert.Equal(t, exitFault, code, said)
	assert.Equal(t, old, w.seen(t, dir))
	assert.Regexp(t, `(?m)^pairwright: .*`+syscall.EROFS.Error()+"\n$", said)
	assert.NotContains(t, said, ".pairwright-")
	assert.Empty(t, hidden(t, dir))
}

// meetsError lets a change to the disk fail.
func (w *writing) meetsError(t *testing.T, n int, at change, old, fresh map[string]string) {
	t.Helper()
	errno := []syscall.Errno{syscall.ENOSPC, syscall.EIO, syscall.EACCES}[n%3]
	dir, code, said := w.at(t, n, fails, errno)
	found := w.seen(t, dir)
	if code == exitDone {
		assert.Equal(t, fresh, found, "%v from %v", errno, at)
	} else {
		assert.Equal(t, exitFault, code, "%v from %v", errno, at)
		assert.Equal(t, old, found, "%v from %v", errno, at)
		assert.NoFileExists(t, filepath.Join(dir, w.colony, journal.Earlier, "pending.json"), "%v from %v", errno, at)
		assert.Regexp(t, `(?m)^pairwright: (nothing was written: )?\S+( was not written)?: `+errno.Error()+"\n$", said, at)
		assert.NotContains(t, said, ".pairwright-")
	}
	assert.Empty(t, hidden(t, dir), "%v from %v", errno, at)
}
