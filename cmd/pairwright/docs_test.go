package main

import (
	"bufio"
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/golden"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestDocumentedCommands runs every pairwright command that a console block of
// README.md or examples/README.md shows, in the folder of the project, and
// compares what follows it with what is printed: line by line, "..." standing
// for any lines.
func TestDocumentedCommands(t *testing.T) {
	studbooktest.WithoutRace(t)
	t.Chdir(filepath.Join("..", ".."))
	for _, file := range []string{"README.md", filepath.Join("examples", "README.md")} {
		for _, c := range documented(t, file) {
			t.Run(c.line, func(t *testing.T) {
				args := strings.Fields(c.line)
				var stdout, stderr bytes.Buffer
				code := run(context.Background(), args, &stdout, &stderr)
				assert.Zero(t, code, stderr.String())
				if len(c.output) > 0 {
					sameLines(t, c.output, strings.Split(strings.TrimRight(stdout.String(), "\n"), "\n"))
				}
			})
		}
	}
}

type documentedCommand struct {
	line   string // the arguments of pairwright
	output []string
}

// documented returns the commands of the console blocks of a file.
func documented(t *testing.T, file string) []documentedCommand {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	var commands []documentedCommand
	inside := false
	scanner := bufio.NewScanner(bytes.NewReader(text))
	for scanner.Scan() {
		line := scanner.Text()
		switch {
		case strings.HasPrefix(line, "```"):
			inside = line == "```console"
		case !inside:
		case strings.HasPrefix(line, "$ "):
			rest, ok := strings.CutPrefix(line, "$ pairwright ")
			if !ok {
				rest, ok = strings.CutPrefix(line, "$ go run ./cmd/pairwright ")
			}
			if ok {
				commands = append(commands, documentedCommand{line: rest})
			}
		case len(commands) > 0:
			c := &commands[len(commands)-1]
			c.output = append(c.output, line)
		}
	}
	require.NoError(t, scanner.Err())
	require.NotEmpty(t, commands, file+" shows no command")
	return commands
}

func sameLines(t *testing.T, want, got []string) {
	t.Helper()
	anything := false
	for _, line := range want {
		if line == "..." {
			anything = true
			continue
		}
		if anything {
			for len(got) > 0 && golden.Nearly(line, got[0]) != nil {
				got = got[1:]
			}
			anything = false
		}
		require.NotEmpty(t, got, "the document has more lines than the command prints: %q", line)
		if golden.Nearly(line, got[0]) != nil { // to show both
			require.Equal(t, line, got[0])
		}
		got = got[1:]
	}
	if !anything {
		assert.Empty(t, got, "the command prints more lines than the document shows")
	}
}
