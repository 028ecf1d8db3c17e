package exchange

import (
	"math"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// finder looks up birds by what they are called.
type finder struct {
	sight     map[string]int32  // what PlainID has of an id -> bird; -1 where several; made when needed
	names     *names            // made when needed; see called
	looked    map[string]lookup // texts that are no id as it stands, once all birds are there
	sires     []bool            // by bird, whether it is a sire for certain
	dams      []bool
	pointed   byte                   // whether ids have points between digits: 1 no, 2 yes
	namesakes map[namesake]*timeline // when they could be parents; made when needed
	could     []int32                // what couldBe returned last
	rowless   map[string]int         // parents without a row: bit 1 as sire, bit 2 as dam
}

// namesake is birds of one name, by what key has of it, that are or may be of one sex.
type namesake struct {
	name string
	sex  studbook.Sex
}

// lookup is a bird that was looked up by a text, and how it was found.
type lookup struct {
	bird int32
	how  found
}

// names are what birds are called besides their ids as they stand: bird by name, -1
// where several have it.
type names struct {
	folded map[string]int32 // ids without case, spaces and punctuation
	other  map[string]int32 // other ids as they stand and folded
	band   map[string]int32
	name   map[string][]int32
	shapes map[string]bool // of the ids
}

const several = int32(-1)

// index makes all birds findable, also those that came since it was last asked.
func (im *importer) index() { im.names, im.sight, im.looked = nil, nil, make(map[string]lookup) }

// called returns what the birds are called. A file whose parents are all written as
// the ids are needs none of it.
func (im *importer) called() *names {
	if im.names != nil {
		return im.names
	}
	all := &names{make(map[string]int32, len(im.birds)), make(map[string]int32), make(map[string]int32), make(map[string][]int32), make(map[string]bool)}
	put := func(m map[string]int32, k string, i int32) {
		if k == "" {
			return
		}
		if old, there := m[k]; there && old != i {
			i = several
		}
		m[k] = i
	}
	for i, b := range im.birds {
		i := int32(i)
		put(all.folded, key(b.id), i)
		all.shapes[shape(b.id)] = true
		put(all.band, b.band, i)
		if f := key(b.band); f != b.band {
			put(all.band, f, i)
		}
		for _, o := range b.others.list {
			put(all.other, o, i)
			if f := key(o); f != o {
				put(all.other, f, i)
			}
		}
		if b.name == "" { // "Poppy (1010)" is called Poppy, and is 1010
			if inner, outer, ok := inBrackets(b.id); ok {
				all.name[key(outer)] = append(all.name[key(outer)], i)
				put(all.other, inner, i)
			}
			continue
		}
		if n, ok := nobodyWords().whole(b.name); ok && n != severalParents {
			continue
		}
		k := key(b.name)
		all.name[k] = append(all.name[k], i)
	}
	im.names = all
	return all
}

// bearing returns the birds that bear a name.
func (im *importer) bearing(name string) []int32 { return im.called().name[key(name)] }

// one finds the bird that a text names by an id or a band. What is no id as it stands
// is looked up in several ways, and a parent's cell in several parts of this package.
func (im *importer) one(s string) (int32, found) {
	if i, ok := im.byID[s]; ok {
		return i, byID
	}
	x, there := im.looked[s]
	if !there {
		x.bird, x.how = im.lookUp(s)
		if im.looked != nil {
			im.looked[s] = x
		}
	}
	return x.bird, x.how
}

func (im *importer) lookUp(s string) (int32, found) {
	if im.weighs(s) {
		return 0, notFound
	}
	t := im.idText(sheets.TextCell(s))
	if i, ok := im.byID[t]; ok {
		return i, byIDOtherwise
	}
	k, names := key(t), im.called()
	if i, ok := names.folded[k]; ok && i != several {
		return i, byIDOtherwise
	}
	for _, x := range [...]string{s, k} {
		if i, ok := names.other[x]; ok && i != several {
			return i, byBand
		}
		if i, ok := names.band[x]; ok && i != several {
			return i, byBand
		}
	}
	if i, ok := im.bySight(t); ok {
		return i, byIDOtherwise
	}
	return 0, notFound
}

// bySight finds the one bird whose id the eye does not tell from another: A007 where
// A7 is written.
func (im *importer) bySight(id string) (int32, bool) {
	if im.sight == nil {
		im.sight = make(map[string]int32, len(im.birds))
		for i, b := range im.birds {
			p := studbook.PlainID(b.id)
			if _, there := im.sight[p]; there {
				im.sight[p] = several
			} else {
				im.sight[p] = int32(i)
			}
		}
	}
	i, ok := im.sight[studbook.PlainID(id)]
	return i, ok && i != several
}

// oneAtMost finds a bird that some other cell names, as a partner's or a
// group's, by an id, a band or a name that one bird has.
func (im *importer) oneAtMost(s string) (int32, bool) {
	s = strings.TrimSpace(s)
	if i, how := im.one(s); how != notFound {
		return i, true
	}
	if named := im.bearing(s); len(named) == 1 {
		return named[0], true
	}
	if inner, outer, ok := inBrackets(s); ok {
		for _, x := range []string{inner, outer} {
			if i, how := im.one(x); how != notFound {
				return i, true
			}
		}
	}
	return 0, false
}

// inBrackets cuts "Name (id)" apart.
func inBrackets(s string) (inner, outer string, ok bool) {
	if !strings.HasSuffix(s, ")") && !strings.HasSuffix(s, "]") {
		return "", "", false
	}
	i := strings.LastIndexAny(s, "([")
	if i <= 0 {
		return "", "", false
	}
	return strings.TrimSpace(s[i+1 : len(s)-1]), strings.TrimSpace(s[:i]), true
}

// longest is how many days before its chick hatches a parent may have died.
const longest = 120

// couldBe returns those of the birds of a name, by place, that could be parents of another: of
// the sex, hatched before it, and alive in its season. It stops with one more than may stand
// as candidates. The list is good until it is asked again.
func (im *importer) couldBe(name string, all []int32, chick *bird, sex studbook.Sex) []int32 {
	those := namesake{key(name), sex}
	lives, there := im.namesakes[those]
	if !there {
		var periods []period
		for _, i := range all {
			if is := im.birds[i].sex; sex == studbook.Unsexed || is == studbook.Unsexed || is == sex {
				periods = append(periods, im.lifetimeOf(i))
			}
		}
		lives = newTimeline(periods)
		im.namesakes[those] = lives
	}
	first, last := chick.days()
	if chick.hatch.known() {
		last-- // it hatched before
	}
	could := im.could[:0]
	defer func() { im.could = could }()
	for i := range lives.during(first, last) {
		if im.birds[i] != chick {
			could = append(could, i)
		}
		if len(could) > studbook.MostCandidates {
			return could
		}
	}
	slices.Sort(could)
	return could
}

// lifetimeOf returns the days on which a bird could be a parent.
func (im *importer) lifetimeOf(i int32) period {
	p, s := im.birds[i], always(i)
	if p.hatch.known() {
		s.first = p.hatch.first
	}
	if p.death.known() {
		s.last = p.death.last + longest
	}
	return s
}

// days are those on which a bird may have hatched, all where nothing is known.
func (b *bird) days() (first, last studbook.Day) {
	if !b.hatch.known() {
		return math.MinInt32, math.MaxInt32
	}
	return b.hatch.first, b.hatch.last
}
