package exchange

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// truth is a bird as it really was, of which the files of the tests tell.
type truth struct {
	id, name  string
	sex       studbook.Sex
	sire, dam []studbook.Candidate // none where unknown
	hatch     time.Time
	death     time.Time // zero while it lives
	gone      time.Time // when it left the programme; zero if it did not
	place     string
}

func (b truth) living() bool { return b.death.IsZero() && b.gone.IsZero() }

func sure(id string) []studbook.Candidate {
	if id == "" {
		return nil
	}
	return []studbook.Candidate{{ID: id, Weight: 1}}
}

func (b truth) sireID() string { return only(b.sire) }

func (b truth) damID() string { return only(b.dam) }

func only(c []studbook.Candidate) string {
	if len(c) == 0 {
		return ""
	}
	return c[0].ID
}

func on(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }

// asOf is the day of all tests.
var asOf = studbook.DayOf(2024, time.December, 31)

// colonyOf invents a colony of the given number of birds with these ids: every
// year some of the living breed, and old birds die. It is the same for the same
// seed.
func colonyOf(seed uint64, ids []string) []truth {
	r := rand.New(rand.NewPCG(seed, 11))
	birds := make([]truth, len(ids))
	founders := min(10, len(ids)/3+2)
	for i, id := range ids {
		b := truth{id: id, name: fmt.Sprintf("%s%d", []string{"Ada", "Bruno", "Coco", "Dora", "Emil", "Flora"}[i%6], i), sex: studbook.Female, place: []string{"ALD", "BER"}[r.IntN(2)]}
		if i%2 == 0 {
			b.sex = studbook.Male
		}
		year := 1998 + (i-founders)*24/max(1, len(ids)-founders)
		if i < founders {
			year = 1990 + i/2
		} else {
			pick := func(sex studbook.Sex) string {
				for range 50 {
					p := birds[r.IntN(i)]
					if p.sex == sex && p.hatch.Year()+2 < year && (p.death.IsZero() || p.death.Year() > year) && (p.gone.IsZero() || p.gone.Year() > year) {
						return p.id
					}
				}
				return ""
			}
			b.sire, b.dam = sure(pick(studbook.Male)), sure(pick(studbook.Female))
		}
		b.hatch = on(year, 1+r.IntN(12), 1+r.IntN(28))
		switch x := r.IntN(10); {
		case x < 4 && year < 2012:
			b.death = b.hatch.AddDate(6+r.IntN(5), 2, 3)
		case x == 4 && year < 2012:
			b.gone = b.hatch.AddDate(7, 1, 2)
		}
		birds[i] = b
	}
	return birds
}

// slow is kinship by its plain definition (Malécot 1948): a bird that is no
// ancestor of the other is traced to its parents, with their weights.
type slow struct {
	birds map[string]truth
	rank  map[string]int
	memo  map[[2]string]float64
}

func newSlow(birds []truth) *slow {
	s := &slow{make(map[string]truth), make(map[string]int), make(map[[2]string]float64)}
	for _, b := range birds {
		s.birds[b.id] = b
	}
	for _, b := range birds {
		s.deep(b.id)
	}
	return s
}

// deep is the number of generations above a bird.
func (s *slow) deep(id string) int {
	if n, ok := s.rank[id]; ok {
		return n
	}
	n := 0
	for _, side := range [][]studbook.Candidate{s.birds[id].sire, s.birds[id].dam} {
		for _, c := range side {
			n = max(n, 1+s.deep(c.ID))
		}
	}
	s.rank[id] = n
	return n
}

func (s *slow) inbreeding(id string) float64 {
	f := 0.0
	for _, a := range s.birds[id].sire {
		for _, b := range s.birds[id].dam {
			f += a.Weight * b.Weight * s.kinship(a.ID, b.ID)
		}
	}
	return f
}

