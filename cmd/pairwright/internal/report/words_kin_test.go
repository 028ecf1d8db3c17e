package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/cmd/pairwright/internal/document"
)

// The kinships of kin are those of Wright 1922, the words are ours. A figure
// that is printed like a level is never said to be below or above it.
func TestKinLevel(t *testing.T) {
	for f, want := range map[float64]string{
		0:        "unrelated",
		1e-9:     "below the level of first cousins (0.0625)",
		0.06244:  "below the level of first cousins (0.0625)",
		0.062495: "the level of first cousins",
		0.0625:   "the level of first cousins",
		0.062549: "the level of first cousins",
		0.1:      "between first cousins (0.0625) and half siblings (0.125)",
		0.125:    "the level of half siblings",
		0.2:      "between half siblings (0.125) and full siblings (0.25)",
		0.249951: "the level of full siblings, or of parent and chick",
		0.5:      "closer than full siblings (0.25)",
	} {
		assert.Equal(t, want, kinLevel(f), document.FormatKinship(f))
	}
}
