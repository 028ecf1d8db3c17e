package season

import (
	"bufio"
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The relaxations in testdata/quadprog were written by
//
//	go test ./pairing/internal/season -run Quadprog -write-quadprog
//
// and solved once by solve.R beside them, which says how.
var writeQuadprog = flag.Bool("write-quadprog", false, "write the problems for testdata/quadprog/solve.R")

const quadprog = "testdata/quadprog/"

func writeProblems(t *testing.T) {
	f, err := os.Create(quadprog + "problems.txt")
	require.NoError(t, err)
	w := bufio.NewWriter(f)
	line := func(key string, xs ...float64) {
		fmt.Fprint(w, key)
		for _, x := range xs {
			fmt.Fprint(w, " ", strconv.FormatFloat(x, 'g', -1, 64))
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintln(w, "# S, chicks, most chicks a pair, number of females, c, d, f, pairs (female male, from 0); see problem.go and relaxation.go")
	for k := range 24 {
		r := rand.New(rand.NewPCG(uint64(k), 4))
		s := asSeason(t, randomBirds(r, 6, 30), numbers(30-8-k%5, 30), 3+k%4, 1+k%3, []float64{1, 0.2}[k%2])
		start, _, err := s.most(t.Context())
		require.NoError(t, err)
		s.Chicks = count(start)
		spare := make([]float64, s.breeders())
		if k%4 < 2 {
			spare = spareDiagonal(s.Kinship)
		}
		line("problem", float64(k+1))
		line("sum", s.Sum)
		line("chicks", float64(s.Chicks))
		line("most", float64(s.Options[0].Most))
		line("females", float64(s.Females))
		line("cost", s.Cost...)
		line("spare", spare...)
		for _, row := range s.Kinship {
			line("kinship", row...)
		}
		var pairs []float64
		for _, o := range s.Options {
			pairs = append(pairs, float64(o.Female), float64(o.Male))
		}
		line("pairs", pairs...)
	}
	require.NoError(t, w.Flush())
	require.NoError(t, f.Close())
}

// quadprogProblem is a relaxation as read from the file.
type quadprogProblem struct {
	season *Problem
	spare  []float64
}

func readProblems(t *testing.T) []quadprogProblem {
	text, err := os.ReadFile(quadprog + "problems.txt")
	require.NoError(t, err)
	var problems []quadprogProblem
	most := 0
	for line := range strings.SplitSeq(strings.TrimSpace(string(text)), "\n") {
		words := strings.Fields(line)
		if words[0] == "#" {
			continue
		}
		var xs []float64
		for _, w := range words[1:] {
			x, err := strconv.ParseFloat(w, 64)
			require.NoError(t, err)
			xs = append(xs, x)
		}
		if words[0] == "problem" {
			problems = append(problems, quadprogProblem{season: &Problem{Rooms: []Room{{-1, -1, -1}}}})
			continue
		}
		q := &problems[len(problems)-1]
		switch words[0] {
		case "sum":
			q.season.Sum = xs[0]
		case "chicks":
			q.season.Chicks = int(xs[0])
		case "most":
			most = int(xs[0])
		case "females":
			q.season.Females = int(xs[0])
		case "cost":
			q.season.Cost = xs
		case "spare":
			q.spare = xs
		case "kinship":
			q.season.Kinship = append(q.season.Kinship, xs)
		case "pairs":
			for k := 0; k < len(xs); k += 2 {
				q.season.Options = append(q.season.Options, Option{int(xs[k]), int(xs[k+1]), most, 0, -1, 0})
			}
		default:
			t.Fatal(line)
		}
	}
	return problems
}

// solveWith bounds all plans with a given diagonal.
func solveWith(s *Problem, spare []float64, cutoff float64) float64 {
	r := newRelaxation(s)
	r.stop = math.MaxInt
	for b := range spare {
		r.rest[b][b] = s.Kinship[b][b] - spare[b]
	}
	r.spare = spare
	return r.solve(r.root(), cutoff).bound
}

// The oracle is quadprog, whose own steps end at about 1e-9 of the value.
func TestRelaxationAgainstQuadprog(t *testing.T) {
	if *writeQuadprog {
		writeProblems(t)
	}
	f, err := os.Open(quadprog + "solutions.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	problems := readProblems(t)
	require.Len(t, problems, len(rows)-1)
	require.NotEmpty(t, problems)
	for k, q := range problems {
		want, err := strconv.ParseFloat(rows[k+1][1], 64)
		require.NoError(t, err)
		got := solveWith(q.season, q.spare, want)
		assert.InDelta(t, want, got, 1e-7, "problem %d", k+1)
		assert.LessOrEqual(t, got, want+1e-8, "a bound lies below, problem %d", k+1)
	}
}

// founders is a season of unrelated birds, half of each sex.
func founders(n, chicks, most int) *Problem {
	s := &Problem{Chicks: chicks, Females: n / 2, Sum: float64(n) / 2, Rooms: []Room{{-1, -1, -1}}}
	for i := range n {
		s.Cost = append(s.Cost, 0.5+1.0/8)
		row := make([]float64, n)
		row[i] = 0.5
		s.Kinship = append(s.Kinship, row)
	}
	for f := range n / 2 {
		for m := n / 2; m < n; m++ {
			s.Options = append(s.Options, Option{f, m, most, 0, -1, 0})
		}
	}
	return s
}

// Contributions c = K/(2·Σk) have the group coancestry cᵀfc, which for n
// unrelated birds is least when all are 1/n, and then 1/(2n): check value OCS-01,
// Meuwissen 1997 and Caballero & Toro 2000, both from memory. With a chick a
// pair the plan reaches it exactly.
func TestEqualContributionsOfFounders(t *testing.T) {
	for _, c := range []struct {
		n    int
		want float64
	}{{2, 0.25}, {8, 0.0625}, {26, 1.0 / 52}} {
		chicks := c.n / 2
		s := founders(c.n, chicks, chicks)
		got, err := s.solve(t.Context(), nil, 0, Budget)
		require.NoError(t, err)
		assert.True(t, got.proven)
		k := make([]float64, c.n)
		for _, b := range got.plan {
			k[s.Options[b.Option].Female] += float64(b.Chicks)
			k[s.Options[b.Option].Male] += float64(b.Chicks)
		}
		coancestry := 0.0
		for b := range k {
			assert.Equal(t, 1.0, k[b], "every bird has one chick")
			share := k[b] / (2 * float64(chicks))
			coancestry += share * share / 2
		}
		assert.InDelta(t, c.want, coancestry, 1e-12)
		// S' = n/2 + Σ_b K_b c_b + ¼ Kᵀ f K, with K = 1: ¼ KᵀfK = (2·chicks)²/4·cᵀfc
		relaxation := s.Sum + float64(c.n)*(0.5+1.0/8) + float64(chicks*chicks)*c.want
		assert.InDelta(t, relaxation, solveWith(s, make([]float64, c.n), relaxation), 1e-9)
	}
}

// A and B and their only chick X: contributions (½, ½, 0) are best, 1/4, since
// X adds nothing while both parents breed (OCS-02, from f⁻¹1/(1ᵀf⁻¹1)). The
// linear part of S' is left out to see the quadratic alone.
func TestOnlyChickAddsNothing(t *testing.T) {
	s := &Problem{
		Chicks: 4, Females: 1, Cost: make([]float64, 3), Rooms: []Room{{-1, -1, -1}},
		Kinship: [][]float64{{0.5, 0, 0.25}, {0, 0.5, 0.25}, {0.25, 0.25, 0.5}},
		Options: []Option{{0, 1, 4, 0, -1, 0}, {0, 2, 4, 0, -1, 0}}, // A is the female; B and X are males
	}
	got, err := s.solve(t.Context(), nil, 0, Budget)
	require.NoError(t, err)
	assert.Equal(t, []Brood{{0, 4}}, got.plan)
	assert.InDelta(t, 0.25, got.value/(4*4), 1e-9)
	assert.InDelta(t, 0.25, solveWith(s, make([]float64, 3), got.value)/(4*4), 1e-9)
}

// What is taken from the diagonal leaves a positive semidefinite matrix, and
// for unrelated birds it is nearly all of it.
func TestSpareDiagonal(t *testing.T) {
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 5))
		s := asSeason(t, randomBirds(r, 8, 40), numbers(10, 40), 1, 1, 1)
		d := spareDiagonal(s.Kinship)
		total := 0.0
		for _, x := range d {
			assert.GreaterOrEqual(t, x, 0.0)
			total += x
		}
		assert.Greater(t, total, 0.0)
		for range 200 {
			form, scale := 0.0, 0.0
			x := make([]float64, len(d))
			for i := range x {
				x[i] = r.NormFloat64()
				scale += x[i] * x[i]
			}
			for i := range x {
				for j := range x {
					form += x[i] * x[j] * s.Kinship[i][j]
				}
				form -= d[i] * x[i] * x[i]
			}
			assert.GreaterOrEqual(t, form, -1e-12*scale)
		}
	}
	for _, d := range spareDiagonal(founders(10, 1, 1).Kinship) {
		assert.Greater(t, d, 0.4)
	}
	assert.Equal(t, []float64{0, 0}, spareDiagonal([][]float64{{1, 1}, {1, 1}}), "two birds with the same genes: nothing to spare")
}
