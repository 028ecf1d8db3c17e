package report

import (
	"fmt"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// ImportQuestion asks a person for what an import has to know.
func ImportQuestion(c *exchange.Choice) string {
	switch c.Subject {
	case exchange.OfColumn:
		return fmt.Sprintf("Which column has %s?", importColumns[c.Of].has)
	case exchange.OfHeading:
		if c.Of == "location" {
			return fmt.Sprintf("Are the places in the column %q institutions, or parts of one place?", c.Word)
		}
		return fmt.Sprintf("What is in the column %q?", c.Word)
	case exchange.OfDates:
		return "In which order are day, month and year written?"
	case exchange.OfParent:
		return fmt.Sprintf("Who is %q, a parent that has no row?", c.Word)
	case exchange.OfRow:
		return "Which of the two rows is to be left out, or are they two birds?"
	case exchange.OfBonds:
		return "Are living birds pairs whose last chicks are of each other?"
	}
	switch {
	case c.Of == "sex":
		return fmt.Sprintf("Which sex is %q?", c.Word)
	case c.Of == "id":
		return fmt.Sprintf("Which bird is %q?", c.Word)
	case c.Of == "event":
		return fmt.Sprintf("What happened where it says %q?", c.Word)
	case c.Word == "":
		return "What became of birds that left without a reason?"
	case c.Word == exchange.StruckThrough:
		return "What became of the birds whose rows are struck through?"
	case c.Word == exchange.Unlisted:
		return "What became of the birds that the lists of later years are without?"
	case c.Word == exchange.BlankStatus:
		return "What became of the birds that have no mark?"
	}
	return fmt.Sprintf("What became of a bird where it says %q?", c.Word)
}

// ImportAnswer is an answer to a choice in words.
func ImportAnswer(c *exchange.Choice, answer string) string {
	switch c.Subject {
	case exchange.OfColumn:
		if answer == exchange.Nothing {
			return "no column: " + importColumns[c.Of].without
		}
		return fmt.Sprintf("%q", answer)
	case exchange.OfHeading:
		if c.Of == "location" {
			if answer == exchange.Nothing {
				return "parts of one place, as aviaries are: keep the cells as they stand"
			}
			return "institutions: from one to another a bird needs a transfer"
		}
		if answer == exchange.Nothing {
			return "nothing that is known here: keep it as it stands"
		}
		return ImportColumn(answer)
	case exchange.OfDates:
		return map[string]string{"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}[answer]
	case exchange.OfParent:
		return map[string]string{
			exchange.BirdNoRow: "a bird, of which nothing else is known", exchange.UnknownParent: "no bird: the parent is not known", exchange.WildParent: "a wild bird",
		}[answer]
	case exchange.OfRow:
		if row, apart := exchange.ApartRow(answer); apart {
			return "none: " + row + " is another bird, and gets an id of its own"
		}
		return answer
	case exchange.OfBonds:
		if answer == exchange.Nothing {
			return "not that I know: write no bond"
		}
		return "pairs: write a bond for each, since their first chick"
	}
	switch c.Of {
	case "id":
		if answer == c.Word {
			return "a bird of its own"
		}
		return fmt.Sprintf("the same bird as %s, written otherwise", answer)
	case "sex":
		return studbook.Sex(answer[0]).Word()
	case "fate":
		return map[string]string{"alive": "it lives here", "died": "it died", "moved": "it moved to another place of the programme", "left": "it left the programme: sold, given away, escaped or released"}[answer]
	}
	return map[string]string{
		"hatched": "it hatched", "arrived": "it arrived", "sexed": "its sex was found", "ringed": "it got a band", "paired": "it was paired", "parted": "its pair was parted",
		"laid": "eggs were laid", "moved": "it moved to another place", "died": "it died", "left": "it left the programme", "nothing": "nothing that a studbook keeps",
	}[answer]
}

// ImportColumn says what a column of ours holds.
func ImportColumn(ours string) string { return importColumns[ours].has }

// importColumns say of each column what it has and, of those that a file may do
// without, what then follows.
var importColumns = map[string]struct{ has, without string }{
	"id": {has: "the bird's id"}, "name": {has: "the bird's name"}, "band": {has: "its band"}, "sex": {has: "its sex"},
	"sire": {"the sire (father)", "no sire is known"}, "dam": {"the dam (mother)", "no dam is known"}, "parents": {has: "both parents in one cell"},
	"hatch_date": {has: "the day it hatched"}, "death_date": {has: "the day it died"}, "location": {has: "where it lives"}, "origin": {has: "whether it is wild or captive"},
	"notes": {has: "notes"}, "other_ids": {has: "its earlier ids or bands"}, "status": {has: "whether it lives"}, "status_date": {has: "the day since which its status holds"}, "departure_date": {has: "the day it left"},
	"departure_reason": {has: "why it left"}, "departure_to": {has: "where it went"}, "arrival_date": {has: "the day it came"}, "arrival_from": {has: "where it came from"},
	"hatch_precision": {has: "how exact the day of hatching is"}, "nest": {has: "the nest"}, "group": {has: "the breeding group"}, "mate": {has: "its mate"},
	"foster_sire": {has: "the foster sire"}, "foster_dam": {has: "the foster dam"}, "death_cause": {has: "the cause of death"},
	"event_date": {has: "the day of what happened"}, "event": {has: "what happened"}, "event_with": {has: "with which other bird"}, "event_place": {has: "where it happened"},
	"female": {has: "the female of the pair"}, "male": {has: "the male of the pair"}, "pair": {has: "both birds of the pair in one cell"}, "since": {has: "since when"}, "until": {has: "until when"},
	"laid": {has: "the day of the first egg"}, "eggs": {has: "how many eggs were laid"}, "fertile": {has: "how many eggs were fertile"}, "infertile": {has: "how many eggs were infertile"},
	"hatched": {has: "how many chicks hatched"}, "fledged": {has: "how many chicks fledged"}, "season": {has: "the season"}, "males": {has: "the males of the group"}, "females": {has: "the females of the group"},
}

// ImportWhere says where in a file something stands.
func ImportWhere(sheet string, line int) string {
	parts := []string{}
	if sheet != "" {
		parts = append(parts, fmt.Sprintf("sheet %q", sheet))
	}
	if line > 0 {
		parts = append(parts, fmt.Sprintf("line %d", line))
	}
	return strings.Join(parts, ", ")
}

// The sections of the account of an import that a form shows with its controls.
const (
	importStops    = "To decide"
	importHeadings = "Columns"
	importLikely   = "Look at these"
)

// ImportAsked reports whether a section of an import's account is of what a form
// asks for.
func ImportAsked(title string) bool {
	return title == importStops || title == importHeadings || title == importLikely
}
