package question

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// ValueKind is what a setting takes.
type ValueKind byte

// The kinds of settings.
const (
	YesNo    ValueKind = iota // given or not
	Text                      // any text, or one of Words
	Whole                     // a whole number
	Fraction                  // a number from 0 to 1
	Date                      // a day, a month or a year
)

// Setting is one thing that a question can be told. Its declaration is the
// only place where a flag, the key of an address, the default, what is
// checked and the help come from.
type Setting struct {
	Key     string   // name of the flag and key of the address
	Takes   string   // what stands for the value in the help: "N"; "" of a YesNo
	Default string   // as it would be written; "" where there is none, or Help says what it is
	Words   []string // the only values there are; nil for any
	Help    string
	Again   bool // may be given more than once
	Rare    bool // seldom asked for: a page has it behind a fold
	// Local settings name files of this machine or say how to print there:
	// the command line alone has them, an address does not.
	Local bool

	value
	given bool
	texts []string // that it was set to
}

// value is where a setting goes: its kind, and what reads the text of it.
type value struct {
	kind ValueKind
	read func(text string) error
}

// Kind returns what the setting takes.
func (s *Setting) Kind() ValueKind { return s.kind }

// Given reports whether the setting was set to something, be it its default.
func (s *Setting) Given() bool { return s.given }

// Set reads the text of a value. The error says what to give instead.
func (s *Setting) Set(text string) error {
	if s.Words != nil && !slices.Contains(s.Words, text) {
		return errors.New("use " + studbook.AnyOf(s.Words))
	}
	if err := s.read(text); err != nil {
		return err
	}
	s.given = true
	s.texts = append(s.texts, text)
	return nil
}

// reset sets the default, which must be one that can be read.
func (s *Setting) reset() {
	if s.Default == "" {
		return
	}
	if err := s.Set(s.Default); err != nil {
		panic(fmt.Sprintf("question: the default of %s: %v", s.Key, err))
	}
	s.given, s.texts = false, nil
}

func yes(v *bool) value {
	return value{YesNo, func(text string) (err error) {
		if *v, err = strconv.ParseBool(text); err != nil {
			return errors.New("use true or false")
		}
		return nil
	}}
}

func text(v *string) value {
	return value{Text, func(text string) error { *v = text; return filled(text) }}
}

// filled refuses a blank, which is a slip of the one who asks.
func filled(text string) error {
	if strings.TrimSpace(text) == "" {
		return errors.New("it is blank: give a value, or leave it out")
	}
	return nil
}

// texts takes every value that is given.
func texts(v *[]string) value {
	return value{Text, func(text string) error { *v = append(*v, text); return filled(text) }}
}

// whole takes a whole number that is not below the least.
func whole(v *int, least int) value {
	return value{Whole, func(text string) error {
		n, err := strconv.Atoi(text)
		switch {
		case errors.Is(err, strconv.ErrRange):
			return errors.New("the number is too large")
		case err != nil:
			return errors.New("give a whole number")
		case n < least && least == 0:
			return errors.New("it cannot be below 0")
		case n < least:
			return fmt.Errorf("ask for at least %d", least)
		}
		*v = n
		return nil
	}}
}

// perhaps takes a whole number that has no default of its own: nil if it is
// not given.
func perhaps(v **int, least int) value {
	var n int
	is := whole(&n, least)
	return value{Whole, func(text string) error {
		if err := is.read(text); err != nil {
			return err
		}
		*v = &n
		return nil
	}}
}

func seed(v *uint64) value {
	return value{Whole, func(text string) (err error) {
		n, err := strconv.ParseUint(text, 10, 64)
		if err != nil {
			return errors.New("give a whole number that is not below 0")
		}
		*v = n
		return nil
	}}
}

// fraction takes a number from 0 to 1, nil if it is not given; otherwise says what
// to give instead.
func fraction(v **float64, otherwise string) value {
	return value{Fraction, func(text string) error {
		f, err := strconv.ParseFloat(text, 64)
		if err != nil || !(f >= 0 && f <= 1) {
			return errors.New(otherwise)
		}
		*v = &f
		return nil
	}}
}

// inbreeding takes an inbreeding coefficient; nil if it is not given.
func inbreeding(v **float64) value { return fraction(v, "give F as a number from 0 to 1") }

// longestDate is how many days a date may span to stand for its last day.
const longestDate = 366

// day takes a date; one that is not a day, but a month or a year, stands for
// its last day.
func day(v *studbook.Day) value {
	return value{Date, func(text string) error {
		date, err := studbook.ParseDate(text)
		switch {
		case text == "" || err == nil && !date.Known():
			return errors.New("give a date such as 2026-09-30")
		case err != nil:
			return err
		case int(date.Last-date.First) >= longestDate:
			return errors.New("it spans more than a year; give a day, a month or a year, such as 2026-09-30")
		}
		*v = date.Last
		return nil
	}}
}

// columns takes what the files call a column, as sire=Father.
func columns(v *map[string]string) value {
	return value{Text, func(text string) error {
		ours, theirs, ok := strings.Cut(text, "=")
		ours, theirs = strings.TrimSpace(ours), strings.TrimSpace(theirs)
		if !ok || ours == "" || theirs == "" {
			return errors.New("write it as sire=Father, our name first")
		}
		if *v == nil {
			*v = map[string]string{}
		}
		if other, twice := (*v)[ours]; twice && other != theirs {
			return fmt.Errorf("%s is already called %s", ours, other)
		}
		(*v)[ours] = theirs
		return nil
	}}
}
