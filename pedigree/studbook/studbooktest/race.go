package studbooktest

import "testing"

// Race is whether the tests are watched for data races.
var Race bool

// WithoutRace leaves a test of many answers to the run without the race detector,
// under which it takes minutes and meets no goroutine that others do not.
func WithoutRace(t *testing.T) {
	t.Helper()
	if Race {
		t.Skip("runs without the race detector")
	}
}
