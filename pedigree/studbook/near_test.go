package studbook

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDistance(t *testing.T) {
	for _, x := range []struct {
		a, b string
		far  int
	}{{"", "", 0}, {"mos", "moss", 1}, {"moss", "mos", 1}, {"moss", "msos", 1}, {"kitten", "sitting", 3}, {"ca", "abc", 3}, {"élan", "elan", 1}, {"abc", "xyz", 3}} {
		assert.Equal(t, x.far, distance(x.a, x.b, 5), x)
		assert.Equal(t, x.far, distance(x.b, x.a, 5), x)
		assert.Equal(t, min(x.far, 2), distance(x.a, x.b, 1), x)
	}
}

func TestNearBirds(t *testing.T) {
	birds := []Bird{
		{ID: "C0001", Name: "Moss", Band: "7-01", Recorded: true}, {ID: "C0002", Name: "Moss", Recorded: true}, {ID: "C0003", Name: "Most", Recorded: true},
		{ID: "C0010", Name: "Ross", Band: "HAF-117", Recorded: true}, {ID: "C0011", Name: "Campion", Recorded: true}, {ID: "Moz"},
	}
	alive := func(i int) bool { return i != 0 }
	near := func(written string) string { return OrOf(NearBirds(birds, written, alive)) }
	assert.Equal(t, "C0002 (Moss) or C0003 (Most) or C0001 (Moss)", near("Mos"), "the living first, and no parent without a row")
	assert.Equal(t, "C0002 (Moss) or C0001 (Moss)", near("moss"), "all that are called so, and no other")
	assert.Equal(t, "C0001", near("c001"), "but for a zero")
	assert.Equal(t, "C0011 (Campion)", near("Campoin"))
	assert.Equal(t, "C0011 (Campion)", near("camp"), "a beginning")
	assert.Equal(t, "C0010 (HAF-117)", near("HAF-171"), "a band")
	assert.Empty(t, near("Waldemar"))
	assert.Empty(t, near(""))
}

func TestNearPlaces(t *testing.T) {
	on := []Institution{{Code: "HAF", Name: "Harrow Fell Bird Park"}, {Code: "LIS", Name: "Lisse"}}
	used := []string{"", "HAF", "QUM"}
	near := func(written string) string { return OrOf(NearPlaces(on, used, written)) }
	assert.Equal(t, "HAF", near("HAX"))
	assert.Equal(t, "QUM", near("qum"))
	assert.Equal(t, "HAF (Harrow Fell Bird Park)", near("Harrow"))
	assert.Empty(t, near("Atlantis"))
}
