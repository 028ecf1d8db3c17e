package studbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// link is one bird as parent, or possible parent, of another: indices in
// Colony.Birds.
type link struct {
	chick, parent int
	side          int // 0 sire, 1 dam
}

var sideName = [2]string{"sire", "dam"}

// checkPedigree adds the parents without a row to the birds and checks every
// bird against its parents. All of it is linear in the links, but for sorting.
func (r *reader) checkPedigree(file string) error {
	r.dropMarkers(file)
	r.checkAlikeIDs(file)
	links := r.addParents(file)
	r.checkRoles(file, links)
	r.checkLifetimes(file, links)
	r.checkCycles(file, links)
	return r.ctx.Err()
}

// markers are what other programs write for an unknown parent.
var markers = []string{"?", "??", "-", "--", ".", "*", "0", "na", "n/a", "none", "nil", "null", "unk", "not known"}

// dropMarkers reads such marks as an unknown parent where no bird has them
// for an id: as founders they would make kin of all their chicks.
func (r *reader) dropMarkers(file string) {
	type use struct {
		at   place
		rows int
	}
	uses := make(map[string]*use)
	marker := func(c Candidate) bool {
		if len(c.ID) > 9 || !slices.Contains(markers, strings.ToLower(c.ID)) {
			return false
		}
		_, row := r.index[c.ID]
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

// addParents adds a bird for every parent without a row, by id, and returns
// who is a parent of whom.
func (r *reader) addParents(file string) []link {
	c := r.colony
	recorded := len(c.Birds)
	type absent struct {
		id         string
		first      link
		line, rows int
	}
	var missing []*absent
	byID := make(map[string]*absent)
	links := make([]link, 0, 2*recorded)
	for i := range recorded {
		b := &c.Birds[i]
		for side, p := range [2]*Parentage{&b.Sire, &b.Dam} {
			for _, cand := range p.Candidates {
				if j, ok := r.index[cand.ID]; ok {
					links = append(links, link{i, j, side})
					continue
				}
				m := byID[cand.ID]
				if m == nil {
					m = &absent{id: cand.ID, first: link{i, 0, side}, line: b.Line}
					byID[cand.ID] = m
					missing = append(missing, m)
				}
				m.rows++
			}
		}
	}
	if len(missing) == 0 {
		return links
	}
	slices.SortFunc(missing, func(a, b *absent) int { return cmp.Compare(a.id, b.id) })
	if n := len(missing); n > 1 {
		named := make(map[int]bool)
		for _, l := range links {
			named[l.parent] = true
		}
		r.warn(place{file: file}, codeParentsWithoutRow, fmt.Sprintf("%d of %d named parents have no row: F and kinship are too low", n, len(named)+n),
			"add a row for each; where what is named is no bird, write wild or unknown")
	}
	for _, m := range missing {
		at := place{file, m.line, sideName[m.first.side], m.id}
		if near := r.plain[plainID(m.id)]; near != "" {
			r.fault(at, codeWrittenOtherwise, fmt.Sprintf("no bird has this id (of the parent of %s), but %q differs from it in case or leading zeros alone", times(m.rows, "chick"), near),
				fmt.Sprintf("write %q, or give it a row of its own and a name that is told apart", near))
			continue
		}
		r.warn(at, codeParentWithoutRow,
			fmt.Sprintf("this parent (of %s) has no row of its own; it is kept as a founder without a record", times(m.rows, "chick")),
			r.meant(m.id, "add a row for it, or correct the id; if it is no bird, write wild or unknown"))
	}
	for _, m := range missing {
		r.index[m.id] = len(c.Birds)
		c.Birds = append(c.Birds, Bird{ID: m.id, Sex: [2]Sex{Male, Female}[m.first.side]})
	}
	links = links[:0]
	for i := range recorded {
		b := &c.Birds[i]
		for side, p := range [2]*Parentage{&b.Sire, &b.Dam} {
			for _, cand := range p.Candidates {
				links = append(links, link{i, r.index[cand.ID], side})
			}
		}
	}
	return links
}

// times counts things: "1 chick", "3 chicks".
func times(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// checkRoles checks that sires are males and dams are females, each parent
// once.
func (r *reader) checkRoles(file string, links []link) {
	birds := r.colony.Birds
	chicks := make([][2]int, len(birds)) // as sire, as dam
	first := make([][2]int, len(birds))  // chick of the first such link
	for _, l := range links {
		if chicks[l.parent][l.side] == 0 {
			first[l.parent][l.side] = l.chick
		}
		chicks[l.parent][l.side]++
	}
	for i := range birds {
		b := &birds[i]
		asSire, asDam := chicks[i][0], chicks[i][1]
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

// checkLifetimes checks the hatch of each bird against the lives of its
// parents, and the ages of the living. A finding needs certainty: of a date
// known in part, no day would do.
func (r *reader) checkLifetimes(file string, links []link) {
	birds := r.colony.Birds
	programme := &r.colony.Settings
	firstAge := [2]float64{programme.MaleFirst, programme.FemaleFirst}
	for i := range firstAge {
		if firstAge[i] == 0 {
			firstAge[i] = firstBreedingAge
		}
	}
	for _, l := range links {
		chick, parent := &birds[l.chick], &birds[l.parent]
		if !chick.Hatch.Known() {
			continue
		}
		at := place{file, chick.Line, sideName[l.side], parent.ID}
		if parent.Hatch.Known() {
			oldest := float64(chick.Hatch.Last-parent.Hatch.First) / DaysPerYear
			const day = 1 / DaysPerYear // birthdays fall a day short of the mean year
			switch {
			case parent.Hatch.First > chick.Hatch.Last:
				r.fault(at, codeParentAfterChick, fmt.Sprintf("the %s of %q hatched (%s, line %d) after it (%s)", sideName[l.side], chick.ID, parent.Hatch.Text, parent.Line, chick.Hatch.Text),
					"correct one of the two dates, or name the right parent")
			case oldest < firstAge[l.side]-day:
				r.warn(at, codeParentTooYoung, fmt.Sprintf("the %s of %q was at most %.1f years old when it hatched (%s), below the breeding age of %g", sideName[l.side], chick.ID, max(0, oldest), chick.Hatch.Text, firstAge[l.side]),
					"check both dates and the parent, or set [breeding_age] in programme.toml")
			}
		}
		if parent.Death.Known() && chick.Hatch.First > parent.Death.Last {
			r.warn(at, codeParentDiedBefore, fmt.Sprintf("the %s of %q died (%s) %s before it hatched (%s)", sideName[l.side], chick.ID, parent.Death.Text, times(int(chick.Hatch.First-parent.Death.Last), "day"), chick.Hatch.Text),
				"check both dates and the parent")
		}
	}
	if programme.OldestAge == 0 || r.opt.Today == 0 {
		return
	}
	for i := range birds {
		b := &birds[i]
		if !b.Recorded || b.Death.Known() || !b.Hatch.Known() {
			continue
		}
		if age := float64(r.opt.Today-b.Hatch.Last) / DaysPerYear; age > programme.OldestAge {
			r.warn(place{file, b.Line, "hatch_date", b.Hatch.Text}, codeOlderThanRecord, fmt.Sprintf("%q would be %.1f years old, above the species' record of %g", b.ID, age, programme.OldestAge),
				"write in death_date what is known of its death, or correct the hatch date")
		}
	}
}

// checkCycles finds birds that would be their own ancestors. Loops that share
// birds make one finding, of a shortest loop through the first of them by id.
func (r *reader) checkCycles(file string, links []link) {
	birds := r.colony.Birds
	// The parents of bird i are parents[start[i]:start[i+1]].
	start := make([]int, len(birds)+1)
	parents := make([]link, len(links))
	for _, l := range links {
		start[l.chick+1]++
	}
	for i := range birds {
		start[i+1] += start[i]
	}
	next := slices.Clone(start)
	for _, l := range links {
		parents[next[l.chick]] = l
		next[l.chick]++
	}
	for _, group := range components(start, parents) {
		from := slices.MinFunc(group, func(a, b int) int { return cmp.Compare(birds[a].ID, birds[b].ID) })
		loop := shortestLoop(from, start, parents, birds)
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
}

// components returns the strongly connected components of the graph of birds
// and parents: the groups of birds that are all each other's ancestors, and
// every other bird alone. It is the algorithm of Tarjan (1972), with a stack
// in place of the recursion, because pedigrees can be deep.
func components(start []int, parents []link) [][]int {
	n := len(start) - 1
	order := make([]int, n) // of discovery, from 1
	low := make([]int, n)
	done := make([]bool, n)
	next := slices.Clone(start[:n])
	var groups [][]int
	var path, open []int
	count := 0
	for root := range n {
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
			if next[v] < start[v+1] {
				w := parents[next[v]].parent
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
				if len(group) > 1 || slices.ContainsFunc(parents[start[v]:start[v+1]], func(l link) bool { return l.parent == v }) {
					groups = append(groups, group)
				}
			}
		}
	}
	return groups
}

// shortestLoop returns the links of a shortest way from a bird through its
// ancestors back to itself, nil if there is none.
func shortestLoop(from int, start []int, parents []link, birds []Bird) []link {
	via := make(map[int]link) // how a bird was first reached
	queue := []int{from}
	for len(queue) > 0 {
		v := queue[0]
		queue = queue[1:]
		for _, l := range parents[start[v]:start[v+1]] {
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

// checkLives looks at who lives where on the day of the files.
func (r *reader) checkLives() {
	c := r.colony
	c.lives = c.layOutLives()
	lives := c.lives
	signed, unsigned := 0, 0 // birds that came in without a dated arrival
	for i := range lives {
		switch l := &lives[i]; {
		case !l.CameIn || l.Arrived || !c.Birds[i].Recorded:
		case l.Seen != 0:
			signed++
		default:
			unsigned++
		}
	}
	if signed > 0 {
		r.note("%s came into the programme on no recorded day (a move with a blank from): counted from the first chick or other record", times(signed, "bird"))
	}
	if unsigned > 0 {
		r.note("%s came into the programme on no recorded day and left no other sign of when: counted from the hatch", times(unsigned, "bird"))
	}
	day := cmp.Or(c.FilesDay, Forever-1)
	where := func(id string) (string, bool) {
		if i, ok := r.index[id]; ok {
			return lives[i].On(day)
		}
		return "", false
	}
	for _, b := range c.Bonds {
		if b.Until.OnOrBefore(day) {
			continue
		}
		f, ok1 := where(b.Female)
		m, ok2 := where(b.Male)
		if ok1 && ok2 && f != m {
			r.warn(place{r.labels[bondsFile], b.Line, "until", ""}, codeBondApart, fmt.Sprintf("the bond has no end, but %q lives at %s and %q at %s; it counts as none", b.Female, f, b.Male, m),
				"write in until when it ended, or correct a move")
		}
	}
}

// checkMoves follows each bird from move to move.
func (r *reader) checkMoves(file string) {
	moves := slices.Clone(r.colony.Moves)
	slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	last := make(map[string]Move)
	been := make(map[string]bool) // bird and place, for birds that moved
	for _, m := range moves {
		if !m.Date.Known() {
			continue
		}
		switch before, ok := last[m.ID]; {
		case !ok || m.From == "" || m.From == before.To:
		case before.To == "":
			r.warn(place{file, m.Line, "from", m.From}, codeMoveFromOther, fmt.Sprintf("%q was not there: by its move of %s (line %d) it had left the programme", m.ID, before.Date.Text, before.Line),
				"leave from blank if it came back from outside, or correct one of the two moves")
		default:
			r.warn(place{file, m.Line, "from", m.From}, codeMoveFromOther, fmt.Sprintf("%q was not there: its move of %s (line %d) took it to %s", m.ID, before.Date.Text, before.Line, before.To),
				"correct one of the two moves, or add the one between them")
		}
		last[m.ID] = m
		been[m.ID+"\x00"+m.From], been[m.ID+"\x00"+m.To] = true, true
	}
	if !r.colony.HasLocation {
		return
	}
	for i := range r.colony.Birds {
		b := &r.colony.Birds[i]
		if m, moved := last[b.ID]; moved && m.To != "" && b.Location != "" && !been[b.ID+"\x00"+b.Location] {
			r.warn(place{r.labels[studbookFile], b.Line, "location", b.Location}, codeLocationUnmoved, fmt.Sprintf("no move of %q came from or went there; its last move took it to %s, and that is used", b.ID, m.To),
				"correct the location, or add the move that is missing")
		}
	}
}

// notBirds are words that stand for no bird where parents are named, in the
// languages of the bird rooms we know; the help then says what to write.
var notBirds = map[string]string{
	"wildcaught": "wild", "wildcatch": "wild", "wildbird": "wild", "wildborn": "wild", "fromthewild": "wild", "caught": "wild", "wc": "wild",
	"wildfang": "wild", "sauvage": "wild", "salvaje": "wild", "silvestre": "wild", "selvagem": "wild", "selvatico": "wild",
	"unbekannt": "unknown", "inconnu": "unknown", "inconnue": "unknown", "desconocido": "unknown", "desconocida": "unknown",
	"desconhecido": "unknown", "sconosciuto": "unknown", "onbekend": "unknown", "several": "unknown", "multiple": "unknown",
	"mixed": "unknown", "group": "unknown", "flock": "unknown", "various": "unknown",
}

// meant says whom or what a parent without a row was perhaps meant for: a bird
// by its name or band, no bird at all, or an id written otherwise.
func (r *reader) meant(id, help string) string {
	letters := strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) {
			return unicode.ToLower(c)
		}
		return -1
	}, id)
	if write := notBirds[letters]; write != "" {
		return fmt.Sprintf("this seems to be no bird; write %s, or add a row for it", write)
	}
	if dots := strings.Count(id, "."); letters == "" && (dots == 1 || dots == 2) && strings.Trim(id, ".0123456789") == "" {
		return "this seems to be a count of males, females and unsexed; write unknown, or add a row for it"
	}
	named := ""
	for i := range r.colony.Birds {
		b := &r.colony.Birds[i]
		if b.Recorded && (strings.EqualFold(b.Name, id) || strings.EqualFold(b.Band, id)) {
			if named != "" {
				return r.alike(id, help) // two of that name
			}
			named = b.ID
		}
	}
	if named != "" {
		return fmt.Sprintf("%q has it for its name or band; write %q if that is the parent", named, named)
	}
	return r.alike(id, help)
}

// plainID is an id without regard to case and to zeros before a number.
func plainID(id string) string {
	id = strings.ToUpper(id)
	if !strings.Contains(id, "0") {
		return id
	}
	var b strings.Builder
	number := false // within one, so that a zero counts
	for k := range len(id) {
		digit := id[k] >= '0' && id[k] <= '9'
		more := k+1 < len(id) && id[k+1] >= '0' && id[k+1] <= '9'
		if id[k] == '0' && !number && more {
			continue
		}
		number = digit
		b.WriteByte(id[k])
	}
	return b.String()
}

// checkAlikeIDs reports birds whose ids a keeper may take for one another's,
// and remembers the first bird of each plain id.
func (r *reader) checkAlikeIDs(file string) {
	r.plain = make(map[string]string, len(r.index))
	for i := range r.colony.Birds {
		b := &r.colony.Birds[i]
		plain := plainID(b.ID)
		first, twice := r.plain[plain]
		if !twice {
			r.plain[plain] = b.ID
			continue
		}
		r.warn(place{file, b.Line, "id", b.ID}, codeAlikeIDs, fmt.Sprintf("the id differs from %q (line %d) in case or leading zeros alone", first, r.colony.Birds[r.index[first]].Line),
			"make sure that they are two birds; if they are, tell their ids apart more clearly")
	}
}

// alike adds to a help text the id that an unknown id was perhaps meant for:
// one that differs in case, punctuation or leading zeros alone.
func (r *reader) alike(id, help string) string {
	if r.folded == nil {
		r.folded = make(map[string]string, len(r.index))
		for i := range r.colony.Birds {
			b := &r.colony.Birds[i]
			if f := foldID(b.ID); f != "" && b.Recorded && (r.folded[f] == "" || b.ID < r.folded[f]) {
				r.folded[f] = b.ID
			}
		}
	}
	if near := r.folded[foldID(id)]; near != "" {
		return fmt.Sprintf("perhaps %q is meant; %s", near, help)
	}
	return help
}

func foldID(id string) string {
	letters := strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return unicode.ToLower(c)
		}
		return -1
	}, id)
	return strings.TrimLeft(letters, "0")
}
