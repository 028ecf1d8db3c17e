package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// writeDown is the group of the commands that change the colony's files.
const writeDown = "write"

// recordFlags are what record and undo can be told.
type recordFlags struct {
	asked  *question.Asked
	yes    bool
	dryRun bool
	format string
}

// howItWrites is what the help of record and undo says of writing.
const howItWrites = `It is checked with the whole colony first: what would make an error is refused.
The rows are shown as they would be written, with what they change. On a
terminal you are then asked; elsewhere nothing is written without --yes.
All of it is written or nothing, every other byte of the files stays, the files
as they were are kept in the folder earlier, and changes.csv tells of each row.

Formats: text, json.`

func newRecord(stdout, stderr io.Writer) *cobra.Command {
	record := &cobra.Command{
		Use:     "record EVENT",
		GroupID: writeDown,
		Short:   "Write down what happened: a hatch, a death, a move, a bond, a clutch and more",
		Long: `Writes down what happened in the colony. pairwright record EVENT --help tells
what each event takes. Dates may be today, yesterday or known in part, as
2026-05. A bird is named by its id or, where no other bird has it, by its name
or band.

` + howItWrites,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return question.Usagef("there is no event %q to write down: pairwright record --help lists them", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	for _, k := range journal.Kinds {
		record.AddCommand(newRecordKind(k, stdout, stderr))
	}
	return record
}

// newRecordKind returns the command that writes one kind of event down.
func newRecordKind(k *journal.Kind, stdout, stderr io.Writer) *cobra.Command {
	f := &recordFlags{}
	use := k.Name
	for _, name := range k.Args {
		word := strings.ToUpper(name)
		if !k.Field(name).Needed {
			word = "[" + word + "]"
		}
		use += " " + word
	}
	values := make(map[string]*string)
	cmd := &cobra.Command{
		Use:   use,
		Short: report.KindWord(k),
		Long:  report.KindWord(k) + ".\n\n" + howItWrites,
		RunE: func(cmd *cobra.Command, args []string) error {
			e := journal.Event{Kind: k.Name, Values: make(map[string]string)}
			for name, value := range values {
				if *value != "" {
					e.Values[name] = *value
				}
			}
			if len(args) > len(k.Args) {
				return question.Usagef("record %s takes no %q; it is used as: pairwright record %s", k.Name, args[len(k.Args)], use)
			}
			for n, arg := range args {
				if flag := e.Values[k.Args[n]]; flag != "" {
					return question.Usagef("%s is told twice, as %q in its place and as --%s %q: leave one of them out; it is used as: pairwright record %s", k.Args[n], arg, k.Args[n], flag, use)
				}
				e.Values[k.Args[n]] = arg
			}
			for _, field := range k.Fields {
				if field.Needed && e.Values[field.Name] == "" {
					return question.Usagef("%s is not told: %s; it is used as: pairwright record %s", field.Name, field.Means, use)
				}
			}
			return f.run(cmd, e, stdout, stderr)
		},
	}
	cmd.Flags().SortFlags = false
	for _, field := range k.Fields {
		values[field.Name] = new(string)
		cmd.Flags().Var(fieldFlag{field, values[field.Name]}, field.Name, report.FieldWord(&field))
	}
	f.bind(cmd)
	for _, field := range k.Fields {
		register(cmd, field.Name, completeField(f.asked, field))
	}
	cmd.ValidArgsFunction = func(cmd *cobra.Command, args []string, begun string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) >= len(k.Args) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return completeField(f.asked, *k.Field(k.Args[len(args)]))(cmd, nil, begun)
	}
	return cmd
}

// completeField completes what a field of an event names: one of its words, a bird
// or an institution.
func completeField(asked *question.Asked, field journal.Field) cobra.CompletionFunc {
	switch {
	case field.Words != nil:
		return cobra.FixedCompletions(field.Words, cobra.ShellCompDirectiveNoFileComp)
	case field.List == journal.Birds:
		return completeBirds(asked, 1)
	case field.List == journal.Places:
		return completeCodes(asked)
	}
	return cobra.NoFileCompletions
}

// fieldFlag is a field of an event as the command line sets it.
type fieldFlag struct {
	field journal.Field
	text  *string
}

// String returns nothing: what stands in is said in the help.
func (f fieldFlag) String() string { return "" }

// Set takes the text of a value.
func (f fieldFlag) Set(text string) error {
	*f.text = text
	return nil
}

// Type says in the help what the flag takes.
func (f fieldFlag) Type() string {
	switch {
	case f.field.Words != nil:
		return strings.Join(f.field.Words, "|")
	case f.field.Form == studbook.FormDate:
		return "DATE"
	case f.field.Form == studbook.FormCount, f.field.Form == studbook.FormNumber:
		return "N"
	case f.field.Form == studbook.FormText:
		return "TEXT"
	}
	return "ID"
}

func newUndo(stdout, stderr io.Writer) *cobra.Command {
	f := &recordFlags{}
	var list bool
	cmd := &cobra.Command{
		Use:     "undo",
		GroupID: writeDown,
		Short:   "Take back what was last written down; again for the one before it",
		Long: `Takes back the last change that was written by record or from the pages and that
still stands; once more takes back the one before it. A file that is still as the
change left it becomes what it was, byte for byte. In one that was edited since,
the rows are put back and the edits stay; where a row itself was edited, nothing
is taken back and you are told.

` + howItWrites,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return question.Usagef("undo takes no %q: it takes back the last change", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			switch {
			case list && (f.yes || f.dryRun):
				return question.Usagef("--list takes nothing back: leave out --yes and --dry-run")
			case list:
				return f.list(stdout)
			}
			return f.run(cmd, journal.Event{Kind: journal.Undo}, stdout, stderr)
		},
	}
	cmd.Flags().SortFlags = false
	cmd.Flags().BoolVar(&list, "list", false, "list the last changes and take back none")
	f.bind(cmd)
	return cmd
}

// bind gives a command the flags that record and undo share.
func (f *recordFlags) bind(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.BoolVar(&f.yes, "yes", false, "write it without asking")
	flags.BoolVar(&f.dryRun, "dry-run", false, "show what would be written, and write nothing")
	flags.StringVar(&f.format, "format", "text", "`FORMAT` of the answer: text or json")
	f.asked = question.Reading("record", "as-of", "quiet")
	bindSettings(cmd, f.asked)
	register(cmd, "format", cobra.FixedCompletions([]cobra.Completion{"text", "json"}, cobra.ShellCompDirectiveNoFileComp))
}

func (f *recordFlags) folder() *journal.Folder {
	return journal.Open(f.asked.Studbook, journal.Options{Columns: f.asked.Columns, Check: question.CheckPedigree})
}

// run shows an event and writes it where it is to be written.
func (f *recordFlags) run(cmd *cobra.Command, e journal.Event, stdout, stderr io.Writer) error {
	switch {
	case f.format != "text" && f.format != "json":
		return question.Usagef("%s has no format %q: use text or json", cmd.Name(), f.format)
	case f.yes && f.dryRun:
		return question.Usagef("--yes writes and --dry-run does not: give one of them")
	}
	folder, ctx := f.folder(), cmd.Context()
	if f.yes {
		p, err := folder.Commit(ctx, e, "")
		if err != nil {
			return unwritten(err)
		}
		return f.show(p, stdout)
	}
	p, err := folder.Draft(ctx, e)
	if err != nil {
		return unwritten(err)
	}
	if err := f.show(p, stdout); err != nil || f.dryRun {
		return err
	}
	if !onTerminal(os.Stdin, stdout) {
		fmt.Fprintln(stderr, "Nothing was written; --yes writes it.")
		return nil
	}
	if ok, err := confirmed(os.Stdin, stdout); err != nil || !ok {
		return err
	}
	if p, err = folder.Commit(ctx, e, p.Seal); err != nil {
		return unwritten(err)
	}
	if p.Refused() {
		return f.show(p, stdout)
	}
	_, err = fmt.Fprintf(stdout, "Written as change %d; pairwright undo takes it back.\n", p.Number)
	return err
}

// unwritten says of an error that nothing was written, and what to do.
func unwritten(err error) error {
	var file *fs.PathError
	switch {
	case errors.Is(err, journal.ErrChanged):
		return fmt.Errorf("nothing was written: a file was changed in the meantime; look at it again with the same command")
	case errors.Is(err, journal.ErrBusy):
		return fmt.Errorf("nothing was written: another program is writing to the same folder; try again when it is done")
	case errors.As(err, &file) && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("nothing was written: %s: %w", file.Path, file.Err)
	}
	return question.Advised(err)
}

// show writes a proposal out, and reports whether it was refused.
func (f *recordFlags) show(p *journal.Proposal, stdout io.Writer) error {
	var out bytes.Buffer
	var err error
	if f.format == "json" {
		err = contract.WriteObject(&out, "pairwright/record 1", nil, contract.RecordJSON(p))
	} else {
		err = document.WriteText(&out, report.RecordDocument(p), 0)
	}
	if err != nil {
		return err
	}
	if _, err := out.WriteTo(stdout); err != nil {
		return err
	}
	if p.Refused() {
		return errAtFault
	}
	return nil
}

// list writes the last changes out.
func (f *recordFlags) list(stdout io.Writer) error {
	all, err := f.folder().Changes()
	if err != nil {
		return err
	}
	var out bytes.Buffer
	switch f.format {
	case "text":
		err = document.WriteText(&out, report.ChangesDocument(all), 0)
	case "json":
		err = contract.WriteObject(&out, "pairwright/changes 1", nil, contract.ChangesJSON(all))
	default:
		return question.Usagef("undo has no format %q: use text or json", f.format)
	}
	if err != nil {
		return err
	}
	_, err = out.WriteTo(stdout)
	return err
}

// onTerminal reports whether a person types and sees.
func onTerminal(in *os.File, out io.Writer) bool {
	if w, ok := out.(*writer); ok {
		out = w.to
	}
	screen, ok := out.(*os.File)
	return ok && terminal(in) && terminal(screen)
}

// confirmed asks whether it is to be written.
func confirmed(in io.Reader, out io.Writer) (bool, error) {
	if _, err := fmt.Fprint(out, "\nWrite this? [y/N] "); err != nil {
		return false, err
	}
	answer, err := bufio.NewReader(in).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return false, err
	}
	switch strings.ToLower(strings.TrimSpace(answer)) {
	case "y", "yes":
		return true, nil
	}
	_, err = fmt.Fprintln(out, "Nothing was written.")
	return false, err
}