func (s *slow) kinship(a, b string) float64 {
	if a == b {
		return (1 + s.inbreeding(a)) / 2
	}
	if s.rank[a] < s.rank[b] || s.rank[a] == s.rank[b] && a < b {
		a, b = b, a
	}
	k := [2]string{a, b}
	if f, ok := s.memo[k]; ok {
		return f
	}
	f := 0.0
	for _, side := range [][]studbook.Candidate{s.birds[a].sire, s.birds[a].dam} {
		for _, c := range side {
			f += c.Weight * s.kinship(c.ID, b) / 2
		}
	}
	s.memo[k] = f
	return f
}

// imported imports a file and wants it not to stop.
func imported(t testing.TB, name string, content []byte, m Mapping) *Result {
	t.Helper()
	res := tried(t, name, content, m)
	require.Empty(t, res.Report.Stops)
	for _, f := range res.Report.Findings {
		require.NotEqual(t, studbook.Error, f.Severity, f.String())
	}
	require.NotNil(t, res.Colony)
	addsUp(t, res)
	return res
}

// tried imports a file, whether it stops or not.
func tried(t testing.TB, name string, content []byte, m Mapping) *Result {
	t.Helper()
	res, err := Import(t.Context(), fstest.MapFS{name: {Data: content}}, name, Options{Mapping: m, Today: asOf, FileDay: asOf})
	require.NoError(t, err)
	return res
}

// addsUp checks the sums of a report.
func addsUp(t testing.TB, res *Result) {
	t.Helper()
	r := res.Report
	assert.Equal(t, r.RowsRead, r.Birds+r.Joined+len(r.LeftOut), "rows read = birds + joined + left out: %d birds, %d joined, %d left out", r.Birds, r.Joined, len(r.LeftOut))
	assert.Equal(t, 2*r.Birds, r.Parents.Sum(), "two parents a bird: %+v", r.Parents)
	assert.Equal(t, r.Birds, r.Fates.Sum(), "a fate for every bird: %+v", r.Fates)
	if res.Colony != nil {
		rows := 0
		for _, b := range res.Colony.Birds {
			if b.Recorded {
				rows++
			}
		}
		assert.Equal(t, rows, r.Birds)
	}
}

// agrees compares what was imported with the truth: sexes, who lives, F of
// every bird and its mean kinship with the living.
func agrees(t testing.TB, res *Result, birds []truth) {
	t.Helper()
	s := res.Colony.At(asOf)
	p, err := pedigree.New(t.Context(), s.Birds, nil)
	require.NoError(t, err)
	var living []int
	rows := 0
	for _, b := range s.Birds {
		if b.Recorded {
			rows++
		}
	}
	lives := make(map[string]bool)
	for _, i := range s.Living {
		n, ok := p.Index(s.Birds[i].ID)
		require.True(t, ok)
		living = append(living, n)
		lives[s.Birds[i].ID] = true
	}
	assert.Equal(t, len(birds), rows, "birds")
	q := p.Population(living)
	oracle := newSlow(birds)
	var alive []string
	for _, b := range birds {
		if b.living() {
			alive = append(alive, b.id)
		}
	}
	require.Equal(t, len(alive), len(living), "living birds")
	for _, b := range birds {
		node, ok := p.Index(b.id)
		if !assert.True(t, ok, "bird %s is missing", b.id) {
			continue
		}
		got := s.Bird(b.id)
		assert.Equal(t, b.living(), lives[b.id], "whether %s lives", b.id)
		assert.Equal(t, b.sex, got.Sex, "sex of %s", b.id)
		assert.InDelta(t, oracle.inbreeding(b.id), p.F(node), 1e-9, "F of %s", b.id)
		mk := 0.0
		for _, other := range alive {
			mk += oracle.kinship(b.id, other) / float64(len(alive))
		}
		assert.InDelta(t, mk, q.MeanKinshipOf(node), 1e-9, "mean kinship of %s", b.id)
	}
}

// ids returns names such as A001.
func ids(format string, n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf(format, i+1)
	}
	return out
}
