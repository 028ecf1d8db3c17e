package studbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

var sideName = [2]string{"sire", "dam"}

// checkPedigree adds the parents without a row to the birds and checks every
// bird against its parents. All of it is linear in the links, but for sorting.
func (r *reader) checkPedigree(file string) error {
	r.dropMarkers(file)
	var missing []*absent
	r.together(
		func(part *reader) { r.plain = part.checkAlikeIDs(file) },
		func(*reader) { r.kin, missing = findParents(r.colony.Birds, r.index) },
	)
	r.addParents(file, missing)
	r.together(
		func(part *reader) { part.checkBands(file) },
		func(part *reader) { part.checkRoles(file) },
		func(part *reader) { part.checkLifetimes(file) },
		func(part *reader) { part.checkFamilies(file) },
		func(part *reader) { r.elderFirst = part.checkCycles(file) },
	)
	r.plain, r.numbers = nil, nil
	return r.ctx.Err()
}

// markers are what other programs write for an unknown parent.
var markers = []string{"?", "??", "-", "--", ".", "*", "0", "na", "n/a", "none", "nil", "null", "unk", "not known"}

// marks reports whether a parent is written as such a mark.
func marks(id string) bool {
	last := id[len(id)-1]
	return len(id) <= 9 && (len(id) == 1 || last < '0' || last > '9') && slices.ContainsFunc(markers, func(m string) bool { return strings.EqualFold(m, id) })
}

// dropMarkers reads such marks as an unknown parent where no bird has them
// for an id: as founders they would make kin of all their chicks.
func (r *reader) dropMarkers(file string) {
	type use struct {
		at   place
		rows int
	}
	if !r.marked {
		return
	}
	uses := make(map[string]*use)
	marker := func(c Candidate) bool {
		if !marks(c.ID) {
			return false
		}
		_, row := r.index.find(c.ID)
		return !row
	}
	for i := range r.colony.Birds {
		b := &r.colony.Birds[i]
		for side, p := range [2]*Parentage{&b.Sire, &b.Dam} {
			for _, c := range p.Candidates {
				if !marker(c) {
					continue
				}
				u := uses[c.ID]
				if u == nil {
					u = &use{at: place{file, b.Line, sideName[side], c.ID}}
					uses[c.ID] = u
				}
				u.rows++
			}
			if len(uses) > 0 {
				p.Candidates = slices.DeleteFunc(p.Candidates, marker)
			}
		}
	}
	for _, u := range uses {
		r.warn(u.at, codeUnknownMarker, fmt.Sprintf("no bird has this id, so it is read as an unknown parent (%s)", times(u.rows, "time")), "write unknown, or leave the cell blank")
	}
}

// absent is a parent that rows name and that has none of its own.
type absent struct {
	id         string
	side       int32
	line, rows int
	index      int32 // in Colony.Birds, behind those that have rows
}

// findParents finds who is a parent of whom, and the parents without a row in the
// order in which they are named.
func findParents(birds []Bird, index *register) (*lineage, []*absent) {
	kin := linksOf(birds, index)
	var missing []*absent
	byID := make(map[string]*absent)
	for k := range kin.links {
		l := &kin.links[k]
		if l.parent != nobodyFound {
			continue
		}
		b := &birds[l.chick]
		id := b.candidate(k - int(kin.start[l.chick])).ID
		m := byID[id]
		if m == nil {
			m = &absent{id: id, side: l.side, line: b.Line, index: int32(len(birds) + len(missing))}
			byID[id] = m
			missing = append(missing, m)
		}
		m.rows++
		l.parent = m.index
	}
	return kin, missing
}

