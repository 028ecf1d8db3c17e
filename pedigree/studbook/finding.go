package studbook

import (
	"fmt"
	"slices"
	"strings"
)

// Severity of a finding.
type Severity byte

// An Error stops the computation, a Warning does not.
const (
	Warning Severity = iota
	Error
)

// String returns "warning" or "error".
func (s Severity) String() string {
	if s == Error {
		return "error"
	}
	return "warning"
}

// Finding is one fault of the files: where it is, what is wrong, what to do.
type Finding struct {
	Severity Severity
	File     string // "studbook.csv"
	Line     int    // from 1; 0 where the fault is of the whole file
	Column   string // the name of the column as the design spells it; "" where none
	Value    string // the offending text, shortened
	// Bird is the id of the bird in whose row of the studbook it is; "" where it is in
	// no such row, or the id stands in others too.
	Bird    string
	Code    string // snake_case, stable: "duplicate_id", "unreadable_date", ...
	Message string // what is wrong, a plain sentence without full stop
	Help    string // what to do, a plain sentence without full stop
}

// String returns "studbook.csv:14: error: dam "B7": message (help)".
func (f Finding) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d", f.Line)
	}
	fmt.Fprintf(&b, ": %s: %s", f.Severity, f.about())
	return b.String()
}

// about is String without where it is and how grave.
func (f Finding) about() string {
	var b strings.Builder
	if f.Column != "" {
		b.WriteString(f.Column)
		if f.Value != "" {
			fmt.Fprintf(&b, " %q", f.Value)
		}
		b.WriteString(": ")
	}
	b.WriteString(f.Message)
	if f.Help != "" {
		fmt.Fprintf(&b, " (%s)", f.Help)
	}
	return b.String()
}

// Errors returns how many of the findings are of severity Error.
func Errors(findings []Finding) int {
	n := 0
	for _, f := range findings {
		if f.Severity == Error {
			n++
		}
	}
	return n
}

// Faults is the error that Read returns when the files have at least one
// finding of severity Error. It holds every finding, warnings too, in the
// order of files, lines and columns.
type Faults struct{ Findings []Finding }

// Error returns the number of errors and the first of them.
func (f *Faults) Error() string {
	first := ""
	if k := slices.IndexFunc(f.Findings, func(x Finding) bool { return x.Severity == Error }); k >= 0 {
		first = f.Findings[k].String()
	}
	n := Errors(f.Findings)
	if n == 1 {
		return first
	}
	return fmt.Sprintf("%s errors in the files, the first: %s", Number(n), first)
}
