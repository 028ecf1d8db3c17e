package exchange

import (
	"math/rand/v2"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestWeightLast holds the parting of a weight from what stands before it against an
// expression, which says the same and takes twenty times as long.
func TestWeightLast(t *testing.T) {
	oracle := regexp.MustCompile(`(?s)^(.*?)[\s:=]*[(\[]?\s*((?:[0-9]*[.,])?[0-9]+)\s*(%?)\s*[)\]]?$`)
	const letters = "A1207.,=:([%)] \t\n"
	random := rand.New(rand.NewPCG(1, 2))
	found := 0
	for range 300_000 {
		s := make([]byte, random.IntN(10))
		for k := range s {
			s[k] = letters[random.IntN(len(letters))]
		}
		body, number, percent, ok := weightLast(string(s))
		m := oracle.FindStringSubmatch(string(s))
		require.Equal(t, m != nil, ok, "%q", s)
		if ok {
			found++
			require.Equal(t, m[1:], []string{body, number, map[bool]string{true: "%"}[percent]}, "%q", s)
		}
	}
	require.Greater(t, found, 50_000)
}
