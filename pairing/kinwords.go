package pairing

import (
	"math"

	"pairwright/pedigree/studbook"
)

// KinCode names a kind of kinship.
type KinCode string

// The kinds of kinship. Steps of a KinName says how far each goes.
const (
	NoKin   KinCode = "none"    // no common ancestor on record
	Itself  KinCode = "self"    //
	Parent  KinCode = "parent"  // 1 mother or father, 2 grandmother, 3 great-grandmother ...
	Chick   KinCode = "chick"   // 1 daughter or son, 2 granddaughter, ...
	Sibling KinCode = "sibling" // 1
	Aunt    KinCode = "aunt"    // 1 aunt or uncle, 2 great-aunt, ...
	Niece   KinCode = "niece"   // 1 niece or nephew, 2 great-niece, ...
	Cousin  KinCode = "cousin"  // 1 first cousin, 2 second cousin, ...
	Distant KinCode = "distant" // kin, but farther than kinDepth generations back or by founders whose kinship is given
)

// KinName is what one bird is to another.
type KinName struct {
	Code    KinCode
	Steps   int
	Removed int          // generations between cousins
	Half    bool         // one common ancestor instead of a couple
	Sex     studbook.Sex // of the bird that is named
}

// KinInWords is how two birds are related by the pedigree.
type KinInWords struct {
	KinName // the closest kinship by parents that are known for certain

	// Maybe is a closer one that holds if an uncertain parent is a certain one
	// of its candidates; its Code is empty where there is none.
	Maybe KinName

	// Further says that the two are kin in more ways than the one named.
	Further bool
}

// kinDepth is how many generations back kinship is named.
const kinDepth = 4

// forebear is a bird with how many steps up it is reached.
type forebear struct {
	bird    int
	steps   int
	sure    bool   // by parents known for certain alone
	parents [2]int // sire and dam, -1 for one that is not known for certain
}

// KinInWords names what bird b is to bird a: sister, mother, half brother,
// first cousin. Of several kinships the one that adds most to the coefficient
// of kinship is named: ½ to the power of the steps up from both and one more,
// twice that through a couple (Wright 1922).
func (p *Programme) KinInWords(a, b int) KinInWords {
	return p.kinInWords(a, b, func() float64 { return p.Pedigree.Kinship(p.node[a], p.node[b]) })
}

// KinInWordsOf is KinInWords for those who know the kinship of the two already,
// which takes most of the time.
func (p *Programme) KinInWordsOf(a, b int, kinship float64) KinInWords {
	return p.kinInWords(a, b, func() float64 { return kinship })
}

// kinInWords asks for the kinship only where something hangs on it.
func (p *Programme) kinInWords(a, b int, kinship func() float64) KinInWords {
	sex := p.Book.Birds[b].Sex
	out := KinInWords{KinName: KinName{Code: NoKin, Sex: sex}}
	if a == b {
		out.Code = Itself
		return out
	}
	var sure, maybe float64 // what the kinship named adds
	consider := func(name KinName, adds float64, certain bool) {
		name.Sex = sex
		if certain && adds > sure {
			out.KinName, sure = name, adds
		}
		if adds > maybe {
			out.Maybe, maybe = name, adds
		}
	}
	ofA, ofB := p.forebears(a), p.forebears(b)
	half := func(steps int) float64 { return math.Exp2(-float64(steps + 1)) }
	for _, x := range ofA {
		if x.bird == b {
			consider(KinName{Code: Parent, Steps: x.steps}, half(x.steps), x.sure)
		}
	}
	for _, y := range ofB {
		if y.bird == a {
			consider(KinName{Code: Chick, Steps: y.steps}, half(y.steps), y.sure)
		}
	}
	for i := range ofA {
		x := &ofA[i]
		if x.steps == kinDepth {
			continue // its parents are too far back
		}
		for j := range ofB {
			y := &ofB[j]
			if x.bird == y.bird || y.steps == kinDepth {
				continue
			}
			sire, sireSure := p.share(x, y, 0)
			dam, damSure := p.share(x, y, 1)
			if !sire && !dam {
				continue
			}
			up, down := x.steps+1, y.steps+1
			reached := x.sure && y.sure
			if sire && dam {
				consider(collateral(up, down, false), 2*half(up+down), reached && sireSure && damSure)
			}
			consider(collateral(up, down, true), half(up+down), reached && (sire && sireSure || dam && damSure))
		}
	}
	if maybe <= sure {
		out.Maybe = KinName{}
	}
	switch {
	case sure > 0:
		out.Further = kinship() > sure+1e-12
	case maybe == 0 && kinship() > 0:
		out.Code = Distant
	}
	return out
}

// collateral names a bird that has ancestors in common with another: up steps
// from the other, down steps from the bird itself.
func collateral(up, down int, half bool) KinName {
	switch {
	case up == 1 && down == 1:
		return KinName{Code: Sibling, Steps: 1, Half: half}
	case down == 1:
		return KinName{Code: Aunt, Steps: up - 1, Half: half}
	case up == 1:
		return KinName{Code: Niece, Steps: down - 1, Half: half}
	}
	return KinName{Code: Cousin, Steps: min(up, down) - 1, Removed: max(up, down) - min(up, down), Half: half}
}

// parentage is what is known of the parents of a bird, of its sire first.
func (p *Programme) parentage(b int) [2]*studbook.Parentage {
	bird := &p.Book.Birds[b]
	return [2]*studbook.Parentage{&bird.Sire, &bird.Dam}
}

// share reports whether two birds have, or may have, the same parent on a side, that
// of the sire first, and whether that is certain.
func (p *Programme) share(x, y *forebear, side int) (may, sure bool) {
	if of, with := x.parents[side], y.parents[side]; of >= 0 && with >= 0 {
		return of == with, of == with
	}
	for _, c := range p.parentage(x.bird)[side].Candidates {
		for _, d := range p.parentage(y.bird)[side].Candidates {
			if c.ID == d.ID {
				return true, false
			}
		}
	}
	return false, false
}

// mostForebears bounds the list of forebears where many parents are uncertain.
const mostForebears = 200

// forebears returns a bird and its ancestors up to kinDepth steps, the nearest
// first; a candidate for an uncertain parent is one of them.
func (p *Programme) forebears(b int) []forebear {
	list := make([]forebear, 0, 1<<(kinDepth+1))
	add := func(bird, steps int, sure bool) {
		sire, dam := p.Book.Parents(bird)
		list = append(list, forebear{bird, steps, sure, [2]int{sire, dam}})
	}
	add(b, 0, true)
	for k := 0; k < len(list) && len(list) < mostForebears; k++ {
		x := list[k]
		if x.steps == kinDepth {
			break
		}
		for side, parent := range x.parents {
			if parent >= 0 {
				add(parent, x.steps+1, x.sure)
				continue
			}
			for _, c := range p.parentage(x.bird)[side].Candidates {
				if parent, ok := p.Book.Index(c.ID); ok {
					add(parent, x.steps+1, false)
				}
			}
		}
	}
	return list
}