// addParents adds a bird for every parent without a row, by id.
func (r *reader) addParents(file string, missing []*absent) {
	if len(missing) == 0 {
		return
	}
	c, kin := r.colony, r.kin
	recorded := len(c.Birds)
	found := slices.Clone(missing)
	slices.SortFunc(missing, func(a, b *absent) int { return cmp.Compare(a.id, b.id) })
	for k, m := range missing {
		m.index = int32(recorded + k)
		kin.start = append(kin.start, int32(len(kin.links)))
	}
	named, withRow := make([]bool, recorded), 0
	for k := range kin.links {
		switch l := &kin.links[k]; {
		case int(l.parent) >= recorded:
			l.parent = found[int(l.parent)-recorded].index
		case !named[l.parent]:
			named[l.parent] = true
			withRow++
		}
	}
	if n := len(missing); n > 1 {
		r.warn(place{file: file}, codeParentsWithoutRow, fmt.Sprintf("%s of %s named parents have no row: F and kinship are too low", Number(n), Number(withRow+n)),
			"add a row for each; where what is named is no bird, write wild or unknown")
	}
	for _, m := range missing {
		at := place{file, m.line, sideName[m.side], m.id}
		if bird, ok := r.plain.find(m.id); ok && parts(c.Birds[bird].ID) == parts(m.id) {
			near := c.Birds[bird].ID
			r.fault(at, codeWrittenOtherwise, fmt.Sprintf("no bird has this id (of the parent of %s), but %q differs from it %s", times(m.rows, "chick"), near, unlike(m.id, near)),
				fmt.Sprintf("write %q, or give it a row of its own and a name that is told apart", near))
			continue
		}
		r.warn(at, codeParentWithoutRow,
			fmt.Sprintf("this parent (of %s) has no row of its own; it is kept as a founder without a record", times(m.rows, "chick")),
			r.meant(m.id, "add a row for it, or correct the id; if it is no bird, write wild or unknown"))
	}
	for _, m := range missing {
		r.index.add(m.id)
		c.Birds = append(c.Birds, Bird{ID: m.id, Sex: [2]Sex{Male, Female}[m.side]})
	}
}

// checkRoles checks that sires are males and dams are females, each parent
// once.
func (r *reader) checkRoles(file string) {
	birds := r.colony.Birds
	chicks := make([][2]int32, len(birds)) // as sire, as dam
	first := make([][2]int32, len(birds))  // chick of the first such link
	for _, l := range r.kin.links {
		if chicks[l.parent][l.side] == 0 {
			first[l.parent][l.side] = l.chick
		}
		chicks[l.parent][l.side]++
	}
	for i := range birds {
		b := &birds[i]
		asSire, asDam := int(chicks[i][0]), int(chicks[i][1])
		at := func(side int) place {
			return place{file, birds[first[i][side]].Line, sideName[side], b.ID}
		}
		switch {
		case b.Recorded && b.Sex == Female && asSire > 0:
			r.fault(at(0), codeFemaleSire, fmt.Sprintf("the sire of %s is a female (line %d)", times(asSire, "chick"), b.Line), "correct its sex, or name the right sire")
		case b.Recorded && b.Sex == Male && asDam > 0:
			r.fault(at(1), codeMaleDam, fmt.Sprintf("the dam of %s is a male (line %d)", times(asDam, "chick"), b.Line), "correct its sex, or name the right dam")
		case asSire > 0 && asDam > 0 && (!b.Recorded || b.Sex == Unsexed):
			help := "name the right parent in one of the two rows"
			if !b.Recorded {
				help += "; if it is no bird, write wild or unknown"
			}
			r.fault(at(1), codeSireAndDam, fmt.Sprintf("the bird is a dam here and a sire in line %d", birds[first[i][0]].Line), help)
		case b.Recorded && b.Sex == Unsexed && asSire+asDam > 0 && r.sexed:
			role := "sire"
			if asDam > 0 {
				role = "dam"
			}
			r.warn(place{file, b.Line, "sex", ""}, codeUnsexedBreeder, fmt.Sprintf("%q is a %s of %s and its sex is not stated", b.ID, role, times(asSire+asDam, "chick")), "state its sex")
		}
	}
}

// firstBreedingAge is the age in years below which a parent is doubtful where
// programme.toml sets no breeding age.
const firstBreedingAge = 1

// firstAges are the ages in years from which males and females breed.
func (p *Settings) firstAges() [2]float64 {
	return [2]float64{cmp.Or(p.MaleFirst, firstBreedingAge), cmp.Or(p.FemaleFirst, firstBreedingAge)}
}

const (
	aDay   = 1 / DaysPerYear // in years: birthdays fall a day short of the mean year
	aMonth = 31              // in days
)

