package studbook

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What people take for one id and for two: common practice, no source.
func TestPlainID(t *testing.T) {
	for _, one := range [][]string{
		{"A8", "a8", "A 8", "A-8", "A_8", "A.08", "a  - 8", "А8"},
		{"HAF12", "HAF-12", "haf 0012", "HAF-I2", "HAF l2"},
		{"12A", "12-a", "012 A"},
		{"Bl", "B1", "BI"},
		{"Ä8", "Ä-8", "A\u03088"},
		{"7-12", "07-12", "7-012"},
	} {
		for _, id := range one[1:] {
			assert.Equal(t, PlainID(one[0]), PlainID(id), "%q and %q", one[0], id)
		}
	}
	for _, two := range [][2]string{
		{"7-12", "71-2"}, {"7-12", "712"}, {"7 12", "7-12"}, {"bl", "b1"}, {"K-M", "KM"}, {"A80", "A8"}, {"-8", "8"}, {"8-", "8"},
	} {
		assert.NotEqual(t, PlainID(two[0]), PlainID(two[1]), "%q and %q", two[0], two[1])
	}
}
