package studbook

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Guarded returns a cell as it is written to CSV: one that a spreadsheet would
// run as a formula has a ' before it, which makes it a text there (OWASP, CSV
// injection: =, +, -, @, also of full width, tab and the ends of lines). A cell that begins with ' and
// one of these gets another, so that reading, which takes one away, gives back
// what was written. Numbers stay as they are.
func Guarded(cell string) string {
	if runs(strings.TrimLeft(cell, "'")) {
		return "'" + cell
	}
	return cell
}

// Unguarded returns what Guarded was given.
func Unguarded(cell string) string {
	if rest, ok := strings.CutPrefix(cell, "'"); ok && runs(strings.TrimLeft(rest, "'")) {
		return rest
	}
	return cell
}

// runs reports whether a text begins as formulas do and is no number.
func runs(s string) bool {
	if s == "" || s[0] > '@' && s[0] < 0x80 {
		return false
	}
	if s[0] >= '0' && s[0] <= '9' { // of a date or a number, and neither runs
		return false
	}
	first, _ := utf8.DecodeRuneInString(s)
	return strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) && !isNumber(s)
}

func isNumber(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

// formula reports whether a cell would be taken for a formula, and not for a
// dash before a text or in place of one.
func formula(cell string) bool {
	if len(cell) < 2 || !runs(cell) {
		return false
	}
	return cell[0] == '=' || cell[0] == '@' || (cell[0] == '+' || cell[0] == '-') && cell[1] < 0x80 && strings.IndexByte(" -+.", cell[1]) < 0
}
