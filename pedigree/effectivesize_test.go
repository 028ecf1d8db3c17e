package pedigree

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

const (
	gutierrez08 = "page: Gutiérrez JP et al. 2008, Genet Sel Evol 40:359-378"
	gutierrez09 = "memory: Gutiérrez JP, Cervantes I, Goyache F 2009, J Anim Breed Genet 126:327-332"
)

func TestIncreaseInInbreeding(t *testing.T) {
	// The form of 2008 has 1/t for 1/(t−1): the same with one generation more.
	d, ok := increaseInInbreeding(0.125, 3+1)
	assert.True(t, ok)
	assert.InDelta(t, 0.043534, d, 1e-6, "PED-04, %s", gutierrez08)
	d, ok = increaseInInbreeding(0.125, 3)
	assert.True(t, ok)
	assert.InDelta(t, 0.064586, d, 1e-6, "PED-05, %s", gutierrez09)
	_, ok = increaseInInbreeding(0, 1)
	assert.False(t, ok)
	d, ok = increaseInInbreeding(1, 2)
	assert.True(t, ok)
	assert.Equal(t, 1.0, d)
}

func TestEffectiveSize(t *testing.T) {
	r := effectiveSize([]float64{0.02, 0.03, 0.01})
	assert.InDelta(t, 25, r.Size, 1e-9, "PED-06, %s", gutierrez09)
	assert.Equal(t, 3, r.Birds)
	// s = 0.01, s.e. of the mean 0.01/√3; 2·25²·0.01/√3.
	assert.InDelta(t, 7.216878364870323, r.StandardError, 1e-9, "worked by hand, %s", gutierrez09)

	assert.Zero(t, effectiveSize(nil).Size)
	assert.Zero(t, effectiveSize([]float64{0, 0}).Size)
	assert.Zero(t, effectiveSize([]float64{0.1}).StandardError)
}

func TestRealisedEffectiveSize(t *testing.T) {
	// Full sibs mated: F = 1/4 at t = 2, so ΔF = 1/4 and Nₑ = 2.
	p := parse(t, "C=A+B; D=A+B; X=C+D; Y=C+D")
	r, ok := p.Population(nodes(t, p, "A C X Y")).RealisedEffectiveSize()
	assert.True(t, ok)
	assert.Equal(t, RealisedSize{Size: 2, Increase: 0.25, Birds: 2, Inbred: 2, Skipped: 2}, r, "worked by hand")

	r, ok = p.Population(nodes(t, p, "A C D")).RealisedEffectiveSize()
	assert.False(t, ok, "no member with more than one generation")
	assert.Equal(t, RealisedSize{Skipped: 3}, r)

	p = parse(t, "C=A+B; D=E+G; X=C+D")
	r, ok = p.Population(nodes(t, p, "X")).RealisedEffectiveSize()
	assert.False(t, ok, "nobody inbred")
	assert.Equal(t, RealisedSize{Birds: 1}, r)

	_, ok = p.Population(nil).RealisedEffectiveSize()
	assert.False(t, ok)
}
