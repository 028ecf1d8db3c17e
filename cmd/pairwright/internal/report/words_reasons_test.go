package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pairing"
)

// TestEqualsSayNothingAgainstAPair: among few pairs it is told how many are better, never a
// low share as if all others were.
func TestEqualsSayNothingAgainstAPair(t *testing.T) {
	say := func(ahead, behind float64, pairs int) string {
		return ratingText(pairing.Rating{AheadOf: ahead, Behind: behind}, pairs, "the programme's", "pair", "pairs")
	}
	assert.Equal(t, "none of the programme's 8 pairs is better, 5 are as good", say(2.0/8, 0, 8))
	assert.Equal(t, "the best of the programme's 8 pairs", say(7.0/8, 0, 8))
	assert.Equal(t, "1 of the programme's 8 pairs is better, 1 is as good", say(5.0/8, 1.0/8, 8))
	assert.Equal(t, "3 of the programme's 8 pairs are better", say(4.0/8, 3.0/8, 8))
	assert.Equal(t, "there is no other pair", say(0, 0, 1))
	assert.Equal(t, "ahead of 94 in a hundred of the programme's 18,450 pairs", say(0.9434, 0.05, 18450))
	assert.Equal(t, "none of the programme's 200 pairs is better, 149 are as good", say(50.0/200, 0, 200))
}
