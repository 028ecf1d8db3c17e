package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook/studbooktest"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"pairwright": main})
}

// TestScripts runs the real command as the scripts in testdata/script say: a
// script is a list of commands, then the files they work on and the output
// that is expected. Every script finds the example colony in $EXAMPLE.
func TestScripts(t *testing.T) {
	example, err := filepath.Abs(filepath.Join("..", "..", "examples", "harrow-fell"))
	if err != nil {
		t.Fatal(err)
	}
	scripts, err := filepath.Glob(filepath.Join("testdata", "script", "*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	if studbooktest.Race { // all of them take minutes under its detector
		scripts = slices.DeleteFunc(scripts, func(path string) bool {
			return !slices.Contains([]string{"birds.txt", "import.txt", "mates.txt", "record.txt"}, filepath.Base(path))
		})
	}
	testscript.Run(t, testscript.Params{
		Files:               scripts,
		UpdateScripts:       *golden.Update,
		RequireExplicitExec: true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exitcode": exitCodeIs, "nearly": nearly},
		Setup: func(env *testscript.Env) error {
			env.Setenv("EXAMPLE", example)
			env.Setenv("GOCOVERDIR", os.Getenv("GOCOVERDIR"))
			return nil
		},
	})
}

// exitCodeIs is the script command "exitcode N ARGS...": pairwright with those
// arguments ends with status N.
func exitCodeIs(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: exitcode N ARGS...")
	}
	var stdout, stderr bytes.Buffer
	got := run(context.Background(), args[1:], &stdout, &stderr)
	if strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit code %d, want %s; it said: %s", got, args[0], stderr.String())
	}
}

// nearly is the script command "nearly stdout FILE": where the two, in JSON or
// CSV, differ in the last digits of numbers alone, FILE becomes what stdout is.
// The cmp that follows it compares the rest, and -update goes on to work.
func nearly(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: nearly stdout FILE")
	}
	got, want := ts.ReadFile(args[0]), ts.ReadFile(args[1])
	if golden.Nearly(want, got) == nil {
		ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(got), 0o644))
	}
}
