package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// line is the order in which data flows through the packages: none may import
// one that stands behind it.
var line = []string{
	"pedigree/studbook/sheets",
	"pedigree/studbook",
	"pedigree",
	"pedigree/layout",
	"pedigree/demography",
	"pedigree/markers",
	"pedigree/studbook/disk",
	"pedigree/studbook/journal",
	"pedigree/studbook/exchange",
	"pairing/internal/bonds",
	"pairing/internal/broods",
	"pairing",
	"pairing/forecast",
	"pairing/transfer",
	"pairing/review",
	"pairing/board",
	"examples",
	"examples/generate",
	"pedigree/studbook/studbooktest",
	"cmd/pairwright/internal/golden",
	"cmd/pairwright/internal/licences",
	"cmd/pairwright/internal/browser",
	"cmd/pairwright/internal/document",
	"cmd/pairwright/internal/svg",
	"cmd/pairwright/internal/drawing",
	"cmd/pairwright/internal/report",
	"cmd/pairwright/internal/contract",
	"cmd/pairwright/internal/question",
	"cmd/pairwright/internal/web",
	"cmd/pairwright",
}

// alone says which outside modules belong to which rooms: "pairing/..." is
// pairing and all rooms inside it.
var alone = map[string][]string{
	"github.com/gocarina/gocsv":            {"pedigree/studbook"},
	"github.com/BurntSushi/toml":           {"pedigree/studbook", "pedigree/studbook/exchange"},
	"golang.org/x/text":                    {"pedigree/studbook", "pedigree/studbook/exchange"},
	"gonum.org/v1/gonum":                   {"pedigree/...", "pairing/..."},
	"github.com/sourcegraph/conc":          {"pedigree/...", "pairing/...", "cmd/pairwright", "cmd/pairwright/internal/web"},
	"github.com/xuri/excelize":             {"pedigree/studbook", "pedigree/studbook/exchange", "cmd/pairwright/internal/document"},
	"github.com/rivo/uniseg":               {"cmd/pairwright/internal/document"},
	"html/template":                        {"cmd/pairwright/internal/document", "cmd/pairwright/internal/web"},
	"github.com/spf13/cobra":               {"cmd/pairwright"},
	"github.com/inconshreveable/mousetrap": {"cmd/pairwright"}, // cobra brings it along
	"github.com/spf13/pflag":               {"cmd/pairwright"},
	"github.com/chromedp":                  {"cmd/pairwright/internal/browser"},
	"github.com/stretchr/testify":          {"pedigree/studbook/studbooktest", "cmd/pairwright/internal/golden", "cmd/pairwright/internal/browser"},
}

// TestDataFlowsOneWay reads the imports of every file that is not a test.
func TestDataFlowsOneWay(t *testing.T) {
	root := os.DirFS("../..")
	packages := map[string]bool{}
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		source, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, source, parser.ImportsOnly)
		if err != nil {
			return err
		}
		room := path.Dir(name)
		packages[room] = true
		here := slices.Index(line, room)
		assert.GreaterOrEqual(t, here, 0, "%s is in no known room: put its place in the line", name)
		for _, spec := range file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if ours, ok := strings.CutPrefix(imported, "pairwright/"); ok {
				assert.Less(t, slices.Index(line, ours), here, "%s imports %s, which stands behind it", name, imported)
			}
			guarded := !strings.Contains(strings.Split(imported, "/")[0], ".") // the standard library is free but for what is named
			for module, homes := range alone {
				if imported == module || strings.HasPrefix(imported, module+"/") {
					guarded = true
					assert.True(t, slices.ContainsFunc(homes, func(home string) bool { return isIn(room, home) }), "%s imports %s", name, imported)
				}
			}
			assert.True(t, guarded || strings.HasPrefix(imported, "pairwright/"), "%s imports %s: say in which rooms that module may stand", name, imported)
		}
		return nil
	})
	require.NoError(t, err)
	for module, homes := range alone {
		for _, home := range homes {
			assert.True(t, slices.ContainsFunc(line, func(room string) bool { return isIn(room, home) }), "%s may stand in a room that does not exist", module)
		}
	}
	for _, room := range line {
		assert.True(t, packages[room], "the line names %s, which does not exist", room)
	}
}

