package review_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// on returns the programme of a colony on a day.
func on(t testing.TB, c *studbook.Colony, day studbook.Day) *pairing.Programme {
	t.Helper()
	p, err := pairing.New(t.Context(), c.At(day))
	require.NoError(t, err)
	return p
}

// size of a grown programme.
type size struct {
	birds, years, places int
	vague                bool // some dates in part, some parents uncertain, two founders related
}

// lastYear is the last year of a grown programme.
const lastYear = 2025

// grow makes up a programme by chance: founders of the wild, pairs that stay
// together, chicks, deaths, moves between the places P0, P1, ...
func grow(t testing.TB, seed uint64, want size) *studbook.Colony {
	random := rand.New(rand.NewPCG(seed, 1))
	type bird struct {
		id, sire, dam, hatch, death, at string
		sex                             byte
		year, dies                      int
		mate                            *bird
		wild                            bool
	}
	var all []*bird
	var bonds, clutches, moves strings.Builder
	date := func(year int) string {
		d := fmt.Sprintf("%d-%02d-%02d", year, 1+random.IntN(12), 1+random.IntN(28))
		if want.vague && random.IntN(12) == 0 {
			return d[:4+3*random.IntN(2)]
		}
		return d
	}
	place := func() string { return fmt.Sprint("P", random.IntN(want.places)) }
	enter := func(b *bird, year int) {
		b.id = fmt.Sprintf("B%05d", len(all)+1)
		b.sex = "FM"[random.IntN(2)]
		b.year, b.hatch = year, date(year)
		b.dies = year + 1 + random.IntN(22)
		if !b.wild && random.IntN(4) == 0 {
			b.dies = year
		}
		if want.vague && random.IntN(40) == 0 && b.dies > year {
			b.hatch = ""
		}
		if b.dies <= lastYear && b.hatch != "" {
			if b.death = date(b.dies); b.dies == year {
				b.hatch, b.death = fmt.Sprint(year, "-05-01"), fmt.Sprint(year, "-06-0", 1+random.IntN(9))
			}
		}
		all = append(all, b)
	}
	first := lastYear - want.years + 1
	perYear := max(1, want.birds/want.years)
	for year := first; year <= lastYear; year++ {
		founders := 0
		if year < first+6 || year%12 == 0 {
			founders = 1 + perYear/3
		}
		for range founders {
			enter(&bird{wild: true, at: place()}, year)
		}
		var pairs [][2]*bird
		free := map[byte][]*bird{}
		for _, b := range all {
			if b.dies <= year || b.year > year-2 {
				continue
			}
			if b.mate == nil || b.mate.dies <= year {
				b.mate = nil
				free[b.sex] = append(free[b.sex], b)
			}
			if b.sex == 'F' && b.mate != nil {
				pairs = append(pairs, [2]*bird{b, b.mate})
			}
		}
		for _, f := range free['F'] {
			n := len(free['M'])
			if n == 0 {
				break
			}
			k := random.IntN(n)
			m := free['M'][k]
			free['M'] = append(free['M'][:k:k], free['M'][k+1:]...)
			if f.at != m.at {
				fmt.Fprintf(&moves, "%s,%d-02-%02d,%s,%s\n", m.id, year, 1+random.IntN(28), m.at, f.at)
				m.at = f.at
			}
			f.mate, m.mate = m, f
			until := ""
			if end := min(f.dies, m.dies); end <= lastYear {
				until = fmt.Sprint(end, "-12-31")
			}
			fmt.Fprintf(&bonds, "%s,%s,%d-03-01,%s\n", f.id, m.id, year, until)
			pairs = append(pairs, [2]*bird{f, m})
		}
		for range perYear {
			if len(pairs) == 0 || len(all) >= want.birds {
				break
			}
			pair := pairs[random.IntN(len(pairs))]
			chick := &bird{sire: pair[1].id, dam: pair[0].id, at: pair[0].at}
			switch other := pairs[random.IntN(len(pairs))][1].id; {
			case want.vague && random.IntN(15) == 0:
				chick.sire = ""
			case want.vague && random.IntN(15) == 0 && other != chick.sire:
				chick.sire = chick.sire + "=0.6; " + other + "=0.3"
			}
			enter(chick, year)
			fledged := 1
			if chick.dies == year {
				fledged = 0
			}
			fmt.Fprintf(&clutches, "%s,%s,%d-04-01,2,1,1,%d\n", pair[0].id, pair[1].id, year, fledged)
		}
	}
	var book strings.Builder
	for _, b := range all {
		origin := "captive"
		if b.wild {
			b.sire, b.dam, origin = "wild", "wild", "wild"
		}
		fmt.Fprintf(&book, "%s,%c,%s,%s,%s,%s,%s,%s\n", b.id, b.sex, b.sire, b.dam, b.hatch, b.death, b.at, origin)
	}
	files := []string{
		"studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\n" + book.String(),
		"bonds.csv", "female,male,since,until\n" + bonds.String(),
		"clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\n" + clutches.String(),
		"moves.csv", "id,date,from,to\n" + moves.String(),
		"programme.toml", "home = \"P0\"\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n",
	}
	if want.vague {
		files = append(files, "founder_kinship.csv", "id1,id2,kinship\nB00001,B00002,0.125\n")
	}
	return studbooktest.Read(t, files...)
}
