package transfer

import (
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

var asOf = studbook.DayOf(2026, 10, 1)

// folder is a colony folder: contents by file name.
type folder map[string]string

// programme reads a folder and computes its programme.
func (f folder) programme(t testing.TB) *pairing.Programme {
	t.Helper()
	return f.programmeOn(t, asOf)
}

func (f folder) programmeOn(t testing.TB, day studbook.Day) *pairing.Programme {
	t.Helper()
	var files []string
	for name, content := range f {
		files = append(files, name, content)
	}
	p, err := pairing.New(t.Context(), studbooktest.Read(t, files...).At(day))
	require.NoError(t, err)
	return p
}

// with returns the folder with rows added to a file.
func (f folder) with(name string, rows ...string) folder {
	out := folder{}
	for k, v := range f {
		out[k] = v
	}
	for _, row := range rows {
		out[name] = strings.TrimRight(out[name], "\n") + "\n" + row + "\n"
	}
	return out
}

// example is the example colony.
func example(t testing.TB) folder {
	t.Helper()
	dir := os.DirFS("../../examples/harrow-fell")
	names, err := fs.Glob(dir, "*.*")
	require.NoError(t, err)
	f := folder{}
	for _, name := range names {
		content, err := fs.ReadFile(dir, name)
		require.NoError(t, err)
		f[name] = string(content)
	}
	return f
}

// towns are the institutions of the random colonies.
var towns = []string{"AA", "BB", "CC", "DD"}

// randomFolder invents a programme of a few places: three generations of birds
// and some young, most of the old ones dead, a bond, holds, few free places.
func randomFolder(rng *rand.Rand) folder {
	var book, bonds, holds, institutions strings.Builder
	book.WriteString("id,sex,sire,dam,hatch_date,death_date,location,origin\n")
	var hens, cocks, living []string
	add := func(id, sex, sire, dam string, year int, dead bool, at string) {
		death := ""
		if dead {
			death = "2026-01-01"
		} else {
			living = append(living, id)
		}
		origin := "captive"
		if sire == "wild" {
			origin = "wild"
		}
		fmt.Fprintf(&book, "%s,%s,%s,%s,%d-05-01,%s,%s,%s\n", id, sex, sire, dam, year, death, at, origin)
		if sex == "F" {
			hens = append(hens, id)
		} else {
			cocks = append(cocks, id)
		}
	}
	for k := range 8 {
		add(fmt.Sprintf("W%d", k), []string{"F", "M"}[k%2], "wild", "wild", 2008, rng.IntN(3) > 0, towns[rng.IntN(4)])
	}
	for generation := range 2 {
		mothers, fathers := append([]string{}, hens...), append([]string{}, cocks...)
		for k := range 9 {
			add(fmt.Sprintf("G%d%d", generation, k), []string{"F", "M"}[rng.IntN(2)],
				fathers[rng.IntN(len(fathers))], mothers[rng.IntN(len(mothers))], 2014+4*generation, rng.IntN(4) == 0, towns[rng.IntN(4)])
		}
	}
	mothers, fathers := slices.Clone(hens), slices.Clone(cocks)
	for k := range 4 {
		add(fmt.Sprintf("Y%d", k), []string{"F", "M"}[rng.IntN(2)],
			fathers[rng.IntN(len(fathers))], mothers[rng.IntN(len(mothers))], 2025, false, towns[rng.IntN(4)])
	}
	bonds.WriteString("female,male,since\n")
	alive := func(ids []string) []string {
		var out []string
		for _, id := range ids {
			for _, l := range living {
				if l == id {
					out = append(out, id)
				}
			}
		}
		return out
	}
	if f, m := alive(hens), alive(cocks); len(f) > 2 && len(m) > 2 {
		fmt.Fprintf(&bonds, "%s,%s,2020-01-01\n", f[len(f)-1], m[len(m)-1])
	}
	holds.WriteString("id,since,until,reason,blocks\n")
	if len(living) > 4 {
		fmt.Fprintf(&holds, "%s,2026-01-01,,lame,moving\n%s,2026-01-01,,ill,breeding\n", living[1], living[3])
	}
	institutions.WriteString("code,name,latitude,longitude,spaces_f,spaces_m,quarantine_days\n")
	for k, code := range towns {
		fmt.Fprintf(&institutions, "%s,Place %s,%d,%d,%d,%d,30\n", code, code, 50+rng.IntN(5), 5*k, rng.IntN(2), rng.IntN(2))
	}
	return folder{
		"studbook.csv": book.String(), "bonds.csv": bonds.String(), "holds.csv": holds.String(), "institutions.csv": institutions.String(),
		"programme.toml": "chicks_per_season = 1.5\n[breeding_age]\nfemale = [2, 30]\nmale = [2, 30]\n[months]\nlaying = [4, 5, 6]\nmoult = [8, 9]\n",
	}
}

// TestEffectsEqualHandEditedStudbook checks every before and after figure, of
// the alternatives too, against the measures of a folder into which the moves and the chicks are
// written as a keeper would write them, the expectation over the brood sizes
// being taken of those.
func TestEffectsEqualHandEditedStudbook(t *testing.T) {
	same := func(what string, want, got Measures) {
		t.Helper()
		assert.InDelta(t, want.Size, got.Size, 1e-9, what)
		assert.InDelta(t, want.GeneDiversity, got.GeneDiversity, 1e-12, what)
		assert.InDelta(t, want.MeanKinship, got.MeanKinship, 1e-12, what)
		assert.InDelta(t, want.MeanInbreeding, got.MeanInbreeding, 1e-12, what)
	}
	checkOption := func(f folder, p *pairing.Programme, o *Option, effects []Effect) {
		t.Helper()
		edited := f
		for _, m := range o.Moves {
			if edited["moves.csv"] == "" {
				edited = edited.with("moves.csv", "id,date,from,to,reason")
			}
			edited = edited.with("moves.csv", fmt.Sprintf("%s,2026-09-30,%s,%s,transfer", p.Book.Birds[m.Bird].ID, m.From, m.To))
		}
		expected := map[string]Measures{}
		var broods func(k int, f folder, chance float64)
		broods = func(k int, f folder, chance float64) {
			if k == len(o.Pairs) {
				season := f.programme(t)
				for _, e := range effects {
					got, sum := of(season, e.At), expected[e.At]
					sum.Size += chance * got.Size
					sum.GeneDiversity += chance * got.GeneDiversity
					sum.MeanKinship += chance * got.MeanKinship
					sum.MeanInbreeding += chance * got.MeanInbreeding
					expected[e.At] = sum
				}
				return
			}
			pair := o.Pairs[k]
			for n, chance2 := range Brood(pair.Chicks, p.Settings().ChicksPerPair) {
				broods(k+1, f, chance*chance2)
				f = f.with("studbook.csv", chickRow(f, fmt.Sprintf("NEW%d%d", k, n), p.Book.Birds[pair.Male].ID, p.Book.Birds[pair.Female].ID, pair.At))
			}
		}
		broods(0, edited, 1)
		moved := edited.programme(t)
		for _, e := range effects {
			assert.Equal(t, of(p, e.At), e.Before, "before, at %q", e.At)
			same("after the moves", of(moved, e.At), e.After)
			same("after a season", expected[e.At], e.AfterSeason)
			assert.Equal(t, e.At != "", len(moved.Book.LivingAt(e.At)) == int(e.After.Size), e.At)
		}
	}
	check := func(f folder, q Question) *Case {
		t.Helper()
		p := f.programme(t)
		c, err := find(t, p, q)
		require.NoError(t, err)
		if c.Best != nil {
			checkOption(f, p, c.Best, c.Effects)
		}
		for _, a := range c.Alternatives {
			checkOption(f, p, a.Option, a.Effects)
		}
		return c
	}
	ways := map[Way]int{}
	few := func(w Way) bool { return ways[w] < 2 }
	for seed := range uint64(150) {
		f := randomFolder(rand.New(rand.NewPCG(seed, 7)))
		p := f.programme(t)
		d := decide(t, p)
		for _, b := range p.Book.Living {
			q := Question{Bird: p.Book.Birds[b].ID}
			c, err := Find(t.Context(), p, d, q)
			require.NoError(t, err)
			if c.Best == nil || !few(c.Best.Way) && !slices.ContainsFunc(c.Alternatives, func(a Alternative) bool { return few(a.Way) }) {
				continue
			}
			check(f, q)
			ways[c.Best.Way]++
			for _, a := range c.Alternatives {
				ways[a.Way]++
			}
		}
	}
	for _, way := range []Way{Stay, Send, Bring, Swap} {
		assert.Positive(t, ways[way], way)
	}
}

// of returns the measures of a place, or of the programme.
func of(p *pairing.Programme, place string) Measures {
	if place == "" {
		return measure(p.Living)
	}
	return measure(p.Population(p.Book.LivingAt(place)))
}

// chickRow writes the row of a chick in the columns of the folder's studbook.
func chickRow(f folder, id, sire, dam, at string) string {
	cells := map[string]string{"id": id, "sex": "U", "sire": sire, "dam": dam, "hatch_date": "2026-10-01", "location": at, "origin": "captive"}
	var row []string
	for line := range strings.Lines(f["studbook.csv"]) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		for _, column := range strings.Split(strings.TrimSpace(line), ",") {
			row = append(row, cells[column])
		}
		break
	}
	return strings.Join(row, ",")
}

