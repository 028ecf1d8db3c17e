package studbook

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSeasonComesBack writes a season and reads it again.
func TestSeasonComesBack(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam\nA,F,,\nB,M,,\nC,F,,\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	want := []Choice{
		{What: RulesPart, Birds: []string{"A", "B"}, Chicks: -1, Reason: "they fight"},
		{What: RulesBond, Birds: []string{"C", "B"}, To: "X", Chicks: -1, Fixed: true},
		{What: RulesMove, Birds: []string{"A"}, To: "Y", Chicks: -1},
		{What: RulesHatch, Birds: []string{"B", "C"}, Chicks: 2, Fixed: true},
	}
	var b bytes.Buffer
	require.NoError(t, WriteSeason(&b, want))
	got, err := c.ReadSeason(t.Context(), "mine.csv", b.Bytes())
	require.NoError(t, err)
	for k := range got {
		assert.Equal(t, k+2, got[k].Line)
		got[k].Line = 0
	}
	assert.Equal(t, want, got)
	assert.True(t, got[3].SameBirds("C", "B"))
	assert.False(t, got[3].SameBirds("C"))
}

// TestFaultySeason: each fault is found, with its line.
func TestFaultySeason(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam\nA01,F,,\nB,M,,\nC,F,,\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	_, err = c.ReadSeason(t.Context(), "mine.csv", []byte("what;birds;to;chicks;fixed\nhop;A01;;;\nmove;A01;;;\nmove;A01;B;C;\nbond;A01;;;\nhatch;A01; B;;\nhatch;A1; B;;2;perhaps\nbond;A01, C;;;\nbond;\"A01; C\";;;\npart;\"B; B\";;;\nhatch;\"A01; B\";;;\n"))
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	at, codes := map[int]bool{}, map[string]bool{}
	for _, f := range faults.Findings {
		assert.Equal(t, "mine.csv", f.File)
		at[f.Line], codes[f.Code] = true, true
	}
	for line := 2; line <= 11; line++ {
		assert.True(t, at[line], "line %d", line)
	}
	assert.True(t, codes[codeBadFixed])
	_, err = c.ReadSeason(t.Context(), "mine.csv", nil)
	assert.ErrorAs(t, err, &faults)
}
