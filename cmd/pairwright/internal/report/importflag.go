package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// ImportFlag says which flag of the command, or which line of a mapping, decides a
// decision of an import otherwise or, where the import stopped for it, at all; "" if
// the file itself has to say it.
func ImportFlag(d *exchange.Decision) string {
	switch d.Code {
	case "no_such_sheet":
		return "--sheet NAME"
	case "column_missing", "no_such_column":
		return "--column " + d.Column + "=NAME"
	case "home_of_nobody":
		return "--home CODE"
	case "pair_of_last_season", "mate_in_notes":
		return "record parting, in the new folder"
	case "mate_without_row", "mates_disagree":
		return "record bond, in the new folder"
	case "parents_without_bond":
		if d.Choice.Taken == exchange.BondsOfParents {
			return "record parting, in the new folder, for a pair that is none"
		}
	case "ditto":
		return unknownFlag(d.Value)
	case "id_by_its_end":
		return "--column sire=NAME, to take them as they stand"
	case "fate_in_notes":
		return wordLine("fate", d.Value, "alive") + ", or its date or status in the file"
	case "rows_differ", "pair_of_section":
		return leaveOutFlag(d)
	case "places_are_institutions":
		return "[import] carry = [" + exchange.QuoteTOML(d.Value) + "], if they are parts of one place"
	case "spreadsheet_error":
		if d.Taken == "" {
			return leaveOutFlag(d)
		}
	}
	c := d.Choice
	if c == nil {
		if d.Code == "bands_are_ids" || d.Code == "ids_by_parents" {
			return columnFlag(d.Column, d.Value)
		}
		return ""
	}
	var may []string // that are not what was taken
	for _, o := range c.May {
		if d.Taken == "" || o.Answer != c.Taken {
			may = append(may, o.Answer)
		}
	}
	switch c.Subject {
	case exchange.OfColumn:
		for k, heading := range may {
			may[k] = columnFlag(c.Of, heading)
		}
		return strings.Join(may, " or ")
	case exchange.OfHeading:
		flag := columnFlag(d.Column, c.Word)
		if d.Code == "fates_not_read" {
			flag += "; or, where a word in it says nothing of life and death, " + wordLine("fate", d.Value, "alive")
		}
		if d.Code == "dates_not_read" {
			if others := slices.DeleteFunc(may, func(m string) bool { return m == d.Column || m == exchange.Nothing }); len(others) > 0 {
				flag += ", or as " + studbook.AnyOf(others)
			}
		}
		return flag
	case exchange.OfDates:
		return "--dates " + studbook.AnyOf(may)
	case exchange.OfParent:
		if d.Taken != "" {
			return unknownFlag(c.Word) + ", if it is no bird"
		}
		if slices.Contains(may, exchange.WildParent) {
			return unknownFlag(c.Word) + ", or --wild " + strconv.Quote(c.Word) + " for birds from the wild"
		}
		return unknownFlag(c.Word)
	case exchange.OfRow:
		sheets := make(map[string]bool)
		var out []string
		apart := ""
		for _, answer := range may {
			if row, other := exchange.ApartRow(answer); other {
				apart = "; for two birds --apart " + strconv.Quote(row)
				continue
			}
			out = append(out, strconv.Quote(answer))
			sheets[answer[:strings.LastIndexByte(answer, ':')]] = true
		}
		flag := "--leave-out " + studbook.AnyOf(out) + apart
		if len(sheets) > 1 {
			flag += "; or --sheet NAME for the sheets to read alone"
		}
		return flag
	case exchange.OfBonds:
		return "--bonds " + exchange.BondsOfParents
	}
	if c.Of == "id" {
		return fmt.Sprintf("%s (one bird) or %s (two birds); --alike one or two for all", wordLine("id", c.Word, may[0]), exchange.QuoteTOML(c.Word))
	}
	return wordLine(c.Of, c.Word, may...)
}

func unknownFlag(word string) string { return "--unknown " + strconv.Quote(word) }

func leaveOutFlag(d *exchange.Decision) string {
	return "--leave-out " + strconv.Quote(d.Sheet+":"+strconv.Itoa(d.Line))
}

// columnFlag says that a column of ours is the one with a heading of theirs.
func columnFlag(ours, heading string) string {
	if strings.ContainsAny(heading, " '\"()/") {
		return fmt.Sprintf("--column %q", ours+"="+heading)
	}
	return "--column " + ours + "=" + heading
}

// wordLine is the line of a mapping that says what a word means, with the first of
// many meanings that it may have.
func wordLine(kind, word string, may ...string) string {
	const shown = 4
	quoted := make([]string, len(may))
	for k, m := range may {
		quoted[k] = exchange.QuoteTOML(m)
	}
	list := studbook.AnyOf(quoted)
	if len(quoted) > shown {
		list = strings.Join(quoted[:shown], ", ") + ", …"
	}
	return fmt.Sprintf("[import.words.%s] %s = %s", kind, exchange.QuoteTOML(word), list)
}
