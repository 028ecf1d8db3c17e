package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// speech is how libraries say what is wrong, to programmers.
const speech = `strconv|: read [^ ]+:|invalid argument|invalid syntax|unknown (flag|command|shorthand)|accepts \d|flag needs|\b(open|stat|lstat|mkdir|rename|readdirent|fdopendir|lookup|dial|listen tcp)\b [^ ]*:|\.pairwright-|syscall|%!|nil|goroutine|: toml: `

// TestPlainSpeech: whatever is asked wrongly is told in words that a keeper knows,
// with nothing on the screen and nothing written.
func TestPlainSpeech(t *testing.T) {
	copied(t)
	require.NoError(t, os.Mkdir("sub", 0o700))
	require.NoError(t, os.WriteFile(filepath.Join("sub", "file"), nil, 0o600))
	require.NoError(t, os.WriteFile("notes.toml", []byte("no settings\n"), 0o600))
	require.NoError(t, os.Mkdir("empty", 0o700))
	require.Zero(t, run(t.Context(), []string{"import", "studbook.csv", "--into", "made"}, new(bytes.Buffer), new(bytes.Buffer)))
	for _, c := range []struct {
		code int
		args string
		want string
	}{
		// Commands and what they are about.
		{2, "fly", `there is no command "fly"` + "\n"},
		{2, "mate C0734", `there is no command "mate"; did you mean mates?`},
		{2, "Plann", `there is no command "Plann"; did you mean plan?`},
		{2, "help nosuch", `no topic "nosuch"`},
		{2, "help mates nosuch", "mates nosuch"},
		{2, "completion fish now", "does not take"},
		{2, "completion tcsh", `does not take "tcsh"`},
		{2, "bird", "bird needs 1 bird, not 0"},
		{2, "bird C0734 C0419", "bird needs 1 bird, not 2"},
		{2, "bird NOBODY", `no bird "NOBODY"`},
		{2, "kin C0734 NOBODY", `no bird "NOBODY"`},
		{2, "mates NOBODY", `no bird "NOBODY"`},
		{2, "transfer NOBODY", `no bird "NOBODY"`},
		{2, "export fam --into x --of C0734,NOBODY", `no bird "NOBODY"`},
		{2, "plan --release NOBODY", `no bird "NOBODY"`},
		{2, "plan --release C0001", "does not live in the programme"},
		{2, "mates --colony NOWHERE", `no institution "NOWHERE"`},
		{2, "birds --colony NOWHERE", `no institution "NOWHERE"`},
		{2, "transfer C0734 --to NOWHERE", `no institution "NOWHERE"`},
		{2, "undo now", "takes no"},
		{2, "record sneeze C0734", `no event "sneeze"`},

		// Flags and their values.
		{2, "--quiet birds", "flags come after it"},
		{2, "birds --wingspan 3", "birds has no flag --wingspan\n"},
		{2, "plan --chick 3", "plan has no flag --chick; did you mean --chicks?"},
		{2, "birds -q", "there is no flag -q"},
		{2, "birds --format", "--format needs a value: --format FORMAT"},
		{2, "import a.csv --into", "--into needs a value: --into DIR"},
		{2, "birds --seed many", "--seed many: give a whole number"},
		{2, "mates C0734 --top 99999999999999999999", "too large"},
		{2, "birds --as-of soon", "--as-of soon: write a date as 2019-05-12"},
		{2, "birds --as-of=", `--as-of "": give a date`},
		{2, "serve --port high", "--port high: give a whole number"},
		{2, "serve --port 99999", "from 1 to 65535"},
		{2, "record death C0734 --yes=perhaps", "--yes perhaps: use true or false"},
		{2, "birds --quiet=perhaps", "--quiet perhaps: use true or false"},
		{2, "birds --format json --format csv", "--format csv: it is given twice"},
		{2, "birds --quiet --quiet", "it is given twice"},
		{2, "birds --column sire=A --column sire=B", "sire is already called A"},
		{2, "import studbook.csv --preview --column sire=A --column sire=B", "sire is already called A"},
		{2, "plan --release C0734 --release C0734", "it is given twice"},
		{2, "forecast --policy bonds --policy bonds", "it is given twice"},
		{2, "export fam --into x --into y", "it is given twice"},

		// Flags that have no effect together.
		{2, "transfer --list --attach a.csv", "leave out --attach"},
		{2, "transfer C0734 --top 3", "are for --list"},
		{2, "mates --top 3", "top is for the mates of one bird"},
		{2, "mates C0734 --colony QUM", "that of C0734 is HAF: leave out the colony"},
		{2, "mates --seed 2", "how sure a rank is"},
		{2, "plan --best", "name it with --own FILE"},
		{2, "plan --free-bonds --release C0734", "all bonds may be parted"},
		{2, "plan --scope programme --letters l --keep k.csv", "leave out --letters or --keep"},
		{2, "plan --scope programme --letters l --out o", "leave out --out"},
		{2, "plan --letters l", "for --scope programme"},
		{2, "review --runs 1", "make 2 runs at least"},
		{2, "forecast --severity 0.5", "say how often they come"},
		{2, "forecast --founders 0/5y", "write it as 1/5y"},
		{2, "undo --list --yes", "leave out --yes"},
		{2, "record death C0734 --yes --dry-run", "give one of them"},
		{2, "import studbook.csv --preview --apply", "leave it out"},
		{2, "import studbook.csv --into made --as-of 2020", "leave it out"},
		{2, "import studbook.csv --into new --keep ours", "for a colony folder that is there already"},
		{2, "import made/studbook.csv --into made --apply", "name the newer export"},

		// Files that are not there, or are none.
		{1, "birds --studbook nosuch.csv", "there is no file nosuch.csv"},
		{1, "birds --studbook sub", "sub is a folder"},
		{1, "birds --studbook " + os.DevNull, "is a pipe or a device"},
		{1, "birds --studbook studbook.csv/below", "cannot be read"},
		{1, "import nosuch.csv --into new", "there is no file nosuch.csv"},
		{1, "import sub --into new", "sub is a folder; name the file in it"},
		{1, "import " + os.DevNull + " --into new", "is a pipe or a device"},
		{2, "import studbook.csv --into new --mapping nosuch.toml", "there is no such file"},
		{1, "import studbook.csv --into new --mapping sub", "sub is a folder"},
		{1, "import studbook.csv --into new --mapping notes.toml", "notes.toml: line 1: the settings cannot be read"},
		{2, "plan --own nosuch.csv", "there is no such file"},
		{1, "plan --own sub", "sub is a folder"},
		{2, "forecast --with nosuch.csv", "there is no such file"},
		{1, "forecast --with sub", "sub is a folder"},
		{1, "serve --studbook nosuch.csv", "there is no file nosuch.csv"},
		{2, "serve --studbook sub", "it is no file"},
		{2, "serve --no-open --host no.such.host.invalid", "no such address"},
		{1, "record death C0734 --studbook nosuch.csv", "there is no file nosuch.csv"},

		// Places that cannot be written to.
		{2, "birds --out sub", "sub is a folder: name a file"},
		{1, "birds --out new/list.txt", "there is no folder new; make it first"},
		{1, "plan --keep kept/a.csv", "there is no folder kept; make it first"},
		{2, "demo sub", "sub is not empty"},
		{2, "demo studbook.csv", "studbook.csv is a file: name a new folder"},
		{2, "init studbook.csv", "studbook.csv is a file: name a new folder"},
		{2, "reference studbook.csv", "studbook.csv is a file: name a new folder"},
		{2, "export all --into studbook.csv", "studbook.csv is a file: name a new folder"},
		{2, "import studbook.csv --into sub", "sub is not empty"},
		{2, "plan --scope programme --letters sub", "sub is not empty"},
		{2, "demo studbook.csv/below", "studbook.csv/below: not a directory"},
		{2, "export fam --into studbook.csv/below", "studbook.csv/below: not a directory"},
	} {
		t.Run(c.args, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			assert.Equal(t, c.code, run(t.Context(), strings.Fields(c.args), &stdout, &stderr), stderr.String())
			assert.Contains(t, stderr.String(), c.want)
			assert.NotRegexp(t, speech, stderr.String())
			assert.Empty(t, stdout.String())
			for _, name := range []string{"x", "y", "l", "k.csv", "o", "new", "a.csv", "plans"} {
				assert.NoFileExists(t, name)
				assert.NoDirExists(t, name)
			}
		})
	}
}

// TestPlainly: what the system's libraries say of files, however deep it lies.
func TestPlainly(t *testing.T) {
	denied := &fs.PathError{Op: "open", Path: "a.csv", Err: fs.ErrPermission}
	for want, err := range map[string]error{
		"a.csv: permission denied":                 denied,
		"it failed: a.csv: permission denied":      fmt.Errorf("it failed: %w", denied),
		"a.csv: permission denied\nb: file exists": errors.Join(denied, &os.LinkError{Op: "rename", Old: "temporary", New: "b", Err: fs.ErrExist}),
		"192.0.2.1:80: no way":                     &net.OpError{Op: "listen", Net: "tcp", Addr: &net.TCPAddr{IP: net.IPv4(192, 0, 2, 1), Port: 80}, Err: os.NewSyscallError("bind", errors.New("no way"))},
		"ours: alone":                              errors.New("ours: alone"),
	} {
		assert.Equal(t, strings.ReplaceAll(want, "permission denied", fs.ErrPermission.Error()), strings.ReplaceAll(plainly(err), "file already exists", "file exists"))
	}
}
