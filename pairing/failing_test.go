package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pairing"
)

// TestFailingPairsHaveOneRule: two seasons in a row without a chick, at whatever stage, and the
// stage is told by what was last reached. (The number of seasons is common practice, no source:
// pairs are reviewed after two to three failed seasons.)
func TestFailingPairsHaveOneRule(t *testing.T) {
	for name, c := range map[string]struct {
		clutches string
		code     pairing.Code // "" where the pair may be planned on
		count    int
		examine  bool // with their eggs left to them
	}{
		"few were fertile":           {"F1,M1,2023-03-01,3,1,0,0\nF1,M1,2024-03-01,3,0,0,0\nF1,M1,2025-03-01,3,0,0,0\n", pairing.FailedInfertile, 3, true},
		"embryos died":               {"F1,M1,2024-03-01,2,2,0,0\nF1,M1,2025-03-01,2,1,0,0\n", pairing.FailedFertile, 2, false},
		"chicks died":                {"F1,M1,2024-03-01,2,2,2,0\nF1,M1,2025-03-01,2,1,0,0\n", pairing.FailedChicks, 2, false},
		"nobody looked":              {"F1,M1,2024-03-01,2,,0,\nF1,M1,2025-03-01,2,,0,\n", pairing.FailedUnseen, 2, true},
		"never fertile":              {"F1,M1,2023-03-01,2,0,,\nF1,M1,2024-03-01,2,0,,\nF1,M1,2025-03-01,2,0,,\n", pairing.NeverFertile, 3, true},
		"one season":                 {"F1,M1,2024-03-01,2,2,2,1\nF1,M1,2025-03-01,2,0,0,0\n", "", 0, false},
		"replaced in between":        {"F1,M1,2023-03-01,2,2,1,0\nF1,M1,2024-03-01,2,,replaced,\nF1,M1,2025-03-01,2,2,1,0\n", pairing.FailedChicks, 2, false},
		"two clutches of one season": {"F1,M1,2025-03-01,2,0,0,0\nF1,M1,2025-03-25,2,1,0,0\n", "", 0, false},
		"the season is not over":     {"F1,M1,2025-03-01,2,1,0,0\nF1,M1,2026-02-10,2,0,0,\n", "", 0, false},
	} {
		p := nesting(t, c.clutches)
		x := pairOf(t, p, planOf(t, p, 2), "F1")
		if c.code == "" {
			assert.Empty(t, x.Barred, name)
			continue
		}
		if assert.Len(t, x.Barred, 1, name) {
			assert.Equal(t, c.code, x.Barred[0].Code, name)
			assert.Equal(t, c.count, x.Barred[0].Count, name)
		}
		assert.Equal(t, pairing.Rest, x.Role, name)
		assert.Equal(t, c.examine, x.ToExamine(), name)
		_, failing := x.Failing()
		assert.True(t, failing, name)
	}
}
