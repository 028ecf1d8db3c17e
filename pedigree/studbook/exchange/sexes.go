package exchange

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// sexWord is a word of the sex column and what its birds are.
type sexWord struct {
	text        string // as it first stands
	at          spot
	birds       int
	sires, dams int // of its birds, those that stand as sires and as dams
	means       studbook.Sex
	settled     bool
	doubt       bool // it is written with a question mark
}

// sexKey is a word of a sex column without case and punctuation, or the sign
// it is. A word in doubt, as "M?", is another one.
func sexKey(s string) string {
	k := key(s)
	switch {
	case k == "":
		return strings.TrimSpace(s)
	case strings.Contains(s, "?"):
		return k + "?"
	}
	return k
}

// sexes decides what the words of the sex column mean, and each bird's sex.
func (im *importer) sexes() {
	im.standing()
	im.firstOfPairs()
	list, order := im.sexWordsOfFile()
	var open []string
	for _, k := range order {
		if !im.plainSex(list, k) {
			open = append(open, k)
		}
	}
	im.prove(list, open)
	for _, k := range order {
		x := list[k]
		im.report.Words = append(im.report.Words, WordRead{*wordChoice("sex", x.text, x.means.String()), x.birds})
	}
	for i, b := range im.birds {
		var from written
		for _, w := range b.sexes {
			x := list[sexKey(w.Text)]
			switch {
			case x.means == studbook.Unsexed || x.means == b.sex:
			case b.sex == studbook.Unsexed:
				b.sex, from = x.means, w
			default:
				im.conflict(b, "sex", from, w)
			}
		}
		switch sire, dam := im.sires[i], im.dams[i]; {
		case sire == dam:
		case len(b.sexes) == 0:
			im.sexOfParent(b, sire)
		case b.sex == studbook.Unsexed && !slices.ContainsFunc(b.sexes, func(w written) bool { return !list[sexKey(w.Text)].doubt }):
			b.sex = asParent(sire)
		}
	}
}

// standing marks the birds that stand as sires and as dams.
func (im *importer) standing() {
	im.sires, im.dams = make([]bool, len(im.birds)), make([]bool, len(im.birds))
	for _, b := range im.birds {
		for k, w := range [2]written{b.sire, b.dam} {
			if w.Kind == sheets.Blank {
				continue
			}
			if i, ok := im.oneAtMost(w.Text); ok {
				[2][]bool{im.sires, im.dams}[k][i] = true
			}
		}
	}
}

// sexWordsOfFile returns the words of the sex columns, by sexKey, and these in their order.
func (im *importer) sexWordsOfFile() (list map[string]*sexWord, order []string) {
	list = make(map[string]*sexWord)
	for i, b := range im.birds {
		for _, w := range b.sexes {
			k := sexKey(w.Text)
			x := list[k]
			if x == nil {
				x = &sexWord{text: w.Text, at: w.spot}
				list[k] = x
				order = append(order, k)
			}
			x.birds++
			if im.sires[i] {
				x.sires++
			}
			if im.dams[i] {
				x.dams++
			}
		}
	}
	return list, order
}

// plainSex settles a word that needs no parents to be understood, beside the others of the
// file. It reports whether it is one.
func (im *importer) plainSex(list map[string]*sexWord, k string) bool {
	x := list[k]
	settle := func(s studbook.Sex) bool {
		x.means, x.settled = s, true
		return true
	}
	if s, ok := im.saidWord("sex", x.text); ok {
		return settle(studbook.Sex(s[0]))
	}
	if x.doubt = k != "?" && strings.HasSuffix(k, "?"); x.doubt {
		im.sexInDoubt(x)
		return settle(studbook.Unsexed)
	}
	code := k
	if two := list["20"]; two != nil && two.text == "2.0" && strings.HasSuffix(x.text, ".0") { // codes are written 1.0 and 2.0
		code = strings.TrimSuffix(x.text, ".0")
	}
	if code == k {
		if s, ok := sexWords().whole(x.text); ok {
			return settle(s)
		}
	}
	switch {
	case code == "1" && list["01"] != nil && strings.ContainsAny(list["01"].text, ".,"): // the count notation 0.1 is there
		return settle(studbook.Male)
	case code == "f" || code == "w", code == "v" && list["h"] == nil, code == "h" && list["c"] != nil && list["m"] == nil:
		return settle(studbook.Female)
	case code == "m" && list["h"] == nil, code == "c":
		return settle(studbook.Male)
	}
	return false
}

