package transfer

import (
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
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
	files := fstest.MapFS{}
	for name, content := range f {
		files[name] = &fstest.MapFile{Data: []byte(content)}
	}
	c, err := studbook.Read(t.Context(), files, "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	p, err := pairing.New(t.Context(), c.At(day))
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

// randomFolder invents a programme of a few places: three generations of
// birds, most of the old ones dead, some bonds and holds, few free places.
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
			for n, chance2 := range Brood(pair.Figures.ExpectedChicks, p.Settings().ChicksPerPair) {
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
	check := func(f folder, q Question, alternatives bool) *Case {
		t.Helper()
		p := f.programme(t)
		c, err := Find(t.Context(), p, q)
		require.NoError(t, err)
		checkOption(f, p, c.Best, c.Effects)
		for _, a := range c.Alternatives {
			if alternatives {
				checkOption(f, p, a.Option, a.Effects)
			}
		}
		return c
	}
	assert.Equal(t, Bring, check(example(t), Question{Bird: "C0734", From: "HOK"}, false).Best.Way)
	ways := map[Way]int{}
	for seed := range uint64(150) {
		f := randomFolder(rand.New(rand.NewPCG(seed, 7)))
		p := f.programme(t)
		for _, at := range towns {
			for _, b := range p.Unpaired(at) {
				q := Question{Bird: p.Book.Birds[b].ID}
				if c, err := Find(t.Context(), p, q); err == nil && ways[c.Best.Way] < 2 {
					ways[check(f, q, true).Best.Way]++
				}
			}
		}
	}
	for _, way := range []Way{Send, Bring, Swap, Chain} {
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

// TestBestAgainstBruteForce enumerates every move, swap and ring of three for
// birds of random small programmes, with gains taken from whole kinship
// matrices, and finds none that gains more for each bird moved than the best
// of Find, but for the 2 % within which the cost to the birds decides.
func TestBestAgainstBruteForce(t *testing.T) {
	found, none := 0, 0
	ways := map[Way]int{}
	for seed := range uint64(60) {
		p := randomFolder(rand.New(rand.NewPCG(seed, 11))).programme(t)
		o := newOracle(t, p)
		for _, at := range towns {
			for _, b := range p.Unpaired(at) {
				most := o.best(b)
				c, err := Find(t.Context(), p, Question{Bird: p.Book.Birds[b].ID})
				switch {
				case math.IsInf(most, -1) || most <= 0:
					// What is left is a move that is not useful or finds no place.
					none++
					assert.True(t, err != nil || c.Best.hindrance() > 0, "seed %d, %s", seed, p.Book.Birds[b].ID)
				case assert.NoError(t, err, "seed %d, %s", seed, p.Book.Birds[b].ID):
					found++
					ways[c.Best.Way]++
					assert.Zero(t, c.Best.hindrance())
					assert.GreaterOrEqual(t, c.Best.GainPerMove, (1-pairing.Alike)*most-1e-15, "seed %d, %s", seed, p.Book.Birds[b].ID)
					assert.LessOrEqual(t, c.Best.GainPerMove, most+1e-15, "seed %d, %s", seed, p.Book.Birds[b].ID)
				}
			}
		}
	}
	assert.Greater(t, found, 100)
	assert.Greater(t, none, 5)
	for _, way := range []Way{Send, Bring, Swap, Chain} {
		assert.Positive(t, ways[way], way)
	}
}

// oracle looks at a programme plainly.
type oracle struct {
	p    *pairing.Programme
	free []int                 // fit birds without a mate
	gain map[[2]int]float64    // expected gain of two free birds within the limit
	room map[string][2]float64 // free places for females and males
	at   func(b int) string
	may  func(b int) bool // travel
}

func newOracle(t *testing.T, p *pairing.Programme) *oracle {
	o := &oracle{p: p, gain: map[[2]int]float64{}, room: map[string][2]float64{}}
	o.at = func(b int) string { return p.Book.Birds[b].Location }
	o.may = func(b int) bool { _, held := p.Book.Blocked(p.Book.Birds[b].ID, studbook.BlocksMoving); return !held }
	for _, in := range p.Book.Colony.Institutions {
		o.room[in.Code] = [2]float64{float64(in.SpacesF), float64(in.SpacesM)}
	}
	var living []int
	for _, b := range p.Book.Living {
		living = append(living, p.Node(b))
	}
	kin, err := p.Pedigree.KinshipMatrix(t.Context(), living)
	require.NoError(t, err)
	n := len(living)
	sum := 0.0
	rows := make([]float64, n)
	for i := range n {
		for j := range n {
			rows[i] += kin.At(i, j)
		}
		sum += rows[i]
	}
	// A chick's gain, by summing the matrix that it is added to.
	chick := func(i, j int) float64 {
		return sum/float64(n*n) - (sum+rows[i]+rows[j]+(1+kin.At(i, j))/2)/float64((n+1)*(n+1))
	}
	total, pairs := 0.0, 0
	type two struct{ i, j int }
	var eligible []two
	for i, a := range p.Book.Living {
		for j, b := range p.Book.Living {
			if p.Book.Birds[a].Sex == studbook.Female && p.Book.Birds[b].Sex == studbook.Male &&
				len(p.Unfit(a)) == 0 && len(p.Unfit(b)) == 0 && kin.At(i, j) <= 0.125 {
				total += chick(i, j)
				pairs++
				eligible = append(eligible, two{i, j})
			}
		}
	}
	for _, x := range eligible {
		a, b := p.Book.Living[x.i], p.Book.Living[x.j]
		if len(p.Mates(a))+len(p.Mates(b)) > 0 {
			continue
		}
		chicks := 1.5 * p.Success(a, b).Chance / p.Success(a, b).Programme * math.Exp(-1.57*kin.At(x.i, x.j))
		gain := chicks * (chick(x.i, x.j) - total/float64(pairs))
		o.gain[[2]int{a, b}], o.gain[[2]int{b, a}] = gain, gain
	}
	for _, b := range p.Book.Living {
		if len(p.Unfit(b)) == 0 && len(p.Mates(b)) == 0 {
			o.free = append(o.free, b)
		}
	}
	return o
}

// legs returns the ways to bring together a bird with another: the pair and
// who moves.
func (o *oracle) legs(must int) [][2]int {
	var out [][2]int
	for pair, gain := range o.gain {
		mover, stayer := pair[0], pair[1]
		if o.at(mover) == o.at(stayer) || !o.may(mover) || gain <= 0 || must >= 0 && mover != must && stayer != must {
			continue
		}
		if must < 0 && (o.home(mover) >= gain || o.home(stayer) >= gain) {
			continue
		}
		out = append(out, pair)
	}
	return out
}

// home is the gain of a bird's best free mate where it lives.
func (o *oracle) home(b int) float64 {
	best := 0.0
	for _, m := range o.free {
		if g, ok := o.gain[[2]int{b, m}]; ok && o.at(m) == o.at(b) {
			best = max(best, g)
		}
	}
	return best
}

// possible reports whether all birds are different and every place has room.
func (o *oracle) possible(legs ...[2]int) bool {
	seen := map[int]bool{}
	room := map[string][2]float64{}
	for code, r := range o.room {
		room[code] = r
	}
	for _, l := range legs {
		if seen[l[0]] || seen[l[1]] {
			return false
		}
		seen[l[0]], seen[l[1]] = true, true
		sex := 0
		if o.p.Book.Birds[l[0]].Sex == studbook.Male {
			sex = 1
		}
		from, to := room[o.at(l[0])], room[o.at(l[1])]
		from[sex]++
		to[sex]--
		room[o.at(l[0])], room[o.at(l[1])] = from, to
	}
	for _, r := range room {
		if r[0] < 0 || r[1] < 0 {
			return false
		}
	}
	return true
}

// best returns the most that any option gains for each bird moved.
func (o *oracle) best(b int) float64 {
	most := math.Inf(-1)
	try := func(legs ...[2]int) {
		if !o.possible(legs...) {
			return
		}
		sum := 0.0
		for _, l := range legs {
			sum += o.gain[l]
		}
		most = max(most, sum/float64(len(legs)))
	}
	others := o.legs(-1)
	for _, first := range o.legs(b) {
		try(first)
		if o.gain[first] <= o.home(first[0]) || o.gain[first] <= o.home(first[1]) {
			continue
		}
		for _, second := range others {
			if o.at(second[0]) != o.at(first[1]) {
				continue
			}
			if o.at(second[1]) == o.at(first[0]) {
				try(first, second)
				continue
			}
			for _, third := range others {
				if o.at(third[0]) == o.at(second[1]) && o.at(third[1]) == o.at(first[0]) {
					try(first, second, third)
				}
			}
		}
	}
	return most
}