// TestAnswersAreTheDecisions asks for every living bird of small programmes made
// up by chance: a request is made where the decision moves a bird, with the mate
// that the decision gives it and in no other case; a bird that cannot breed has
// none unless it is young and should be elsewhere; and the list has the same
// moves, no bird twice.
func TestAnswersAreTheDecisions(t *testing.T) {
	asked, home, young, rings := 0, 0, 0, 0
	for seed := range uint64(150) {
		p := randomFolder(rand.New(rand.NewPCG(seed, 7))).programme(t)
		d := decide(t, p)
		l, err := Moves(t.Context(), p, d, "")
		require.NoError(t, err)
		listed, moving := map[[2]int]*Option{}, map[int]bool{}
		for _, m := range l.Moves {
			pair := m.Pairs[0]
			for _, b := range [2]int{pair.Female, pair.Male} {
				assert.False(t, moving[b], "seed %d: %s twice", seed, p.Book.Birds[b].ID)
				moving[b] = true
				listed[[2]int{b, m.Mover()}] = m.Option
			}
		}
		assert.Len(t, l.Moves, d.Moves)
		for _, b := range p.Book.Living {
			id := p.Book.Birds[b].ID
			c, err := Find(t.Context(), p, d, Question{Bird: id})
			require.NoError(t, err, "seed %d, %s", seed, id)
			bond, paired := d.BondOf(b)
			switch {
			case !p.State(b).State.MayBreed():
				assert.Equal(t, c.Needed, c.Best != nil)
				assert.Empty(t, c.Alternatives)
				if c.Needed {
					young++
					assert.True(t, c.Young.Leaves())
					assert.True(t, slices.ContainsFunc(l.Young, func(y Listed) bool { return y.Mover() == b && y.Moves[0].To == c.Best.Moves[0].To }))
				}
			case paired && bond.Move != nil:
				asked++
				mate, _ := d.MateOf(b)
				require.True(t, c.Needed)
				assert.Equal(t, mate, c.Mate)
				assert.Equal(t, bond.Move.Bird, c.Best.Moves[0].Bird)
				assert.Equal(t, bond.Move.To, c.Best.Moves[0].To)
				o := listed[[2]int{b, bond.Move.Bird}]
				require.NotNil(t, o, "seed %d, %s", seed, id)
				if bond.Move.Bird == b {
					assert.Equal(t, o.NetGain, c.Best.NetGain)
				}
			default:
				home++
				assert.False(t, c.Needed)
				assert.Nil(t, c.Best, "seed %d, %s", seed, id)
				assert.Nil(t, listed[[2]int{b, b}])
			}
		}
		taken := map[int]bool{}
		for _, ring := range l.Rings {
			rings++
			balance := map[string]int{}
			for k, m := range ring.Moves {
				assert.False(t, taken[m.Bird])
				taken[m.Bird] = true
				balance[m.From]--
				balance[m.To]++
				assert.Equal(t, m.To, ring.Moves[(k+1)%len(ring.Moves)].From)
				assert.Same(t, listed[[2]int{m.Bird, m.Bird}], listed[[2]int{ring.mateIn(k), m.Bird}])
			}
			for at, n := range balance {
				assert.Zero(t, n, at)
			}
		}
	}
	assert.Greater(t, asked, 50)
	assert.Greater(t, home, 200)
	assert.Positive(t, young)
	assert.Positive(t, rings)
}

