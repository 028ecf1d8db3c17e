package studbook

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestFormulas: what a spreadsheet would run is written so that it does not, and
// reads back the same. The signs are those of OWASP's page on CSV injection.
func TestFormulas(t *testing.T) {
	for _, tt := range []struct {
		cell, written string
		warned        bool
	}{
		{"", "", false}, {"Moss", "Moss", false}, {"'Moss", "'Moss", false}, {"'", "'", false},
		{`=HYPERLINK("http://x","y")`, `'=HYPERLINK("http://x","y")`, true},
		{"=1+1", "'=1+1", true}, {"@SUM(A1)", "'@SUM(A1)", true}, {"+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0", true}, {"-2+3+cmd", "'-2+3+cmd", true},
		{"\t=1", "'\t=1", false}, {"\r=1", "'\r=1", false},
		{"'=1+1", "''=1+1", false}, {"''=1+1", "'''=1+1", false}, {"'-", "''-", false},
		{"-", "'-", false}, {"--", "'--", false}, {"- a remark", "'- a remark", false}, {"– a remark", "– a remark", false},
		{"-0.5", "-0.5", false}, {"+3", "+3", false}, {"-1e-9", "-1e-9", false}, {"'-0.5", "'-0.5", false},
	} {
		assert.Equal(t, tt.written, Guarded(tt.cell), "%q", tt.cell)
		assert.Equal(t, tt.cell, Unguarded(Guarded(tt.cell)), "%q", tt.cell)
		assert.Equal(t, tt.warned, formula(tt.cell), "%q", tt.cell)
	}
}

func FuzzGuarded(f *testing.F) {
	for _, s := range []string{"=1", "'=1", "''-x", "-1", "'-1", "'", "\t'"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, cell string) {
		assert.Equal(t, cell, Unguarded(Guarded(cell)))
		assert.False(t, runs(Guarded(cell)))
	})
}

func TestFormulasComeBack(t *testing.T) {
	birds := []Bird{{ID: "=A", Name: "@SUM(1)", Sex: Female, Recorded: true, Line: 2, Notes: "'=1"}, {ID: "-B", Name: "-", Sex: Male, Recorded: true, Line: 3, Notes: "+1"}}
	var b bytes.Buffer
	require.NoError(t, Write(&b, birds))
	assert.NotContains(t, b.String(), ",@")
	_, err := Read(t.Context(), folder("studbook.csv", b.String()), "studbook.csv", Options{})
	require.NotNil(t, err, "an id with = is an error, however it is written")
	assert.Contains(t, err.Error(), `id "=A"`)
	birds[0].ID = "+A"
	b.Reset()
	require.NoError(t, Write(&b, birds))
	c, err := Read(t.Context(), folder("studbook.csv", b.String()), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, birds, c.Birds)
	var warned []string
	for _, f := range c.Warnings {
		warned = append(warned, brief(f))
	}
	assert.ElementsMatch(t, []string{"warning studbook.csv:2 id formula", "warning studbook.csv:2 name formula", "warning studbook.csv:3 id formula"}, warned)
}
