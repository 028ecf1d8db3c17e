package demography

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"pairwright/pedigree/studbook"
)

// AgeSource says where a breeding age comes from.
type AgeSource string

// The sources of breeding ages.
const (
	FromSettings  AgeSource = "settings"   // programme.toml sets it
	FromRecord    AgeSource = "record"     // told from the parents on record
	FromOldestAge AgeSource = "oldest age" // the oldest age of programme.toml, as the record does not tell
	FromPractice  AgeSource = "practice"   // common practice, as too few parents are on record
	NoAge         AgeSource = ""           // there is none
)

// BreedingAges are the ages in years at which birds of one sex breed, both
// ends included.
type BreedingAges struct {
	First float64
	Last  float64 // 0 where there is no upper end

	FirstFrom, LastFrom AgeSource
	Parents             int // birds of the sex that are for certain a parent of a chick, both of known age
}

// The rules of breeding ages that programme.toml does not set (common
// practice, no source): from how many parents they are told, the share of
// parents that have had their last brood by the last age, how many years
// without a brood show that a bird had stopped, and the first age where too
// few parents are on record.
const (
	enoughParents     = 20
	lastBreedingShare = 0.95
	usualFirstAge     = 2

	// StillBreeds is how many years after its last brood a bird is taken to
	// breed on.
	StillBreeds = 2
)

// BreedingAgesOf returns the breeding ages of females or males on the day of a
// snapshot: those set; else those told from the record, counting parents that
// are known for certain. The first age is that of the youngest parent when its
// chick hatched, where 20 chicks tell it, else 2 years.
//
// The last age is that by which 95 % of parents had their last brood, by the
// curve of Kaplan & Meier (1958) over 20 parents or more. A bird that lives, or
// that died within StillBreeds years of its last brood, might have bred on:
// its age at that brood is censored. Where the curve does not come down to
// 5 %, as in a young programme, the record shows no end and the oldest age of
// programme.toml is taken, or none; no last age lies above that. For a bird of
// unknown sex the range covers both.
func BreedingAgesOf(s *studbook.Snapshot, sex studbook.Sex) BreedingAges {
	set := &s.Colony.Settings
	switch sex {
	case studbook.Female:
		return breedingAges(s, set.FemaleFirst, set.FemaleLast, func(i int) int {
			_, dam := s.Parents(i)
			return dam
		})
	case studbook.Male:
		return breedingAges(s, set.MaleFirst, set.MaleLast, func(i int) int {
			sire, _ := s.Parents(i)
			return sire
		})
	}
	return BreedingAgesOf(s, studbook.Female).Wider(BreedingAgesOf(s, studbook.Male))
}

// Wider returns the range that covers two.
func (a BreedingAges) Wider(b BreedingAges) BreedingAges {
	wide := a
	if b.First < a.First {
		wide.First, wide.FirstFrom = b.First, b.FirstFrom
	}
	if a.Last > 0 && (b.Last == 0 || b.Last > a.Last) {
		wide.Last, wide.LastFrom = b.Last, b.LastFrom
	}
	wide.Parents += b.Parents
	return wide
}

// breedingAges is BreedingAgesOf of a sex; parent gives the parent of a bird that is
// of it.
func breedingAges(s *studbook.Snapshot, first, last float64, parent func(i int) int) BreedingAges {
	out := BreedingAges{First: first, FirstFrom: FromSettings}
	told, youngest := 0, math.Inf(1)           // chicks that tell the age of the parent, and the least
	lastBrood := make([]float64, len(s.Birds)) // age of each bird at its last, 0 if it had none
	for k := range s.Birds {
		chick := &s.Birds[k]
		i := parent(k)
		if i < 0 || !chick.Hatch.Known() {
			continue
		}
		if p := &s.Birds[i]; p.Hatch.Known() && p.Hatch.Mid() < chick.Hatch.Mid() {
			age := years(chick.Hatch.Mid() - p.Hatch.Mid())
			told, youngest = told+1, min(youngest, age)
			if lastBrood[i] == 0 {
				out.Parents++
			}
			lastBrood[i] = max(lastBrood[i], age)
		}
	}
	if first == 0 {
		out.First, out.FirstFrom = usualFirstAge, FromPractice
		if told >= enoughParents {
			out.First, out.FirstFrom = youngest, FromRecord
		}
	}
	oldest := s.Colony.Settings.OldestAge
	switch told := lastBreedingAge(s, lastBrood, out.Parents); {
	case last > 0:
		out.Last, out.LastFrom = last, FromSettings
	case told > 0 && (oldest == 0 || told <= oldest):
		out.Last, out.LastFrom = told, FromRecord
	case oldest > 0:
		out.Last, out.LastFrom = oldest, FromOldestAge
	}
	return out
}

