package exchange

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// Other programs read what is exported.

// TestMatrixMarketInR compares the exported kinships of a published pedigree
// with what R's package Matrix made of that file. The data is in
// testdata/matrixmarket; its README says how it was made.
func TestMatrixMarketInR(t *testing.T) {
	open := os.DirFS(filepath.Join("..", "..", "..", "testdata", "open"))
	c, err := studbook.Read(t.Context(), open, "Mrode3.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	out, err := Export(t.Context(), c, "kinship", nil, asOf)
	require.NoError(t, err)
	market, err := memory(out.Files).ReadFile("kinship.mtx")
	require.NoError(t, err)
	given, err := os.ReadFile(filepath.Join("testdata", "matrixmarket", "kinship.mtx"))
	require.NoError(t, err)
	require.Equal(t, string(given), string(market), "R read the file that is exported")

	table, err := memory(out.Files).ReadFile("kinship.csv")
	require.NoError(t, err)
	ours, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	require.NoError(t, err)
	f, err := os.Open(filepath.Join("testdata", "matrixmarket", "read-by-R.csv"))
	require.NoError(t, err)
	defer f.Close()
	theirs, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, theirs, len(ours)-1)
	for i, row := range theirs {
		for j, cell := range row {
			want, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			got, err := strconv.ParseFloat(ours[i+1][j+1], 64)
			require.NoError(t, err)
			require.InDelta(t, want, got, 1e-15, "kinship of %s and %s", ours[i+1][0], ours[0][j+1])
		}
	}
}

// TestGraphvizDraws has Graphviz draw exported pedigrees, one of them with
// names that are hard to write, and finds every bird and every line again.
func TestGraphvizDraws(t *testing.T) {
	dot, err := exec.LookPath("dot")
	if err != nil {
		t.Skip("there is no Graphviz here: apt-get install graphviz")
	}
	hard := "id,name,sex,sire,dam\n\"a \"\"b\"\"\",Ärger,M,,\n\\N,<b>&amp;,F,,\nnode,a\\nb,U,\"a \"\"b\"\"=0.5; M9=0.25\",\\N\n"
	nasty, err := studbook.Read(t.Context(), fstest.MapFS{"studbook.csv": {Data: []byte(hard)}}, "studbook.csv", studbook.Options{Today: asOf})
	require.NoError(t, err)
	for name, c := range map[string]*studbook.Colony{"all there is": roundTrip(t), "hard names": nasty} {
		t.Run(name, func(t *testing.T) {
			out, err := Export(t.Context(), c, "dot", nil, asOf)
			require.NoError(t, err)
			cmd := exec.CommandContext(t.Context(), dot, "-Tsvg")
			cmd.Stdin = bytes.NewReader(out.Files[0].Content)
			var complaints bytes.Buffer
			cmd.Stderr = &complaints
			drawn, err := cmd.Output()
			require.NoError(t, err, complaints.String())
			assert.NotContains(t, complaints.String(), "syntax")
			nodes, edges, texts := drawing(t, drawn)
			lines := 0
			for _, b := range c.Birds {
				lines += len(b.Sire.Candidates) + len(b.Dam.Candidates)
				assert.Contains(t, texts, strings.TrimSpace(b.ID+" "+b.Name))
			}
			assert.Equal(t, len(c.Birds), nodes)
			assert.Equal(t, lines, edges)
		})
	}
}

// drawing counts the nodes and edges of a drawing by Graphviz and lists its
// texts.
func drawing(t *testing.T, svg []byte) (nodes, edges int, texts []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	inText := false
	for {
		token, err := d.Token()
		if err == io.EOF {
			return nodes, edges, texts
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			inText = x.Name.Local == "text"
			for _, a := range x.Attr {
				if x.Name.Local == "g" && a.Name.Local == "class" {
					switch a.Value {
					case "node":
						nodes++
					case "edge":
						edges++
					}
				}
			}
		case xml.CharData:
			if inText {
				texts = append(texts, strings.ReplaceAll(string(x), "\u00a0", " "))
			}
		case xml.EndElement:
			inText = false
		}
	}
}
