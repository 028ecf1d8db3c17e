package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// importFlags are what import can be told.
type importFlags struct {
	into, mapping, dates, encoding string
	home                           string
	sheets, columns                []string
	unknown, wild, leaveOut, apart []string
	alike, bonds                   string
	preview, apply                 bool
	keep                           string
	format                         string
	asOf                           string
}

func newImport(stdout io.Writer) *cobra.Command {
	f := &importFlags{}
	cmd := &cobra.Command{
		Use:     "import FILE --into DIR",
		GroupID: begin,
		Short:   "Make a colony folder of somebody else's file",
		Long: `Reads a file as its owner keeps it and writes a clean colony folder and a report
of every row, column, parent and fate. It changes nothing that it read and
writes over nothing: the folder must be new or empty.

It reads workbooks (.xlsx, .xlsm, .ods), tables of text in any encoding with any
delimiter, pedigrees of PLINK (.fam) and family trees (GEDCOM 5.5.1 and 7), and
tells by the content what a file is. It takes what is certain, takes what is
likely and says so, and stops at what could be wrong in silence: then nothing is
written, each thing to decide is listed with the flag that decides it, and a
mapping is printed that needs only these lines filled in.

Pairs are read where the file has them. Birds that seem to be pairs by their
chicks are named and stay free, unless --bonds parents says that they are.

Into a folder that an import made, a newer export is laid over it: what is new,
changed and gone is shown cell by cell, --apply takes it, and undo takes it back.
What was recorded here stays; a cell that changed on both sides is a conflict,
and nothing is written until --keep or an edit settles it. It may be the sheet of
one institution of many: its parents may be birds of the folder, and no bird and
no row about a bird that it has not is touched. A colony folder that no import
made takes a sheet too, with --keep ours or theirs for cells that differ. No bird
is ever deleted.

Formats: text, json.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return question.Usagef("name one file; it is used as: pairwright import FILE --into DIR")
			}
			return nil
		},
		RunE:              func(cmd *cobra.Command, args []string) error { return f.run(cmd, args[0], stdout) },
		ValidArgsFunction: completeForeign,
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.into, "into", "", "the new folder `DIR` to write")
	flags.BoolVar(&f.preview, "preview", false, "show the report and the mapping that would be used, and write nothing")
	flags.StringArrayVar(&f.sheets, "sheet", nil, "only the sheet `NAME` holds birds; may be given again")
	flags.StringVar(&f.mapping, "mapping", "", "a mapping in TOML, `FILE`: what columns, words and dates mean")
	flags.StringArrayVar(&f.columns, "column", nil, "what the file calls a column, as `sire=Father`; may be given again")
	flags.StringVar(&f.dates, "dates", "", "the `ORDER` of day, month and year in numeric dates: dmy, mdy or ymd")
	flags.StringVar(&f.encoding, "encoding", "", "the encoding `NAME` of a text, as windows-1252, macintosh or IBM850")
	flags.StringArrayVar(&f.unknown, "unknown", nil, "a parent written `WORD` is not known; a * at its end stands for anything; may be given again")
	flags.StringArrayVar(&f.wild, "wild", nil, "a parent written `WORD` was a wild bird; may be given again")
	flags.StringArrayVar(&f.leaveOut, "leave-out", nil, "the row `SHEET:LINE` is no bird or wrong; may be given again")
	flags.StringArrayVar(&f.apart, "apart", nil, "the row `SHEET:LINE` is of another bird than the one whose id it has, and gets an id of its own; may be given again")
	flags.StringVar(&f.alike, "alike", "", "`ONE` or two: whether ids that differ in what the eye does not tell apart, as C12 and c-12, are one bird or two")
	flags.StringVar(&f.bonds, "bonds", "", "of `parents`: write a bond for living birds whose last chicks are of each other")
	flags.StringVar(&f.home, "home", "", "the `CODE` of your own institution, as the file has it: the new folder is about its colony")
	flags.BoolVar(&f.apply, "apply", false, "take what a newer export changes in the folder")
	flags.StringVar(&f.keep, "keep", "", "where a cell changed here and in a newer export, keep `SIDE`: theirs or ours")
	flags.StringVar(&f.asOf, "as-of", "", "the `DATE` for which the figures of the report hold (default: today)")
	flags.StringVar(&f.format, "format", "text", "`FORMAT` of the report: text or json")
	register(cmd, "into", completeFolder)
	register(cmd, "mapping", cobra.FixedCompletions([]string{"toml"}, cobra.ShellCompDirectiveFilterFileExt))
	for flag, words := range map[string][]string{"dates": {"dmy", "mdy", "ymd"}, "keep": {"theirs", "ours"}, "alike": {"one", "two"}, "bonds": {exchange.BondsOfParents}, "format": {"text", "json"}} {
		register(cmd, flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
	}
	for _, flag := range []string{"sheet", "encoding", "unknown", "wild", "leave-out", "apart", "home", "as-of"} {
		register(cmd, flag, cobra.NoFileCompletions)
	}
	register(cmd, "column", completeColumn)
	return cmd
}

// written is the mapping of a file; without one, that which made the folder.
func (f *importFlags) written() (m exchange.Mapping, ofFolder bool, err error) {
	file := f.mapping
	if ofFolder = file == "" && exchange.FromImport(f.into); ofFolder {
		file = filepath.Join(f.into, exchange.MappingFile)
	}
	if file == "" {
		return m, false, nil
	}
	raw, err := studbook.ReadFile(os.DirFS(filepath.Dir(file)), filepath.Base(file))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return m, false, question.Usagef("--mapping %s: there is no such file", file)
	case err != nil:
		return m, false, err
	}
	if m, err = exchange.ReadMapping(raw); err != nil {
		return m, false, fmt.Errorf("%s: %w", file, err)
	}
	return m, ofFolder, nil
}

// said is the mapping of the flags.
func (f *importFlags) said() (exchange.Mapping, error) {
	over := exchange.Mapping{Sheets: f.sheets, Dates: f.dates, Encoding: f.encoding, Unknown: f.unknown, Wild: f.wild, LeaveOut: f.leaveOut, Apart: f.apart, Alike: f.alike, Bonds: f.bonds, Columns: make(map[string]string)}
	for _, c := range f.columns {
		ours, theirs, ok := strings.Cut(c, "=")
		if !ok || strings.TrimSpace(theirs) == "" {
			return over, question.Usagef("--column %q: write it as sire=Father, our name first", c)
		}
		if ours = strings.TrimSpace(ours); over.Columns[ours] != "" {
			return over, question.Usagef("--column %s: %s is already called %s", c, ours, over.Columns[ours])
		}
		over.Columns[ours] = strings.TrimSpace(theirs)
	}
	if err := over.Check(); err != nil {
		return over, question.Usagef("%w", err)
	}
	return over, nil
}

func (f *importFlags) run(cmd *cobra.Command, name string, stdout io.Writer) error {
	if f.format != "text" && f.format != "json" {
		return question.Usagef("import has no format %q: use text or json", f.format)
	}
	switch {
	case f.into == "" && !f.preview:
		return question.Usagef("name the new folder with --into DIR, or look first with --preview")
	case f.preview && (f.apply || f.keep != ""):
		return question.Usagef("--preview writes nothing and shows the file alone: leave it out, or --apply and --keep")
	}
	under, ofFolder, err := f.written()
	if err != nil {
		return err
	}
	said, err := f.said()
	if err != nil {
		return err
	}
	again := f.into != "" && (exchange.FromImport(f.into) || f.keep != "" && exchange.IsColony(f.into))
	switch {
	case f.keep != "" && f.keep != "theirs" && f.keep != "ours":
		return question.Usagef("--keep %s: use theirs or ours", f.keep)
	case !again && f.into != "" && !f.preview && exchange.IsColony(f.into):
		return question.Usagef("%s is a colony that no import made: to lay the file over it, say with --keep ours or --keep theirs whose cell to keep where both have one and they differ; nothing is written before --apply", f.into)
	case !again && (f.apply || f.keep != ""):
		return question.Usagef("--apply and --keep are for a colony folder that is there already")
	case again && !f.preview && f.asOf != "":
		return question.Usagef("--as-of is for the figures of a report, and a newer export has none: leave it out, or look with --preview")
	case again && sameFolder(name, f.into):
		return question.Usagef("%s is a file of %s itself: name the newer export", name, f.into)
	case !again && !f.preview:
		if err := freeFolder(f.into); err != nil {
			return err
		}
	}
	today := studbook.Today()
	day := today
	if f.asOf != "" {
		d, err := studbook.ParseDate(f.asOf)
		if err != nil || !d.Known() {
			return question.Usagef("--as-of %q: give a date such as 2026-09-30", f.asOf)
		}
		day = d.Last
	}
	opt := exchange.Options{Mapping: said, Today: today, Home: f.home}
	if again && !f.preview {
		opt.Over = os.DirFS(f.into)
	}
	if info, err := os.Stat(name); err == nil {
		opt.FileDay = min(studbook.DayOf(info.ModTime().Date()), day)
	}
	dir, base := filepath.Split(filepath.Clean(name))
	if dir == "" {
		dir = "."
	}
	var res *exchange.Result
	if ofFolder {
		res, err = exchange.ImportOver(cmd.Context(), os.DirFS(dir), base, opt, under)
	} else {
		opt.Mapping = said.Over(under)
		res, err = exchange.Import(cmd.Context(), os.DirFS(dir), base, opt)
	}
	if err != nil {
		return err
	}
	if len(res.Report.Stops) == 0 { // else what stopped may have kept it from being met
		if err := f.effective(res.Report.Idle); err != nil {
			return err
		}
	}
	if again && res.Colony != nil && !f.preview {
		return f.merge(cmd, res, today, stdout)
	}
	figures, err := res.Figures(cmd.Context(), day)
	if err != nil {
		return err
	}
	into, creates := "", res.Colony != nil && !f.preview
	if creates {
		into = f.into
	}
	var out bytes.Buffer
	if creates || f.format != "json" {
		if err := document.WriteText(&out, report.ImportDocument(&res.Report, figures, into), 0); err != nil {
			return err
		}
	}
	var written []string
	if creates {
		fmt.Fprintf(&out, "\nNext: whom to pair\n\n%s\n", report.ImportNext(&res.Report, into))
		if written, err = res.Create(into, out.Bytes()); err != nil {
			return err
		}
	}
	if f.format == "json" {
		out.Reset()
		err = contract.WriteObject(&out, "pairwright/import 1", nil, contract.ImportJSON(&res.Report, figures, written))
	} else if len(res.Report.Stops) > 0 {
		fmt.Fprintf(&out, "\n# Fill in what is to be decided, save these lines as a file and give it with --mapping FILE.\n\n%s", res.Report.Mapping)
	} else if f.preview {
		fmt.Fprintf(&out, "\n# The mapping that would be used:\n\n%s", res.Report.Mapping)
	}
	if err != nil {
		return err
	}
	if _, err := stdout.Write(out.Bytes()); err != nil {
		return err
	}
	if res.Report.Stopped() {
		return errAtFault
	}
	return nil
}

// effective refuses flags that decide on what the file has not; a mapping may, because
// the next export may have it.
func (f *importFlags) effective(idle []exchange.Choice) error {
	for _, c := range idle {
		row, apart := exchange.ApartRow(c.Taken)
		switch {
		case c.Subject == exchange.OfRow && apart && slices.Contains(f.apart, row):
			return question.Usagef("--apart %q: the file has no such row of a bird; write it as SHEET:LINE", row)
		case c.Subject == exchange.OfRow && slices.Contains(f.leaveOut, c.Taken):
			return question.Usagef("--leave-out %q: the file has no such row below its headings; write it as SHEET:LINE", c.Taken)
		case c.Taken == exchange.UnknownParent && slices.Contains(f.unknown, c.Word), c.Taken == exchange.WildParent && slices.Contains(f.wild, c.Word):
			return question.Usagef("--%s %q: no parent of the file is written so", c.Taken, c.Word)
		}
	}
	return nil
}

// merge lays a newer export over the folder.
func (f *importFlags) merge(cmd *cobra.Command, newer *exchange.Result, today studbook.Day, stdout io.Writer) error {
	opt := exchange.LayOptions{Keep: f.keep, Today: today}
	if f.apply {
		opt.Agree = func(*exchange.Merged) bool { return true }
	}
	m, change, err := exchange.Lay(cmd.Context(), f.into, newer, opt)
	if err != nil && f.apply {
		return unwritten(err)
	}
	if err != nil {
		return err
	}
	source := newer.Report.Source
	var out bytes.Buffer
	if f.format == "json" {
		err = contract.WriteObject(&out, "pairwright/merge 1", nil, contract.MergeJSON(source, m, change))
	} else {
		err = document.WriteText(&out, report.MergeDocument(source, f.into, m, f.apply, change), 0)
	}
	if err != nil {
		return err
	}
	if _, err := stdout.Write(out.Bytes()); err != nil {
		return err
	}
	if m.Open() {
		return errAtFault
	}
	return nil
}