// mateIn is the mate of the bird of the k-th move.
func (o *Option) mateIn(k int) int {
	if o.Pairs[k].Female == o.Moves[k].Bird {
		return o.Pairs[k].Male
	}
	return o.Pairs[k].Female
}

// decide is the season's decision of a programme.
func decide(t testing.TB, p *pairing.Programme) *pairing.Decision {
	t.Helper()
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	return d
}

// find answers a question by the programme's decision.
func find(t testing.TB, p *pairing.Programme, q Question) (*Case, error) {
	t.Helper()
	return Find(t.Context(), p, decide(t, p), q)
}

// TestPlaceThatHasToComeFree: where no place is free the decision counts on the deaths to
// be expected, and a request for one of its moves says so.
func TestPlaceThatHasToComeFree(t *testing.T) {
	f := example(t)
	full := regexp.MustCompile(`(?m)^((?:[^,\n]*,){5})\d*,\d*,`).ReplaceAllString(f["institutions.csv"], "${1}0,0,")
	require.NotEqual(t, f["institutions.csv"], full)
	f["institutions.csv"] = full
	p := f.programme(t)
	d := decide(t, p)
	moves := 0
	for _, x := range d.Bonds {
		if x.Move == nil {
			continue
		}
		moves++
		c, err := Find(t.Context(), p, d, Question{Bird: p.Book.Birds[x.Female].ID})
		require.NoError(t, err)
		assert.Empty(t, c.Best.NoSpace)
		var says []pairing.Reason
		for _, r := range c.Cautions {
			if r.Is(PlaceToCome) {
				says = append(says, r)
			}
		}
		require.Len(t, says, 1)
		assert.Equal(t, x.Move.To, says[0].To)
		assert.Equal(t, p.Book.Birds[x.Move.Bird].ID, says[0].Birds[0].ID)
	}
	assert.Positive(t, moves)
}