// checkLifetimes checks the hatch of each bird against the lives of its
// parents, and the ages of the living. A finding needs certainty: of a date
// known in part, no day would do.
func (r *reader) checkLifetimes(file string) {
	birds := r.colony.Birds
	firstAge := r.colony.Settings.firstAges()
	for _, l := range r.kin.links {
		chick, parent := &birds[l.chick], &birds[l.parent]
		if !chick.Hatch.Known() {
			continue
		}
		at := func() place { return place{file, chick.Line, sideName[l.side], parent.ID} }
		if parent.Hatch.Known() {
			oldest := float64(chick.Hatch.Last-parent.Hatch.First) / DaysPerYear
			youngest := float64(chick.Hatch.First-parent.Hatch.Last) / DaysPerYear
			switch {
			case parent.Hatch.First > chick.Hatch.Last:
				r.fault(at(), codeParentAfterChick, fmt.Sprintf("the %s of %q hatched (%s, line %d) after it (%s)", sideName[l.side], chick.ID, parent.Hatch.Text, parent.Line, chick.Hatch.Text),
					"correct one of the two dates, or name the right parent")
			case oldest < firstAge[l.side]-aDay:
				r.warn(at(), codeParentTooYoung, fmt.Sprintf("the %s of %q was under %s old when it hatched (%s), below the breeding age of %g", sideName[l.side], chick.ID, age(max(0, chick.Hatch.Last-parent.Hatch.First)+aMonth), chick.Hatch.Text, firstAge[l.side]),
					"check both dates and the parent, or set [breeding_age] in programme.toml")
			case youngest > r.colony.Settings.oldestAge():
				r.warn(at(), codeParentTooOld, fmt.Sprintf("the %s of %q was over %s old when it hatched (%s), above the greatest age of %g", sideName[l.side], chick.ID, age(chick.Hatch.First-parent.Hatch.Last), chick.Hatch.Text, r.colony.Settings.oldestAge()),
					"check both dates and the parent, or set oldest_age in programme.toml")
			}
		}
		if laid := chick.Hatch.First - Day(r.colony.Settings.IncubationDays); parent.Death.Known() && laid > parent.Death.Last { // one that died later left an egg
			r.warn(at(), codeParentDiedBefore, fmt.Sprintf("the %s of %q died (%s) %s before it hatched (%s)", sideName[l.side], chick.ID, parent.Death.Text, times(int(chick.Hatch.First-parent.Death.Last), "day"), chick.Hatch.Text),
				"check both dates and the parent")
		}
	}
}

// checkBands looks for bands that two birds have at a time.
func (r *reader) checkBands(file string) {
	birds := r.colony.Birds
	bands := newAlikes(len(r.numbers), func(i int32) string { return birds[i].Band })
	for i, n := range r.numbers[:len(r.lines)] {
		if n.band == 0 {
			continue
		}
		first, twice := bands.add(int32(i), n.band)
		if !twice {
			continue
		}
		b, x := &birds[i], &birds[first]
		if livedTogether(x, b) {
			r.warn(place{file, b.Line, "band", b.Band}, codeSameBand, fmt.Sprintf("%q (line %d) has the same band", x.ID, x.Line),
				"make sure that the two rows are not one bird; if they are two, correct a band")
		}
	}
}

// checkFamilies checks what is said of a bird and of its parents, and how many chicks
// a dam had at a time.
func (r *reader) checkFamilies(file string) {
	birds := r.colony.Birds
	laid := make([]int32, len(birds)) // chicks of a dam; most have too few for all that follows
	for _, l := range r.kin.links {
		if l.side == 1 {
			laid[l.parent]++
		}
	}
	type hatched struct {
		day   Day
		chick int32
	}
	many := 0
	at := make([]int32, len(birds)) // where in chicks those of a dam end
	for i, n := range laid {
		if n > mostEggs {
			at[i] = int32(many)
			many += int(n)
		}
	}
	chicks := make([]hatched, many) // of the dams that had many, each in the order of the rows
	for i := range birds {
		b := &birds[i]
		if b.Origin == OriginWild && !b.Founder() {
			r.warn(place{file, b.Line, "origin", "wild"}, codeWildWithParents, fmt.Sprintf("%q is of wild origin and has a parent in the studbook", b.ID),
				"write captive if it hatched under human care; if not, write wild for its sire and dam")
		}
		if _, ok := b.Dam.Known(); ok && b.Hatch.Exact() {
			of := r.kin.of(i)
			if dam := of[len(of)-1].parent; laid[dam] > mostEggs {
				chicks[at[dam]] = hatched{b.Hatch.First, int32(i)}
				at[dam]++
			}
		}
	}
	type brood struct { // of more than a clutch
		dam, first int32
		chicks     int
	}
	var broods []brood
	begin := int32(0)
	for dam, n := range laid {
		if n <= mostEggs {
			continue
		}
		of := chicks[begin:at[dam]]
		begin += n
		slices.SortFunc(of, func(a, b hatched) int { return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.chick, b.chick)) })
		for len(of) > 0 {
			n := 1
			for n < len(of) && of[n].day == of[0].day {
				n++
			}
			if n > mostEggs {
				broods = append(broods, brood{int32(dam), of[0].chick, n})
			}
			of = of[n:]
		}
	}
	slices.SortFunc(broods, func(a, b brood) int { return cmp.Compare(a.first, b.first) })
	for _, x := range broods {
		first, dam := &birds[x.first], &birds[x.dam]
		r.warn(place{file, first.Line, "dam", dam.ID}, codeManyChicks, fmt.Sprintf("%s of %q hatched on %s: more than a bird lays in one clutch", times(x.chicks, "chick"), dam.ID, first.Hatch.First),
			"correct the dam, or the dates; if only the year is known, write the year alone")
	}
}

