package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// Advice is the footer of every document that advises.
const Advice = "This is advice. The programme's coordinator, the veterinarians, permits and the law of the place decide."

// about says what the figures of a document refer to.
func about(p *pairing.Programme) document.Facts {
	f := document.Facts{
		{Name: "Studbook", Value: p.Book.Colony.Source},
		{Name: document.AsOf, Value: document.FormatDay(p.Book.AsOf)},
	}
	if species := p.Settings().Species; species != "" {
		f = append(f, document.Fact{Name: "Species", Value: species})
	}
	return append(f,
		document.Fact{Name: "Programme", Value: document.FormatThings(p.Living.Size(), "living bird", "living birds")},
		document.Fact{Name: "Gene diversity", Value: diversity(p.Living) + " with living founders, " + diversity(p.WithoutFounders()) + " without"})
}

func diversity(q *pedigree.Population) string {
	gd, ok := q.GeneDiversity()
	if !ok {
		return document.Unknown
	}
	return document.FormatDiversity(gd)
}

// colonyName names a colony, or the whole programme where places are not on
// record.
func colonyName(p *pairing.Programme, place string) string {
	if place == "" {
		return "the whole programme"
	}
	return p.Place(place)
}

// Columns and cells that several tables share.
var (
	birdColumn = document.Column{Name: "Bird", Key: true}
	nameColumn = document.Column{Name: "Name"}
	sexColumn  = document.Column{Name: "Sex"}
	ageColumn  = document.Column{Name: "Age", Unit: "years", Right: true}
	atColumn   = document.Column{Name: "At"}
	fColumn    = document.Column{Name: "F", Right: true}
	mkColumn   = document.Column{Name: "Mean kinship", Right: true}
)

func word(s string) document.Cell { return document.Cell{Text: orUnknown(s)} }

func orUnknown(s string) string {
	if s == "" {
		return document.Unknown
	}
	return s
}

func kinshipCell(f float64) document.Cell {
	return document.Cell{Text: document.FormatKinship(f), Value: f}
}

func shareCell(share float64) document.Cell {
	return document.Cell{Text: document.FormatPercent(share), Value: share}
}

func chanceCell(share float64) document.Cell {
	return document.Cell{Text: document.FormatChance(share), Value: share}
}

// countedCell shows a sum that nobody may have counted.
func countedCell(c pairing.Counted) document.Cell {
	if !c.Known() {
		return document.Cell{Text: document.Unknown}
	}
	return countCell(c.Sum)
}

func countCell(n int) document.Cell { return document.Cell{Text: document.FormatCount(n), Value: n} }

// gainColumn heads changes in gene diversity, which one chick moves so little
// that they are read in millionths.
func gainColumn(name string) document.Column {
	return document.Column{Name: name, Unit: "millionths", Right: true}
}

// deciding marks the column that the reader decides by.
func deciding(c document.Column) document.Column {
	c.Decides = true
	return c
}

// withoutBlanks leaves out the columns in which no row of a table has anything.
func withoutBlanks(t *document.Table) *document.Table {
	blank := func(c int) bool {
		return !slices.ContainsFunc(t.Rows, func(r document.Row) bool {
			return r.Cells[c].Text != "" && r.Cells[c].Text != document.Unknown
		})
	}
	for c := len(t.Columns) - 1; c >= 0; c-- {
		if len(t.Rows) == 0 || !blank(c) {
			continue
		}
		t.Columns = slices.Delete(t.Columns, c, c+1)
		for k := range t.Rows {
			t.Rows[k].Cells = slices.Delete(t.Rows[k].Cells, c, c+1)
		}
	}
	return t
}

func gainCell(gain float64) document.Cell {
	return document.Cell{Text: millionths(gain), Value: gain * 1e6}
}

func millionths(gain float64) string { return document.FormatChange(gain*1e6, 1) }

// moveWorth says what a pair must gain to be worth a move.
func moveWorth(least float64) string {
	return fmt.Sprintf("A move should be worth %s millionths.", document.FormatNumber(least*1e6, 1))
}

// takenOff says of which figures of a table that is taken off.
const takenOff = " That is taken off already where a pair would need a move that the season's decision does not make."

func ageCell(age, plusMinus float64, ok bool) document.Cell {
	c := document.Cell{Text: document.FormatAge(age, plusMinus, ok)}
	if ok {
		c.Value = age
	}
	return c
}