// TestTheEngineStartsNoGoroutineOfItsOwn: what is computed beside goes through conc, which
// hands a panic on to whoever waits: a page that fails does not end the server for all.
func TestTheEngineStartsNoGoroutineOfItsOwn(t *testing.T) {
	handed := 0
	inTheEngine(t, func(n ast.Node, where token.Position) {
		switch n := n.(type) {
		case *ast.GoStmt:
			assert.Fail(t, "a go statement", "%s", where)
		case *ast.SelectorExpr:
			if on, ok := n.X.(*ast.Ident); ok && n.Sel.Name == "WaitGroup" {
				assert.Equal(t, "conc", on.Name, "%s", where)
				handed++
			}
		}
	})
	assert.Greater(t, handed, 10, "groups were looked at")
}

// TestTheEngineLeavesWordsToTheReport reads every text in what computes: none names a
// flag of the command, and none rounds a number (but %g, which writes a limit of a
// finding as it was given).
func TestTheEngineLeavesWordsToTheReport(t *testing.T) {
	flag, rounded := regexp.MustCompile(`(^|[ (])--[a-z]`), regexp.MustCompile(`%[-+ 0-9]*\.[0-9*]*[feg]|%[-+ 0-9]*[fe]`)
	texts := 0
	inTheEngine(t, func(n ast.Node, where token.Position) {
		if text, ok := n.(*ast.BasicLit); ok && text.Kind == token.STRING {
			texts++
			said, err := strconv.Unquote(text.Value)
			require.NoError(t, err)
			assert.NotRegexp(t, flag, said, "%s names a flag", where)
			assert.NotRegexp(t, rounded, said, "%s rounds a number", where)
		}
	})
	assert.Greater(t, texts, 1000, "texts were looked at")
}

// TestFilesAreWrittenInOneRoom: whatever is to stay is written whole or not at all, which
// disk alone knows how to do. Folders may be made elsewhere; what a file is written to
// for a moment is named here, and so is what only developers run.
func TestFilesAreWrittenInOneRoom(t *testing.T) {
	writes := []string{"Create", "CreateTemp", "OpenFile", "WriteFile", "Rename", "Link", "Symlink", "Truncate", "Remove", "Chmod"}
	passing := []string{
		"cmd/pairwright/internal/web/import.go",    // an upload on its way to be read
		"cmd/pairwright/internal/golden/golden.go", // what tests expect
		"examples/generate/main.go",                // the example
	}
	met := map[string]bool{}
	inTheTree(t, []string{"pedigree/...", "pairing/...", "cmd/...", "examples/..."}, func(n ast.Node, where token.Position) {
		call, ok := n.(*ast.SelectorExpr)
		if !ok || !slices.Contains(writes, call.Sel.Name) {
			return
		}
		if on, ok := call.X.(*ast.Ident); !ok || on.Name != "os" && on.Name != "root" {
			return
		}
		room := path.Dir(where.Filename)
		met[room] = true
		assert.True(t, room == "pedigree/studbook/disk" || slices.Contains(passing, where.Filename), "%s writes", where)
	})
	assert.Len(t, met, 1+len(passing), "the places that write are still there")
}

// inTheEngine calls look for everything that stands in what computes, tests aside.
func inTheEngine(t *testing.T, look func(n ast.Node, where token.Position)) {
	inTheTree(t, []string{"pedigree/...", "pairing/..."}, look)
}

// inTheTree calls look for everything that stands in some rooms, tests aside.
func inTheTree(t *testing.T, rooms []string, look func(n ast.Node, where token.Position)) {
	root := os.DirFS("../..")
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || !slices.ContainsFunc(rooms, func(room string) bool { return isIn(path.Dir(name), room) }) {
			return err
		}
		source, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, name, source, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if n != nil {
				look(n, files.Position(n.Pos()))
			}
			return true
		})
		return nil
	})
	require.NoError(t, err)
}

// TestEveryFileIsInTheTableOfItsRoom: where the comment of a package says which file holds
// what, it names them all.
func TestEveryFileIsInTheTableOfItsRoom(t *testing.T) {
	root, tables := os.DirFS("../.."), 0
	for _, room := range line {
		doc, err := fs.ReadFile(root, room+"/doc.go")
		if err != nil || strings.Count(string(doc), "\n//\t") < 2 {
			continue
		}
		tables++
		files, err := fs.Glob(root, room+"/*.go")
		require.NoError(t, err)
		for _, name := range files {
			if base := path.Base(name); base != "doc.go" && !strings.HasSuffix(base, "_test.go") {
				assert.Contains(t, string(doc), base, room)
			}
		}
	}
	assert.Greater(t, tables, 8, "tables were looked at")
}

// isIn reports whether a room is the one named, or inside it where all of
// these are.
func isIn(room, home string) bool {
	outer, all := strings.CutSuffix(home, "/...")
	return room == outer || all && strings.HasPrefix(room, outer+"/")
}