// TestYoungBirdsLeaveInTime has every young bird of the example that is to go elsewhere: the
// last day to leave is the last open one from which quarantine ends before pairs form for
// its first season, in the list and in the request.
func TestYoungBirdsLeaveInTime(t *testing.T) {
	p := example(t).programme(t)
	d := decide(t, p)
	list, err := Moves(t.Context(), p, d, "")
	require.NoError(t, err)
	require.NotEmpty(t, list.Young)
	set := p.Settings()
	for k := range list.Young {
		x := &list.Young[k]
		m := x.Moves[0]
		forms := studbook.DayOf(x.Young.When.Time().Year(), set.PairingMonths[0], 1)
		closed := slices.Concat(set.PairingMonths, set.LayingMonths, set.MoultMonths)
		for _, code := range []string{m.From, m.To} {
			in, _ := p.Book.Institution(code)
			closed = append(closed, in.ClosedMonths...)
		}
		open := func(day studbook.Day) bool { return !slices.Contains(closed, day.Time().Month()) }
		require.NotZero(t, x.LeaveBy())
		assert.True(t, open(x.LeaveBy()), "%s", x.LeaveBy())
		assert.LessOrEqual(t, x.LeaveBy()+studbook.Day(m.Quarantine), forms, "quarantine ends before pairs form")
		for day := x.LeaveBy() + 1; day+studbook.Day(m.Quarantine) <= forms; day++ {
			assert.False(t, open(day), "it could leave on %s still", day)
		}
		assert.LessOrEqual(t, x.Timing.Earliest, x.LeaveBy())
		assert.Equal(t, forms, x.Timing.Season)
		c, err := find(t, p, Question{Bird: p.Book.Birds[x.Young.Bird].ID})
		require.NoError(t, err)
		answer, journey := c.AnswerBy()
		assert.Equal(t, x.LeaveBy(), journey)
		assert.Equal(t, x.AgreeBy(), answer)
		assert.Equal(t, x.Timing, c.Timing[0])
	}
}
