package licences

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/golden"
)

// module is a module that the program is built from.
type module struct{ path, version, dir string }

// modules returns the modules behind the program on an operating system, "" for
// this one.
func modules(t *testing.T, system string) []module {
	t.Helper()
	list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}", "pairwright/cmd/pairwright")
	list.Env = os.Environ()
	if system != "" {
		list.Env = append(list.Env, "GOOS="+system)
	}
	var said bytes.Buffer
	list.Stderr = &said
	out, err := list.Output()
	require.NoError(t, err, said.String())
	var all []module
	for line := range strings.Lines(string(out)) {
		if f := strings.Split(strings.TrimSpace(line), "\t"); len(f) == 3 {
			all = append(all, module{f[0], f[1], f[2]})
		}
	}
	slices.SortFunc(all, func(a, b module) int { return strings.Compare(a.path, b.path) })
	return slices.Compact(all)
}

// terms are the names of files that hold a licence or what one asks to be
// passed on.
var terms = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents|ftl)([-.].*)?$`)

// others is a folder with the licences of what a module itself took over.
const others = "THIRD_PARTY_LICENSES"

// section is what the text says of a module.
func (m module) section(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s\n%s %s\n%[1]s\n", strings.Repeat("─", 72), m.path, m.version)
	found := false
	for _, dir := range []string{"", "licenses", others} {
		entries, err := os.ReadDir(filepath.Join(m.dir, dir))
		if dir != "" && err != nil {
			continue
		}
		require.NoError(t, err)
		for _, e := range entries {
			if e.IsDir() || dir != others && !terms.MatchString(e.Name()) {
				continue
			}
			words, err := os.ReadFile(filepath.Join(m.dir, dir, e.Name()))
			require.NoError(t, err)
			if !utf8.Valid(words) { // Latin-1
				words = []byte(latin1(words))
			}
			fmt.Fprintf(&b, "\n%s\n", strings.TrimSpace(strings.ReplaceAll(string(words), "\r\n", "\n")))
			found = true
		}
	}
	require.True(t, found, "%s states no licence: find out before using it", m.path)
	return b.String()
}

func latin1(text []byte) string {
	runes := make([]rune, len(text))
	for k, c := range text {
		runes[k] = rune(c)
	}
	return string(runes)
}

const heading = `Pairwright is made with the work of others, and with the Go standard library
and runtime, which have the licence of golang.org/x/text. It passes on their
licences with thanks.

`

// TestEveryModuleIsListed: each module of this build stands in the text with
// the licence that its files hold, in this version. -update writes the text for
// every system that the program is built for.
func TestEveryModuleIsListed(t *testing.T) {
	if *golden.Update {
		var all []module
		for _, system := range []string{"linux", "darwin", "windows"} {
			all = append(all, modules(t, system)...)
		}
		slices.SortFunc(all, func(a, b module) int { return strings.Compare(a.path, b.path) })
		all = slices.Compact(all)
		var names, sections strings.Builder
		for _, m := range all {
			fmt.Fprintf(&names, "%s %s\n", m.path, m.version)
			sections.WriteString(m.section(t))
		}
		text = heading + names.String() + sections.String()
		require.NoError(t, os.WriteFile("licences.txt", []byte(text), 0o644))
	}
	here := modules(t, "")
	require.NotEmpty(t, here)
	for _, m := range here {
		assert.True(t, strings.Contains(text, "\n"+m.path+" "+m.version+"\n"), "%s is not listed: run this test with -update, and read its licence", m.path)
		assert.True(t, strings.Contains(text, m.section(t)), "the licence of %s has changed: run this test with -update, and read it", m.path)
	}
}

// TestNothingElseIsListed: what the program no longer needs is not thanked for.
func TestNothingElseIsListed(t *testing.T) {
	needs, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "go.mod"))
	require.NoError(t, err)
	names, _, _ := strings.Cut(strings.TrimPrefix(text, heading), "\n\n")
	require.NotEmpty(t, names)
	for line := range strings.Lines(names) {
		assert.True(t, strings.Contains(string(needs), "\t"+strings.TrimSpace(line)), "go.mod has no %s: run this test with -update", line)
	}
}
