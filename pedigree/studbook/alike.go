package studbook

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// lookalikes are letters of other scripts that cannot be told from a Latin
// capital by eye, and that keyboards with both scripts put into ids: from the
// confusables of Unicode Technical Standard 39.
var lookalikes = strings.NewReplacer(
	"А", "A", "В", "B", "Е", "E", "К", "K", "М", "M", "Н", "H", "О", "O", "Р", "P", "С", "C", "Т", "T", "У", "Y", "Х", "X", "Ѕ", "S", "І", "I", "Ј", "J", // Cyrillic
	"Α", "A", "Β", "B", "Ε", "E", "Ζ", "Z", "Η", "H", "Ι", "I", "Κ", "K", "Μ", "M", "Ν", "N", "Ο", "O", "Ρ", "P", "Τ", "T", "Υ", "Y", "Χ", "X", // Greek
	"‐", "-", "‑", "-", "‒", "-", "–", "-", "—", "-", "−", "-",
)

// PlainID is an id without regard to what the eye does not tell apart, or one
// keeper writes and another leaves out: case, zeros before a number, letters of
// full width or put together from two signs, letters of other scripts, signs that
// cannot be seen, spaces, hyphens, points, strokes and underscores between a letter
// and a digit, and behind the first sign the letters O and I, and l among capitals,
// for the digits 0 and 1.
func PlainID(id string) string { return string(appendPlain(nil, id)) }

// appendPlain appends to text what PlainID has of an id.
func appendPlain(text []byte, id string) []byte {
	if !ASCII(id) {
		id = strings.Map(func(c rune) rune {
			if invisible(c) {
				return -1
			}
			return c
		}, norm.NFKC.String(id))
		id = strings.Join(strings.Fields(id), " ")
		id = lookalikes.Replace(strings.ToUpper(id))
	}
	number := false // within one, so that a zero counts
	for k := range len(id) {
		c, next := digitOf(id, k), byte(0)
		if k+1 < len(id) {
			next = digitOf(id, k+1)
		}
		if c == '0' && !number && isDigit(next) {
			continue
		}
		if between(c) && len(text) > 0 {
			last := text[len(text)-1]
			if between(next) || isDigit(last) && isLetter(next) || isLetter(last) && isDigit(next) {
				continue
			}
		}
		number = isDigit(c)
		text = append(text, c)
	}
	return text
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// isLetter is of capitals and of what is not ASCII.
func isLetter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 0x80 }

// between reports whether a sign parts an id without naming anything.
func between(c byte) bool { return c == ' ' || c == '-' || c == '.' || c == '/' || c == '_' }

// ASCII reports whether a text has nothing but signs of ASCII.
func ASCII(s string) bool {
	for k := range len(s) {
		if s[k] >= 0x80 {
			return false
		}
	}
	return true
}

// digitOf returns the sign of an id at a place as a capital, and as the digit that
// it may be taken for.
func digitOf(id string, k int) byte {
	c := id[k]
	if c >= 'a' && c <= 'z' {
		if c == 'l' && k > 0 && amongCapitals(id) {
			return '1'
		}
		c -= 'a' - 'A'
	}
	switch {
	case k > 0 && c == 'O':
		return '0'
	case k > 0 && c == 'I':
		return '1'
	}
	return c
}

// amongCapitals reports whether an id has no small letter but l.
func amongCapitals(id string) bool {
	return strings.IndexFunc(id, func(c rune) bool { return c >= 'a' && c <= 'z' && c != 'l' }) < 0
}

// alikes finds texts of birds that are the same as PlainID has them. It keeps the
// birds and no text: there may be a million.
type alikes struct {
	of    func(bird int32) string
	first slots // the bird that had it first
}

// newAlikes returns alikes of so many birds at most.
func newAlikes(birds int, of func(bird int32) string) *alikes {
	return &alikes{of: of, first: newSlots(birds)}
}

// find returns the first bird that was added with a text alike.
func (a *alikes) find(text string) (bird int32, there bool) {
	_, bird, there = a.look(plainNumber(text), text)
	return bird, there
}

// look finds a text of a number: the bird that has one alike, or the slot for it.
func (a *alikes) look(number uint64, text string) (slot int, bird int32, there bool) {
	return a.first.find(number, func(bird int32) bool {
		var one, other [64]byte
		return bytes.Equal(appendPlain(one[:0], text), appendPlain(other[:0], a.of(bird)))
	})
}

