package review_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/demography"
)

// BenchmarkReview reviews one of ten colonies of a programme of 3,000 birds
// over 60 years, with the default gene drop.
func BenchmarkReview(b *testing.B) {
	for _, vague := range []bool{false, true} {
		name := map[bool]string{false: "certain", true: "vague"}[vague]
		c := grow(b, 7, size{birds: 3000, years: 60, places: 10, vague: vague})
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p, err := pairing.New(b.Context(), c.At(today))
				require.NoError(b, err)
				_, err = review.New(b.Context(), p, review.Options{Colony: "P0"})
				require.NoError(b, err)
			}
		})
	}
}

func BenchmarkHistory(b *testing.B) {
	c := grow(b, 7, size{birds: 3000, years: 60, places: 10})
	p := on(b, c, today)
	census := demography.NewCensus(p.Book)
	for b.Loop() {
		review.History(p, census, "P0")
	}
}