// sexInDoubt says what becomes of the birds whose sex is written with a question mark: those that
// stand as parents are what they stand as, and of the others it is unknown.
func (im *importer) sexInDoubt(x *sexWord) {
	taken, read := studbook.Unsexed, "read as unknown"
	switch {
	case x.sires+x.dams < x.birds && x.sires+x.dams > 0:
		read = fmt.Sprintf("read as unknown, but for %s by what they stand as", studbook.Counted(x.sires+x.dams, "parent", "parents"))
	case x.sires > 0 && x.dams > 0:
		read = "read from what the birds stand as, sire or dam"
	case x.sires > 0:
		taken, read = studbook.Male, "read as male, as every such bird stands as a sire"
	case x.dams > 0:
		taken, read = studbook.Female, "read as female, as every such bird stands as a dam"
	}
	im.likely(Decision{Code: "sex_in_doubt", Sheet: x.at.t.Name, Line: x.at.line, Column: "sex", Value: x.text, Taken: taken.String(), Choice: wordChoice("sex", x.text, taken.String()),
		Text: fmt.Sprintf("the sex %q of %s is in doubt: %s", x.text, studbook.Counted(x.birds, "bird", "birds"), read)})
}

// asParent is the sex of a bird that stands as a sire or else as a dam.
func asParent(sire bool) studbook.Sex {
	if sire {
		return studbook.Male
	}
	return studbook.Female
}

// sexOfParent gives a bird of which no cell says its sex the one of the parent that it stands
// as.
func (im *importer) sexOfParent(b *bird, sire bool) {
	b.sex = asParent(sire)
	if b.at.t.aside[colSex] {
		return
	}
	im.likely(Decision{Code: "sex_of_parent", Sheet: b.at.t.Name, Line: b.at.line, Column: "sex", Taken: b.sex.String(),
		Text: fmt.Sprintf("birds without a sex that stand as parents have the sex of that, as %s, which is %s", b.id, b.sex.Word())})
}

// firstOfPairs takes the first of every pair of parents for the sire, if in
// all pairs the first bear one word of the sex column and the second another.
func (im *importer) firstOfPairs() {
	if slices.Contains(im.sires, true) || slices.Contains(im.dams, true) {
		return
	}
	word := func(i int32) string {
		if list := im.birds[i].sexes; len(list) > 0 {
			return sexKey(list[0].Text)
		}
		return ""
	}
	var firsts, seconds []int32
	for _, b := range im.birds {
		if b.parents.Kind == sheets.Blank {
			continue
		}
		a, c, ok := im.pair(b.parents.Text)
		if !ok {
			continue
		}
		i, ok1 := im.oneAtMost(a)
		j, ok2 := im.oneAtMost(c)
		if !ok1 || !ok2 {
			continue
		}
		firsts, seconds = append(firsts, i), append(seconds, j)
		if word(i) == "" || word(i) == word(j) || word(i) != word(firsts[0]) || word(j) != word(seconds[0]) {
			return
		}
	}
	for k := range firsts {
		im.sires[firsts[k]], im.dams[seconds[k]] = true, true
	}
}

// saidWord returns what the user says that a word means.
func (im *importer) saidWord(kind, s string) (string, bool) {
	of := im.opt.Mapping.Words[kind]
	if m, ok := of[s]; ok {
		return m, true
	}
	for _, theirs := range slices.Sorted(maps.Keys(of)) {
		if strings.EqualFold(strings.TrimSpace(theirs), strings.TrimSpace(s)) {
			return of[theirs], true
		}
	}
	return "", false
}

// pairsOfCodes are codes and letters of which one tells what the other means.
var pairsOfCodes = [][2]string{{"m", "h"}, {"h", "v"}, {"1", "2"}, {"10", "20"}, {"0", "1"}}

