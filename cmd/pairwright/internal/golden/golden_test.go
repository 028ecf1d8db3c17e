package golden

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNearly(t *testing.T) {
	for _, x := range []struct {
		name, want, got string
		near            bool
	}{
		{"same", `{"a": 1.5}`, `{"a": 1.5}`, true},
		{"last digit", "0.010117493472584857", "0.010117493472584859", true},
		{"rounded to a whole number", `[1, 2]`, `[1.0000000000000002, 2]`, true},
		{"exponent", "a,5e-05\n", "a,0.00005000000000000001\n", true},
		{"in a list", "C1=0.7; C2 (0.125)", "C1=0.7000000000000001; C2 (0.125)", true},
		{"too far", "0.25", "0.2500000003", false},
		{"near zero is not zero", "1e-18", "0", false},
		{"sign", "0.5", "-0.5", false},
		{"id", `"05"`, `"5"`, false},
		{"whole number", "1000000000000", "1000000000001", false},
		{"word", "C0734", "C0735", false},
		{"key", `{"a": 1.5}`, `{"b": 1.5}`, false},
		{"null", "null", "0.0", false},
		{"one more", "1.5,2.5", "1.5,2.5,3.5", false},
		{"layout", "1.5, 2.5", "1.5,\n2.5", false},
		{"not a number", "0.5", "NaN", false},
	} {
		err := Nearly(x.want, x.got)
		assert.Equal(t, x.near, err == nil, "%s: %v", x.name, err)
	}
}