// add adds a bird with the number of its text, and returns the one that was there
// before with a text alike.
func (a *alikes) add(bird int32, number uint64) (first int32, twice bool) {
	slot, first, twice := a.look(number, a.of(bird))
	if !twice {
		a.first.put(slot, number, bird, func(bird int32) uint64 { return plainNumber(a.of(bird)) })
	}
	return first, twice
}

// invisible reports whether a sign takes no place on the screen: joiners, soft
// hyphens, marks of direction and of byte order.
func invisible(c rune) bool { return unicode.Is(unicode.Cf, c) }

// checkAlikeIDs reports birds whose ids a keeper may take for one another's,
// and returns the first bird of each plain id.
func (r *reader) checkAlikeIDs(file string) *alikes {
	birds := r.colony.Birds
	plain := newAlikes(len(birds), func(i int32) string { return birds[i].ID })
	for i := range birds {
		b := &birds[i]
		first, twice := plain.add(int32(i), r.numbers[i].plain)
		if !twice {
			continue
		}
		x := &birds[first]
		r.warn(place{file, b.Line, "id", b.ID}, codeAlikeIDs, fmt.Sprintf("the id differs from %q (line %d) %s", x.ID, x.Line, unlike(b.ID, x.ID)),
			"make sure that they are two birds; if they are, tell their ids apart more clearly")
	}
	return plain
}

// unlike says in what alone two ids differ that have the same plain id.
func unlike(a, b string) string {
	if strings.IndexFunc(a+b, func(c rune) bool { return c >= 0x80 }) >= 0 {
		return "in signs alone that look the same or cannot be seen"
	}
	if strings.EqualFold(strings.ReplaceAll(a, "0", ""), strings.ReplaceAll(b, "0", "")) {
		return "in case or leading zeros alone"
	}
	if strings.EqualFold(strings.Map(unparted, a), strings.Map(unparted, b)) {
		return "in spaces or signs between letters and digits alone"
	}
	return "in case, leading zeros, signs between letters and digits, or O for 0 and I or l for 1 alone"
}

// unparted is for strings.Map: it leaves out what parts an id.
func unparted(c rune) rune {
	if c < 0x80 && between(byte(c)) {
		return -1
	}
	return c
}

// parts returns how many signs part an id.
func parts(id string) int { return len(id) - len(strings.Map(unparted, id)) }

// alike adds to a help text the id that an unknown id was perhaps meant for:
// one that differs in punctuation alone or in what the eye does not tell apart.
func (r *reader) alike(id, help string) string {
	if r.folded == nil {
		r.folded = make(map[string]string, len(r.index.ids))
		for i := range r.colony.Birds {
			b := &r.colony.Birds[i]
			if f := foldID(b.ID); f != "" && b.Recorded && (r.folded[f] == "" || b.ID < r.folded[f]) {
				r.folded[f] = b.ID
			}
		}
	}
	if near := r.folded[foldID(id)]; near != "" {
		if near == strings.Join(strings.Fields(id), " ") { // screens show several spaces as one
			return fmt.Sprintf("perhaps %q is meant, with one space where there are more; %s", near, help)
		}
		return fmt.Sprintf("perhaps %q is meant; %s", near, help)
	}
	return help
}

// foldID is a plain id without punctuation.
func foldID(id string) string {
	letters := strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return c
		}
		return -1
	}, PlainID(id))
	return strings.TrimLeft(letters, "0")
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
	if i, ok := r.names()[strings.ToLower(id)]; ok && i >= 0 {
		named := r.colony.Birds[i].ID
		return fmt.Sprintf("%q has it for its name or band; write %q if that is the parent", named, named)
	}
	return r.alike(id, help)
}

// names returns the bird that has a name or band, in lower case, -1 where
// several have it.
func (r *reader) names() map[string]int {
	if r.called == nil {
		r.called = make(map[string]int)
		for i := range r.colony.Birds {
			b := &r.colony.Birds[i]
			for _, name := range []string{strings.ToLower(b.Name), strings.ToLower(b.Band)} {
				if first, twice := r.called[name]; twice && first != i {
					r.called[name] = -1
				} else if b.Recorded && name != "" {
					r.called[name] = i
				}
			}
		}
	}
	return r.called
}