// lastBreedingAge tells the last breeding age from the age of each parent at
// its last brood, 0 for a bird that is none of these parents; 0 if the record does not tell.
func lastBreedingAge(s *studbook.Snapshot, lastBrood []float64, parents int) float64 {
	if parents < enoughParents {
		return 0
	}
	lives := make([]Life, 0, parents)
	for i, age := range lastBrood {
		if age == 0 {
			continue
		}
		b := &s.Birds[i]
		stopped := b.Death.Known() && years(b.Death.Mid()-b.Hatch.Mid()) >= age+StillBreeds
		lives = append(lives, Life{Exit: age, Died: stopped})
	}
	for _, step := range KaplanMeier(lives).Steps {
		if step.Survival <= 1-lastBreedingShare {
			return step.Age
		}
	}
	return 0
}

// firstAges returns the first breeding age in years by sex.
func (c *Census) firstAges() map[studbook.Sex]float64 {
	female, male := c.ages()[studbook.Female], c.ages()[studbook.Male]
	return map[studbook.Sex]float64{studbook.Female: female.First, studbook.Male: male.First, studbook.Unsexed: female.Wider(male).First}
}

// Breeding is who bred in a time.
type Breeding struct {
	Chicks int // hatched in the scope in the time

	// Sires and Dams are the birds, dead ones too, that are for certain a
	// parent of one of the chicks; Size is their SexRatioSize.
	Sires, Dams int
	Size        float64

	// Females, Males and All are the share of the adults living in the scope
	// at the end that are for certain a parent of a chick hatched anywhere in
	// the time. Adults are birds that have reached the first breeding age, and
	// birds of unknown age. All counts birds of unknown sex too.
	Females, Males, All Proportion
}

// Breeding returns who bred in a scope after one day and up to another, that
// day included; the adults are those living on the day of the snapshot.
func (c *Census) Breeding(scope Scope, from, to studbook.Day) Breeding {
	var r Breeding
	bred := make([]bool, len(c.courses))
	sires, dams := make(map[int]bool), make(map[int]bool)
	for k := range c.courses {
		b, v := &c.snapshot.Birds[k], &c.courses[k]
		if v.hatch <= from || v.hatch > to || !b.Recorded {
			continue
		}
		here := c.hatchedIn(k, scope)
		if here {
			r.Chicks++
		}
		note := func(i int, parents map[int]bool) {
			if i < 0 {
				return
			}
			bred[i] = true
			if here {
				parents[i] = true
			}
		}
		sire, dam := c.snapshot.Parents(k)
		note(sire, sires)
		note(dam, dams)
	}
	r.Sires, r.Dams = len(sires), len(dams)
	r.Size = SexRatioSize(r.Sires, r.Dams)

	first := c.firstAges()
	var adults, parents AgeCount
	for _, i := range c.living(scope) {
		sex := c.snapshot.Birds[i].Sex
		if age, ok := c.age(i, c.snapshot.AsOf); ok && !bred[i] && age < first[sex] {
			continue
		}
		adults.add(sex)
		if bred[i] {
			parents.add(sex)
		}
	}
	r.Females = NewProportion(parents.Females, adults.Females)
	r.Males = NewProportion(parents.Males, adults.Males)
	r.All = NewProportion(parents.Total(), adults.Total())
	return r
}

