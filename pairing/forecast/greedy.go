package forecast

// DynamicList takes pairs one by one by the list of mean kinships, least first,
// which is made anew after each chick allowed, as if that had hatched with its
// chance.
type DynamicList struct{}

// Name implements Policy.
func (DynamicList) Name() string { return "dynamic-mean-kinship" }

func (DynamicList) choose(f *flock) {
	f.leaveOut()
	c := choice{f: f, cost: append([]float64(nil), f.total...)}
	c.chicks(true)
}

// choice takes chicks one by one by what each adds to the sum of all kinships.
type choice struct {
	f    *flock
	cost []float64 // by slot: kinship with the living and the chicks allowed so far
	// exact counts the kinship of the chick with itself, (1 + f)/2; else it is
	// left out, as a list of birds leaves it out.
	exact bool
}

// of returns half of what a chick of two birds adds to the sum of kinships, its
// kinship with the others, and what it has with itself.
func (c *choice) of(dam, sire int) float64 {
	x := c.cost[dam] + c.cost[sire]
	if c.exact {
		x += (1 + c.f.of(dam, sire)) / 2
	}
	return x
}

// chicks allows the chick that costs least, again and again until there are
// enough, of the pairs there are and, where bond is set, of new ones.
func (c *choice) chicks(bond bool) {
	s := &c.f.season
	for {
		p, found := c.ofPairs()
		if bond {
			if q, ok := c.ofFree(p, found); ok {
				if c.f.enough(q.chance) {
					return
				}
				c.f.bond(q.dam, q.sire)
				s.pairs = append(s.pairs, q)
				p, found = q, true
			}
		}
		if !found || c.f.enough(p.chance) {
			return
		}
		c.f.allow(p)
		d, s, cost := c.f.row(p.dam), c.f.row(p.sire), c.cost
		d, s = d[:len(cost)], s[:len(cost)]
		for j := range cost { // slots that nobody has too
			cost[j] += p.chance * (d[j] + s[j]) / 2
		}
	}
}

// ofPairs returns the pair whose next chick costs least; false if no pair may
// have another.
func (c *choice) ofPairs() (best brood, found bool) {
	s := &c.f.season
	least := 0.0
	for _, p := range s.pairs {
		if s.limit[p.dam] > 0 {
			if x := c.of(p.dam, p.sire); !found || x < least {
				best, least, found = p, x, true
			}
		}
	}
	return best, found
}

// ofFree returns the pair of free birds whose chick costs least, less than that
// of a pair there is; false if there is none. Birds that cannot come below the
// least so far, with whomever, are passed over.
func (c *choice) ofFree(than brood, given bool) (best brood, found bool) {
	f := c.f
	s := &f.season
	least := 0.0
	if given {
		least = c.of(than.dam, than.sire)
	}
	sire, ok := 0.0, false
	for _, i := range s.males {
		if f.birds[i].mate < 0 && (!ok || c.cost[i] < sire) {
			sire, ok = c.cost[i], true
		}
	}
	if !ok {
		return brood{}, false
	}
	for _, a := range s.females {
		if f.birds[a].mate >= 0 || given && c.cost[a]+sire >= least {
			continue
		}
		for _, b := range s.males {
			if f.birds[b].mate >= 0 || given && c.cost[a]+c.cost[b] >= least {
				continue
			}
			if x := c.of(a, b); (!given || x < least) && f.mayBond(a, b) {
				best, least, given, found = brood{dam: a, sire: b}, x, true, true
			}
		}
	}
	if found {
		best.chance = f.chance(best.dam, best.sire)
	}
	return best, found
}
