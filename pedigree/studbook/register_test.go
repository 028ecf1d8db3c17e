package studbook

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRegister: a register finds what a map of the same ids does, and grows.
func TestRegister(t *testing.T) {
	rnd := rand.New(rand.NewPCG(14, 4))
	for range 50 {
		r, oracle := newRegister(rnd.IntN(20)), map[string]int{}
		for range rnd.IntN(500) {
			id := fmt.Sprint(rnd.IntN(300))
			want, twice := oracle[id]
			if !twice {
				want = len(oracle)
				oracle[id] = want
			}
			place, again := r.add(id)
			require.Equal(t, []any{want, twice}, []any{place, again})
		}
		for k := range 320 {
			want, there := oracle[fmt.Sprint(k)]
			place, found := r.find(fmt.Sprint(k))
			require.Equal(t, there, found)
			if there {
				require.Equal(t, want, place)
			}
		}
	}
}

// TestSlotsOfOneNumber: places with one number, or one half of it, are told apart.
func TestSlotsOfOneNumber(t *testing.T) {
	s := newSlots(0)
	number := func(place int32) uint64 { return uint64(place%3)<<32 | uint64(place%2) }
	for place := range int32(100) {
		slot, _, there := s.find(number(place), func(p int32) bool { return p == place })
		require.False(t, there)
		s.put(slot, number(place), place, number)
	}
	for place := range int32(101) {
		_, found, there := s.find(number(place), func(p int32) bool { return p == place })
		assert.Equal(t, place < 100, there)
		if there {
			assert.Equal(t, place, found)
		}
	}
}

// TestCoresChangeNothing: what is read of many rows, and every finding, is the same
// whatever the number of cores.
func TestCoresChangeNothing(t *testing.T) {
	rnd := rand.New(rand.NewPCG(14, 5))
	var text strings.Builder
	text.WriteString("id,name,sex,sire,dam,hatch_date\n")
	pick := func(of ...string) string { return of[rnd.IntN(len(of))] }
	for i := range 20_000 {
		fmt.Fprintf(&text, "B%d,%s,%s,%s,%s,%d-%s\n", i-i%500/499, pick("Pip", "Moss", "=1+1", "a\x01", "#N/A"), pick("F", "M", "U", "cock"),
			pick("", "wild", "?", "B1", "B1=0.5;B3", "A=0.5"), pick("", "", "B2", "B4;B6", "B0=1"), 1950+i/500, pick("05-12", "05", "13", "02-30", "12-XX"))
	}
	read := func(cores int) ([]Finding, []Bird, []Life) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		r := newReader(t.Context(), folder("studbook.csv", text.String()), "studbook.csv", Options{})
		require.NoError(t, r.read())
		r.nameBirds()
		return r.sorted(), r.colony.Birds, r.colony.lives
	}
	findings, birds, lives := read(1)
	require.Greater(t, len(findings), 1000)
	for _, cores := range []int{2, 5} {
		got, same, alike := read(cores)
		require.Equal(t, findings, got)
		require.Equal(t, birds, same)
		require.Equal(t, lives, alike)
	}
}

// TestLargeLists: a list is as long as is asked for and blank, wherever its pages begin.
func TestLargeLists(t *testing.T) {
	for _, n := range []int{0, 1, 1000, 1 << 20, 1<<20 + 4097} {
		list := large[link](n)
		require.Len(t, list, n)
		for i := range list {
			if list[i] != (link{}) {
				t.Fatalf("%d of %d is not blank", i, n)
			}
			list[i] = link{int32(i), int32(i), 1}
		}
	}
}
