package studbook

import (
	"bytes"
	"testing"
	"testing/fstest"

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

// FuzzChoices: any bytes are a season of one's own, or changes to ask about, or say
// what is wrong with them, and the same each time. A season that is read speaks of
// birds that there are, and comes back as it is written.
func FuzzChoices(f *testing.F) {
	for _, text := range []string{
		"what,birds,to,chicks,fixed,reason\nmove,A,J,,yes,\nbond,C; A,,,,x\npart,\"B; A\",,,no,\nhatch,C; D,,2,x,\n",
		"what;birds;to;number;sex;year;chicks\nmove;A, B;J;;;;\nfounder;;H;2;f;2030;\nplaces;;J;-3;;;\nleave;;J;;;;\nleave;C;;;;;\nhatch;\"C; D\";;;;;0\n",
		"what,birds,chicks\nhop,A,1e3\nhatch,A; A,-1\nhatch,A; C; D,٣\nmove,wild,\n,,\n", "what\tbirds\nbond\tB=0.5; D\n",
	} {
		f.Add([]byte(text))
		f.Add(wide(text, true))
	}
	c, err := Read(f.Context(), inMemory(sound), "studbook.csv", Options{Today: today})
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, raw []byte) {
		season, err := c.ReadSeason(t.Context(), "mine.csv", raw)
		again, err2 := c.ReadSeason(t.Context(), "mine.csv", raw)
		assert.Equal(t, season, again)
		assert.Equal(t, findingsOf(t, c, err), findingsOf(t, c, err2), "the same bytes, the same findings")
		for _, x := range season {
			for _, id := range x.Birds {
				require.NotNil(t, c.At(today).Bird(id), "%q of %v", id, x)
			}
			require.True(t, x.What != RulesHatch || x.Chicks >= 0, "%v", x)
		}
		if err == nil {
			var b bytes.Buffer
			require.NoError(t, WriteSeason(&b, season))
			back, err := c.ReadSeason(t.Context(), "mine.csv", b.Bytes())
			require.NoError(t, err, "what was written is read again")
			for _, all := range [][]Choice{season, back} {
				for k := range all {
					all[k].Line = 0
				}
			}
			assert.Equal(t, season, back)
		}

		files := fstest.MapFS{"changes.csv": {Data: raw}}
		supposed, err := ReadSuppositions(t.Context(), files, "changes.csv", c)
		supposedAgain, err2 := ReadSuppositions(t.Context(), files, "changes.csv", c)
		assert.Equal(t, supposed, supposedAgain)
		assert.Equal(t, findingsOf(t, c, err), findingsOf(t, c, err2), "the same bytes, the same findings")
		for _, x := range supposed {
			for _, id := range x.Birds {
				_, ok := c.register().find(id)
				require.True(t, ok, "%q of %v", id, x)
			}
			require.False(t, x.What == SupposeHatch && x.Chicks < 0 || x.What == SupposeFounder && x.Number < 0, "%v", x)
		}
	})
}