// rankText is a bird's rank by mean kinship among the living.
func rankText(p *pairing.Programme, bird int) string {
	return fmt.Sprintf("rank %s of %s", document.FormatCount(p.MeanKinshipRank(bird)), document.FormatCount(p.Living.Size()))
}

// anchor names a bird's row or section within a page.
func anchor(id string) string { return document.BirdAnchor(id) }

// leftOut says how many rows a shortened table lacks.
func leftOut(shown, all int, what, how string) string {
	if shown >= all {
		return ""
	}
	return fmt.Sprintf("%s of %s %s shown; %s", document.FormatCount(shown), document.FormatCount(all), what, how)
}

// absent is what is not known without a file of the colony folder.
var absent = map[string]string{
	"moves.csv":        "where birds lived before",
	"bonds.csv":        "who is paired with whom",
	"clutches.csv":     "who laid and with what success",
	"holds.csv":        "who must not breed or move",
	"institutions.csv": "how far off and how full other places are",
}

// AbsentFiles says which of the files that an answer would have rested on are
// not there, which may be there under another name, and what is therefore not known;
// "" if all are there.
func AbsentFiles(c *studbook.Colony, uses []string) string {
	var names, unknown, unread []string
	for _, name := range uses {
		if c.HasFile(name) {
			continue
		}
		names = append(names, name)
		unknown = append(unknown, absent[name])
		for _, u := range c.Unread {
			if u.Meant == name {
				unread = append(unread, fmt.Sprintf("%s is not read, because its name is not %s", u.Name, strings.TrimSuffix(name, ".csv")))
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	are := "are"
	if len(names) == 1 {
		are = "is"
	}
	aside := ""
	if len(unread) > 0 {
		aside = " (" + strings.Join(unread, "; ") + ")"
	}
	return fmt.Sprintf("without %s, which %s not there%s, nobody can say %s", document.FormatList(names, 0), are, aside, document.FormatList(unknown, 0))
}

// UnreadFiles names what seems to be a file of the colony that every answer would have
// rested on, whatever it is about, and was not read; "" if there is none.
func UnreadFiles(c *studbook.Colony) string {
	var unread []string
	for _, u := range c.Unread {
		if absent[u.Meant] == "" { // of the others AbsentFiles tells where they count
			unread = append(unread, fmt.Sprintf("%s, because its name is not %s", u.Name, u.Meant))
		}
	}
	if len(unread) == 0 {
		return ""
	}
	return "not read: " + strings.Join(unread, "; ")
}

// Sentences returns notes as they stand in a document.
func Sentences(notes ...string) []string { return sentences(notes) }

// sentences returns notes as they stand in a document.
func sentences(notes []string) []string {
	out := make([]string, len(notes))
	for k, n := range notes {
		out[k] = Sentence(n)
	}
	return out
}

// Sentence writes a text as a sentence, "" as that.
func Sentence(s string) string {
	if s != "" && !strings.ContainsAny(s[len(s)-1:], ".!?") {
		s += "."
	}
	return Capital(s)
}

// Capital begins a sentence; an id or the name of a file at its beginning
// stays as it is.
func Capital(s string) string {
	if s == "" {
		return s
	}
	first, _, _ := strings.Cut(s, " ")
	if name, ending, ok := strings.Cut(strings.TrimRight(first, ".,:;"), "."); ok && name != "" && ending != "" {
		return s // a file
	}
	r := []rune(s)
	if len(r) > 1 && (r[1] >= '0' && r[1] <= '9' || r[1] >= 'A' && r[1] <= 'Z') {
		return s // an id
	}
	return string(unicode.ToUpper(r[0])) + string(r[1:])
}

// HoldReasons returns the reasons of holds, in their order.
func HoldReasons(in []studbook.Hold) []string {
	out := []string{}
	for _, h := range in {
		out = append(out, h.Reason)
	}
	return out
}

// nodeName returns the name of the bird of a node, "" if it has none.
func nodeName(p *pairing.Programme, node int) string {
	if bird := p.Book.Bird(p.Pedigree.Name(node)); bird != nil {
		return bird.Name
	}
	return ""
}

// BeforeBirds are the words of our documents behind which a bird is named, and nothing
// is counted.
var BeforeBirds = []string{
	"paired with", "Paired with", "bonded to", "Bonded to", "stays with", "mate of", "a mate for", "its pair with", "Its pair with", "Gets", "part it from", "Part it from",
}