// bandWord reports whether a cell of bands is that of a band and not a word for
// none: a band has a digit in it.
func bandWord(band string) bool {
	return strings.ContainsAny(band, "0123456789") && !slices.Contains(markers, band)
}

// livedTogether reports whether two birds may have been alive on the same day;
// a band of the dead may be given again.
func livedTogether(a, b *Bird) bool {
	gone := func(x, y *Bird) bool { return x.Death.Known() && y.Hatch.Known() && x.Death.Last < y.Hatch.First }
	return !gone(a, b) && !gone(b, a)
}

// checkCycles finds birds that would be their own ancestors, and returns the others,
// parents first. Loops that share birds make one finding, of a shortest loop through
// the first of them by id.
func (r *reader) checkCycles(file string) (elderFirst []int32) {
	birds := r.colony.Birds
	if elderFirst = r.kin.parentsFirst(); len(elderFirst) == len(birds) {
		return elderFirst
	}
	for _, group := range components(r.kin) {
		from := slices.MinFunc(group, func(a, b int32) int { return cmp.Compare(birds[a].ID, birds[b].ID) })
		loop := shortestLoop(from, r.kin)
		if loop == nil {
			continue // one bird that is not its own parent
		}
		const most = 10
		var path strings.Builder
		for k, l := range loop {
			if k == most {
				fmt.Fprintf(&path, " and so on through %s", times(len(loop)-most, "more bird"))
				break
			}
			if k == 0 {
				fmt.Fprintf(&path, "%q is a chick of %q", birds[l.chick].ID, birds[l.parent].ID)
			} else {
				fmt.Fprintf(&path, ", that of %q", birds[l.parent].ID)
			}
		}
		first := loop[0]
		r.fault(place{file, birds[from].Line, sideName[first.side], birds[first.parent].ID}, codeCycle,
			fmt.Sprintf("%q would be its own ancestor: %s", birds[from].ID, path.String()), "correct a parent of one of these birds")
	}
	return elderFirst
}

// components returns the strongly connected components of the graph of birds
// and parents: the groups of birds that are all each other's ancestors, and
// every other bird alone. It is the algorithm of Tarjan (1972), with a stack
// in place of the recursion, because pedigrees can be deep.
func components(kin *lineage) [][]int32 {
	n := len(kin.start) - 1
	order := make([]int32, n) // of discovery, from 1
	low := make([]int32, n)
	done := make([]bool, n)
	next := slices.Clone(kin.start[:n])
	var groups [][]int32
	var path, open []int32
	count := int32(0)
	for root := range int32(n) {
		if order[root] != 0 {
			continue
		}
		path = append(path, root)
		for len(path) > 0 {
			v := path[len(path)-1]
			if order[v] == 0 {
				count++
				order[v], low[v] = count, count
				open = append(open, v)
			}
			if next[v] < kin.start[v+1] {
				w := kin.links[next[v]].parent
				next[v]++
				if order[w] == 0 {
					path = append(path, w)
				} else if !done[w] {
					low[v] = min(low[v], order[w])
				}
				continue
			}
			path = path[:len(path)-1]
			if len(path) > 0 {
				u := path[len(path)-1]
				low[u] = min(low[u], low[v])
			}
			if low[v] == order[v] {
				k := len(open) - 1
				for open[k] != v {
					k--
				}
				group := slices.Clone(open[k:])
				open = open[:k]
				for _, w := range group {
					done[w] = true
				}
				if len(group) > 1 || slices.ContainsFunc(kin.of(int(v)), func(l link) bool { return l.parent == v }) {
					groups = append(groups, group)
				}
			}
		}
	}
	return groups
}

// shortestLoop returns the links of a shortest way from a bird through its
// ancestors back to itself, nil if there is none.
func shortestLoop(from int32, kin *lineage) []link {
	via := make(map[int32]link) // how a bird was first reached
	queue := []int32{from}
	for len(queue) > 0 {
		v := queue[0]
		queue = queue[1:]
		for _, l := range kin.of(int(v)) {
			if l.parent == from {
				loop := []link{l}
				for v != from {
					loop = append(loop, via[v])
					v = via[v].chick
				}
				slices.Reverse(loop)
				return loop
			}
			if _, seen := via[l.parent]; !seen {
				via[l.parent] = l
				queue = append(queue, l.parent)
			}
		}
	}
	return nil
}