// prove settles words by the parents that bear them: what sires bear is male.
func (im *importer) prove(list map[string]*sexWord, open []string) {
	settle := func(x *sexWord, s studbook.Sex, why string) {
		x.means, x.settled = s, true
		im.likely(Decision{Code: "sex_proved", Sheet: x.at.t.Name, Line: x.at.line, Column: "sex", Value: x.text, Taken: s.String(), Choice: wordChoice("sex", x.text, s.String()),
			Text: fmt.Sprintf("the sex %q is %s: %s", x.text, s.Word(), why)})
	}
	for _, k := range open {
		x := list[k]
		switch {
		case x.sires > 0 && x.dams > 0:
			im.stop(Decision{Code: "sex_contradicted", Sheet: x.at.t.Name, Line: x.at.line, Column: "sex", Value: x.text, Choice: wordChoice("sex", x.text, ""),
				Text: fmt.Sprintf("the sex %q is that of %s and of %s", x.text, studbook.Counted(x.sires, "sire", "sires"), studbook.Counted(x.dams, "dam", "dams"))})
			x.settled = true
		case x.sires > 0:
			settle(x, studbook.Male, fmt.Sprintf("%s of the file bear it and no dam does", studbook.Counted(x.sires, "sire", "sires")))
		case x.dams > 0:
			settle(x, studbook.Female, fmt.Sprintf("%s of the file bear it and no sire does", studbook.Counted(x.dams, "dam", "dams")))
		}
	}
	for _, k := range open {
		x := list[k]
		if x.settled {
			continue
		}
		for _, p := range pairsOfCodes {
			other := ""
			switch k {
			case p[0]:
				other = p[1]
			case p[1]:
				other = p[0]
			}
			o := list[other]
			if other == "" || o == nil || !o.settled || k == "0" && list["2"] != nil || other == "0" {
				continue
			}
			switch o.means {
			case studbook.Male:
				settle(x, studbook.Female, fmt.Sprintf("%q is male by its sires", o.text))
			case studbook.Female:
				settle(x, studbook.Male, fmt.Sprintf("%q is female by its dams", o.text))
			}
			break
		}
	}
	im.letters(list, settle)
	males, females := false, false
	for _, x := range list {
		males = males || x.settled && x.means == studbook.Male
		females = females || x.settled && x.means == studbook.Female
	}
	for _, k := range open {
		x := list[k]
		if x.settled {
			continue
		}
		bare := len([]rune(k)) <= 2 || strings.Trim(k, "0123456789") == ""
		if bare && !(males && females) {
			im.stop(Decision{Code: "sex_unproved", Sheet: x.at.t.Name, Line: x.at.line, Column: "sex", Value: x.text, Choice: wordChoice("sex", x.text, ""),
				Text: fmt.Sprintf("the sex %q of %s could be male or female, and no parent shows which", x.text, studbook.Counted(x.birds, "bird", "birds"))})
			continue
		}
		x.means = studbook.Unsexed
		im.likely(Decision{Code: "sex_word_unknown", Sheet: x.at.t.Name, Line: x.at.line, Column: "sex", Value: x.text, Taken: "U", Choice: wordChoice("sex", x.text, "U"),
			Text: fmt.Sprintf("the sex %q of %s is in no list of words: read as unknown", x.text, studbook.Counted(x.birds, "bird", "birds"))})
	}
	for _, x := range list {
		if x.means == 0 {
			x.means = studbook.Unsexed
		}
	}
}

// letters settles M and H where no parent proves them. H is a hen, a hembra or a
// Hahn, but beside M, which is male in every language here, it is female, unless
// another letter than these says so already.
func (im *importer) letters(list map[string]*sexWord, settle func(x *sexWord, s studbook.Sex, why string)) {
	m, h := list["m"], list["h"]
	if m == nil || h == nil || m.settled || h.settled {
		return
	}
	for k, x := range list {
		if k != "m" && k != "h" && (!x.settled || x.means != studbook.Unsexed) {
			return
		}
	}
	settle(m, studbook.Male, fmt.Sprintf("beside %q it is macho or male; no parent shows it", h.text))
	settle(h, studbook.Female, fmt.Sprintf("beside %q it is hembra or hen; no parent shows it", m.text))
}
