package broods

// Expected is what is to be expected of some broods whose chicks hatch by
// chance.
type Expected struct {
	Chicks float64   // mean number of chicks
	Chance []float64 // of each number of chicks, from 0
	// GeneDiversity is the mean of 1 − S'/(Σw+chicks)² over all outcomes,
	// exactly; Known is false where it is undefined because nothing might have
	// weight.
	GeneDiversity float64
	Known         bool
}

// AtLeast returns the chance of that many chicks or more.
func (e Expected) AtLeast(n int) float64 {
	if n <= 0 {
		return 1
	}
	sum := 0.0
	for k := len(e.Chance) - 1; k >= n; k-- {
		sum += e.Chance[k]
	}
	return min(1, sum)
}

// Binomial returns the chance of each number of chicks of a brood of k, each of
// which hatches with the same chance, independently.
func Binomial(k int, chance float64) []float64 {
	d := make([]float64, k+1)
	d[0] = 1
	for n := range k {
		for i := n + 1; i > 0; i-- {
			d[i] = d[i]*(1-chance) + d[i-1]*chance
		}
		d[0] *= 1 - chance
	}
	return d
}

// Expect returns what is to be expected of some broods: each chick hatches with
// the chance of its pair, independently.
func (p *Problem) Expect(broods []int) Expected {
	numbers := make([][]float64, len(broods))
	for i, k := range broods {
		numbers[i] = Binomial(k, p.Pairs[i].Chance)
	}
	return p.expectOf(numbers)
}

// ExpectInTurn returns the mean number of chicks where the reserves, pairs in their order,
// hatch theirs only while those of all pairs before them are fewer than are wanted. That
// leaves the chance of as many as are wanted what it is where all hatch theirs.
func (p *Problem) ExpectInTurn(broods, reserves []int, wanted int) (mean float64) {
	in := make([]bool, len(broods))
	for _, i := range reserves {
		in[i] = true
	}
	sum := []float64{1}
	for i, k := range broods {
		if !in[i] && k > 0 {
			sum = weighted(nil, sum, Binomial(k, p.Pairs[i].Chance), 0)
		}
	}
	for _, i := range reserves {
		few := sum[:min(len(sum), max(0, wanted))]
		more := weighted(nil, few, Binomial(broods[i], p.Pairs[i].Chance), 0)
		for n, chance := range sum[len(few):] {
			for len(more) <= len(few)+n {
				more = append(more, 0)
			}
			more[len(few)+n] += chance
		}
		sum = more
	}
	for n, chance := range sum {
		mean += float64(n) * chance
	}
	return mean
}

// expectOf returns what is to be expected where the number of each pair's chicks
// has the chances given, from 0, independently of the others.
//
// With h(n) = 1/(Σw+n)² and N the chicks of all pairs, the mean of S'·h(N) is a
// sum over pairs, and pairs of pairs, of the means of h(N), K_p·h(N), K_p²·h(N)
// and K_p·K_q·h(N). For each p the pairs before it are a distribution, those
// between it and q too, and those after q the mean of h over what they add, so
// that all are exact sums of terms of one sign.
func (p *Problem) expectOf(numbers [][]float64) Expected {
	p.check()
	var pairs []int // with a chance of a chick
	most := 0
	for i, d := range numbers {
		if len(d) > 1 {
			pairs = append(pairs, i)
			most += len(d) - 1
		}
	}
	h := make([]float64, most+1)
	for n := range h {
		if w := p.Total + float64(n); w > 0 {
			h[n] = 1 / (w * w)
		}
	}
	// after[a][n] is the mean of h(n + chicks of the pairs from a on).
	after := make([][]float64, len(pairs)+1)
	after[len(pairs)] = h
	for a := len(pairs) - 1; a >= 0; a-- {
		d, next := numbers[pairs[a]], after[a+1]
		after[a] = make([]float64, len(next)-len(d)+1)
		for n := range after[a] {
			for k, chance := range d {
				after[a][n] += chance * next[n+k]
			}
		}
	}
	// each[b][n] is the mean of K·h(n + chicks of the pairs from b on), K the
	// chicks of pair b.
	each := make([][]float64, len(pairs))
	for b, j := range pairs {
		each[b] = make([]float64, len(after[b]))
		for k, chance := range numbers[j] {
			w := float64(k) * chance
			for n := range each[b] {
				each[b][n] += w * after[b+1][n+k]
			}
		}
	}
	out := Expected{Chance: []float64{1}}
	mean := p.Sum * after[0][0]
	once, next := make([]float64, 0, most+1), make([]float64, 0, most+1)
	for a, i := range pairs {
		before := out.Chance
		twice := weighted(nil, before, numbers[i], 2)
		once = weighted(once, before, numbers[i], 1)
		mean += p.Pairs[i].Cost*dot(once, after[a+1]) + p.Kinship[i][i]*dot(twice, after[a+1])
		for b := a + 1; b < len(pairs); b++ {
			j := pairs[b]
			mean += 2 * p.Kinship[i][j] * dot(once, each[b])
			next = weighted(next, once, numbers[j], 0)
			once, next = next, once
		}
		out.Chance = weighted(nil, before, numbers[i], 0)
	}
	for n, chance := range out.Chance {
		out.Chicks += float64(n) * chance
	}
	out.Known = p.Total > 0 || out.Chance[0] == 0
	if out.Known {
		out.GeneDiversity = 1 - mean
	}
	return out
}

// weighted returns the distribution of the sum of two numbers, the second
// weighted by a power of itself, in into if that has room.
func weighted(into, a, b []float64, power int) []float64 {
	n := len(a) + len(b) - 1
	if cap(into) < n {
		into = make([]float64, n)
	}
	into = into[:n]
	clear(into)
	for k, chance := range b {
		w := chance
		for range power {
			w *= float64(k)
		}
		if w == 0 {
			continue
		}
		sum := into[k : k+len(a)]
		for n, x := range a {
			sum[n] += x * w
		}
	}
	return into
}

// dot returns the sum of products as far as the first goes.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	sum := 0.0
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}