// Mean is a mean of values with its standard error.
type Mean struct {
	Value Number
	N     float64 // values, by weight
	SE    Number  // of values independent of each other; unknown for N of 1 or less
}

// newMean returns the mean of values with weights.
func newMean(values, weights []float64) Mean {
	var m Mean
	for _, w := range weights {
		m.N += w
	}
	if m.N == 0 {
		return m
	}
	mean := stat.Mean(values, weights)
	m.Value = known(mean)
	if m.N > 1 {
		squares := 0.0
		for i, x := range values {
			squares += weights[i] * (x - mean) * (x - mean)
		}
		m.SE = known(math.Sqrt(squares / (m.N - 1) / m.N))
	}
	return m
}

// ParentAges is the age of parents in years when their chicks hatched.
type ParentAges struct {
	Sires, Dams Mean

	// Length is the generation length as it was: the mean of the two sexes'
	// means, or the one that is known.
	Length Number
}

// ParentAges returns the empirical generation length: the mean age of the
// parents at the hatch of the chicks that hatched in a scope after one day and
// up to another, that day included. Candidate parents count by weight, parents
// of unknown age not at all. A parent counts once for each chick, so the
// standard errors are somewhat too small.
func (c *Census) ParentAges(scope Scope, from, to studbook.Day) ParentAges {
	side := func(parent func(*studbook.Bird) studbook.Parentage) Mean {
		var ages, weights []float64
		for k := range c.courses {
			if v := &c.courses[k]; v.hatch <= from || v.hatch > to || !c.hatchedIn(k, scope) {
				continue
			}
			for _, p := range parent(&c.snapshot.Birds[k]).Candidates {
				if i, ok := c.snapshot.Index(p.ID); ok {
					if age, ok := c.age(i, c.courses[k].hatch); ok {
						ages, weights = append(ages, age), append(weights, p.Weight)
					}
				}
			}
		}
		return newMean(ages, weights)
	}
	a := ParentAges{
		Sires: side(func(b *studbook.Bird) studbook.Parentage { return b.Sire }),
		Dams:  side(func(b *studbook.Bird) studbook.Parentage { return b.Dam }),
	}
	switch s, d := a.Sires.Value, a.Dams.Value; {
	case s.Known && d.Known:
		a.Length = known((s.Value + d.Value) / 2)
	case s.Known:
		a.Length = s
	default:
		a.Length = d
	}
	return a
}

// Families returns the effective size of the programme from the families of
// the birds that reached their first breeding age and have died: for each, the
// chicks that are its for certain and that themselves reached that age. A bird
// one of whose chicks lives and is still too young is left out, because its
// family is not complete.
func (c *Census) Families() FamilySize {
	first := c.firstAges()
	// adult says whether a bird came to breeding age; false, false if that is
	// still open or cannot be known.
	adult := func(i int) (yes, settled bool) {
		v := &c.courses[i]
		end := c.snapshot.AsOf
		if v.dead != 0 {
			end = v.dead
		}
		age, ok := c.age(i, end)
		if !ok {
			return false, false
		}
		yes = age >= first[c.snapshot.Birds[i].Sex]
		return yes, yes || v.dead != 0
	}
	chicks := make([][]int, len(c.courses))
	for k := range c.courses {
		sire, dam := c.snapshot.Parents(k)
		for _, i := range [2]int{sire, dam} {
			if i >= 0 {
				chicks[i] = append(chicks[i], k)
			}
		}
	}
	var families []int
birds:
	for i := range c.courses {
		if yes, _ := adult(i); !yes || c.courses[i].dead == 0 || len(c.courses[i].stays) == 0 {
			continue
		}
		size := 0
		for _, k := range chicks[i] {
			yes, settled := adult(k)
			if !settled {
				continue birds
			}
			if yes {
				size++
			}
		}
		families = append(families, size)
	}
	return FamilySizes(families)
}
