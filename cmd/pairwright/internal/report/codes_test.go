package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// parsed are the files of some rooms, tests aside.
func parsed(t *testing.T, rooms ...string) (files []*ast.File) {
	t.Helper()
	root := os.DirFS("../../../..")
	for _, room := range rooms {
		names, err := fs.Glob(root, room+"/*.go")
		require.NoError(t, err)
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			source, err := fs.ReadFile(root, name)
			require.NoError(t, err)
			file, err := parser.ParseFile(token.NewFileSet(), name, source, 0)
			require.NoError(t, err)
			files = append(files, file)
		}
	}
	return files
}

// TestEveryCodeHasWords reads every code of a reason and every kind of a task that the engine
// declares, and finds it where the report chooses words: one that no case or table has would
// be given those of another, or be shown as a code. Of whatever is a text in the engine no
// two constants of one type have one value.
func TestEveryCodeHasWords(t *testing.T) {
	rooms := []string{"pairing", "pairing/transfer", "pairing/review", "pairing/board"}
	types := map[string]bool{}
	for _, f := range parsed(t, rooms...) {
		ast.Inspect(f, func(n ast.Node) bool {
			if of, ok := n.(*ast.TypeSpec); ok {
				if base, ok := of.Type.(*ast.Ident); ok && base.Name == "string" {
					types[of.Name.Name] = true
				}
			}
			return true
		})
	}
	chosen := map[string]bool{} // "pairing.TooCloseKin"
	for _, f := range parsed(t, "cmd/pairwright/internal/report") {
		ast.Inspect(f, func(n ast.Node) bool {
			if of, ok := n.(*ast.SelectorExpr); ok {
				if in, ok := of.X.(*ast.Ident); ok {
					chosen[in.Name+"."+of.Sel.Name] = true
				}
			}
			return true
		})
	}
	codes := 0
	first := map[string]string{} // by type and value
	for _, room := range rooms {
		for _, f := range parsed(t, room) {
			ast.Inspect(f, func(n ast.Node) bool {
				of, ok := n.(*ast.ValueSpec)
				if !ok || len(of.Values) != 1 || of.Type == nil {
					return true
				}
				name := ""
				switch typed := of.Type.(type) {
				case *ast.Ident:
					name = typed.Name
				case *ast.SelectorExpr:
					name = typed.Sel.Name
				}
				value, ok := of.Values[0].(*ast.BasicLit)
				if !ok || value.Kind != token.STRING || !types[name] || !of.Names[0].IsExported() {
					return true
				}
				codes++
				code := path.Base(room) + "." + of.Names[0].Name
				if name == "Code" || name == "TaskKind" {
					assert.True(t, chosen[code], "nothing chooses words for %s", code)
				}
				said, err := strconv.Unquote(value.Value)
				require.NoError(t, err)
				if other, twice := first[name+" "+said]; twice && said != "" {
					assert.Fail(t, "two codes of one value", "%s and %s are both %q", other, code, said)
				}
				first[name+" "+said] = code
				return true
			})
		}
	}
	assert.Greater(t, codes, 200, "codes were looked at")
}
