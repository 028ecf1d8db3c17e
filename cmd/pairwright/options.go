package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// options are the flags that all commands share.
type options struct {
	studbook string
	colony   string
	asOf     string
	format   formatName
	out      string
	seed     uint64
	columns  []string
	quiet    bool

	stdout, stderr io.Writer
}

func (o *options) bind(flags *pflag.FlagSet) {
	flags.StringVar(&o.studbook, "studbook", "studbook.csv", "the studbook `FILE` (.csv or .xlsx); the colony's other files are looked for beside it")
	flags.StringVar(&o.colony, "colony", "", "`CODE` of the institution whose colony it is about (default: home in programme.toml, or the only place there is)")
	flags.StringVar(&o.asOf, "as-of", "", "`DATE` to answer for, such as 2026-09-30 (default: current_to in programme.toml, or today)")
	o.format = "text"
	flags.Var(&o.format, "format", "`FORMAT` of the answer: text, json, csv, md or html, and xlsx for a review; see what each command has")
	flags.StringVar(&o.out, "out", "", "write the answer to `FILE` instead of the screen")
	flags.Uint64Var(&o.seed, "seed", 1, "seed of all random draws; the same `N` gives the same answer")
	flags.StringArrayVar(&o.columns, "column", nil, "what the files call a column, as `sire=Father`; may be given again")
	flags.BoolVar(&o.quiet, "quiet", false, "print no warnings and notes beside the answer")
}

// inbreedingLimit is a flag that several commands have: the most F a chick may
// have.
type inbreedingLimit struct {
	flags *pflag.FlagSet
	value float64
}

const limitFlag = "limit-inbreeding"

func (l *inbreedingLimit) bind(flags *pflag.FlagSet) {
	l.flags = flags
	flags.Float64Var(&l.value, limitFlag, 0, "most `F` a chick may have, from 0 to 1 (default: limits.inbreeding in programme.toml, or 0.125)")
}

// given returns the limit, nil where the flag is not set.
func (l *inbreedingLimit) given() (*float64, error) {
	if !l.flags.Changed(limitFlag) {
		return nil, nil
	}
	if !(l.value >= 0 && l.value <= 1) {
		return nil, usagef("--%s %v: F is from 0 to 1", limitFlag, l.value)
	}
	return &l.value, nil
}

// formatNames are all the formats there are, in the order of the help.
var formatNames = []string{"text", "json", "csv", "md", "html", "xlsx"}

// formatName is the name of a format, checked when the flags are read.
type formatName string

// String returns the name.
func (f *formatName) String() string { return string(*f) }

// Type says in the help what the flag takes.
func (f *formatName) Type() string { return "FORMAT" }

// Set takes a name that there is.
func (f *formatName) Set(name string) error {
	if !slices.Contains(formatNames, name) {
		return fmt.Errorf("use %s", alternatives(formatNames))
	}
	*f = formatName(name)
	return nil
}

// read reads the colony folder.
func (o *options) read(ctx context.Context) (*studbook.Colony, error) {
	opt := studbook.Options{Columns: map[string]string{}, Today: today()}
	for _, c := range o.columns {
		ours, theirs, ok := strings.Cut(c, "=")
		if !ok || ours == "" || theirs == "" {
			return nil, usagef("--column %q: write it as sire=Father, our name first", c)
		}
		opt.Columns[strings.TrimSpace(ours)] = strings.TrimSpace(theirs)
	}
	dir, name := filepath.Split(filepath.Clean(o.studbook))
	if dir == "" {
		dir = "."
	}
	return studbook.Read(ctx, os.DirFS(dir), name, opt)
}

func today() studbook.Day {
	y, m, d := time.Now().Date()
	return studbook.DayOf(y, m, d)
}

// day returns the day to answer for: of a date that is not a day, its last.
func (o *options) day(colony *studbook.Colony) (studbook.Day, error) {
	if o.asOf == "" {
		if current := colony.Settings.CurrentTo; current != 0 {
			return current, nil
		}
		return today(), nil
	}
	date, err := studbook.ParseDate(o.asOf)
	if err == nil && !date.Known() {
		err = fmt.Errorf("give a date such as 2026-09-30")
	}
	if err != nil {
		return 0, usagef("--as-of %q: %w", o.asOf, err)
	}
	return date.Last, nil
}

// noted is how many warnings are printed beside an answer.
const noted = 10

// load reads the colony folder and computes the programme on the day asked
// for. Warnings and notes go to stderr.
func (o *options) load(ctx context.Context) (*pairing.Programme, error) {
	colony, err := o.read(ctx)
	if err != nil {
		return nil, err
	}
	day, err := o.day(colony)
	if err != nil {
		return nil, err
	}
	if !o.quiet {
		for _, n := range colony.Notes {
			fmt.Fprintln(o.stderr, "note:", n)
		}
		for k, f := range colony.Warnings {
			if k == noted {
				fmt.Fprintf(o.stderr, "and %d more warnings: run pairwright check to see them all\n", len(colony.Warnings)-noted)
				break
			}
			fmt.Fprintln(o.stderr, f)
		}
	}
	return pairing.New(ctx, colony.At(day))
}

// drop is the gene drop that all commands use.
func (o *options) drop() pedigree.Drop { return pedigree.Drop{Seed: o.seed} }

// writeFile writes the whole file or leaves what was there.
func writeFile(name string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".pairwright-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(content)
	if e := f.Chmod(0o644); err == nil {
		err = e
	}
	if e := f.Sync(); err == nil {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return fmt.Errorf("%s was not written: %w", name, err)
	}
	return os.Rename(f.Name(), name)
}
