package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
)

// newCommand returns the command that asks a question, as the question
// declares itself.
func newCommand(q *question.Question, stdout, stderr io.Writer) *cobra.Command {
	asked := q.Ask()
	cmd := &cobra.Command{
		Use:     q.Line(),
		GroupID: q.About,
		Short:   q.Short,
		Long:    q.Long + "\n\nFormats: " + formats(q) + ".",
		Args: func(_ *cobra.Command, args []string) error {
			asked.Birds = args
			return asked.Check()
		},
		RunE:              func(cmd *cobra.Command, _ []string) error { return respond(cmd.Context(), asked, stdout, stderr) },
		ValidArgsFunction: completeBirds(asked, len(q.Birds)),
	}
	bindSettings(cmd, asked)
	return cmd
}

// bindSettings gives a command a flag for every setting.
func bindSettings(cmd *cobra.Command, asked *question.Asked) {
	flags := cmd.Flags()
	flags.SortFlags = false
	for _, s := range asked.Settings() {
		help := s.Help
		if s.Again {
			help += "; may be given again"
		}
		f := flags.VarPF(settable{s}, s.Key, "", help)
		if s.Kind() == question.YesNo {
			f.NoOptDefVal = "true"
		}
	}
	completeFlags(cmd, asked)
}

// formats lists the formats of a question for its help.
func formats(q *question.Question) string {
	names := q.Formats()
	for k, name := range names {
		switch name {
		case "csv":
			names[k] += " (" + q.Rows + ")"
		case "xlsx":
			names[k] += " (its tables; needs --out FILE)"
		}
	}
	return strings.Join(names, ", ")
}

// settable is a setting as the command line sets it.
type settable struct{ setting *question.Setting }

// String returns the default, for the help.
func (f settable) String() string {
	if f.setting == nil {
		return ""
	}
	return f.setting.Default
}

// Set reads the text of a value.
func (f settable) Set(text string) error { return f.setting.Set(text) }

// Type says in the help what the flag takes.
func (f settable) Type() string {
	if f.setting.Kind() == question.YesNo {
		return "bool" // of which the help says nothing
	}
	return f.setting.Takes
}

// once is a flag that is given once or, where it is a list, with no value twice.
type once struct {
	pflag.Value
	list  bool
	given []string
}

// Set sets the value.
func (o *once) Set(text string) error {
	if len(o.given) > 0 && !o.list || slices.Contains(o.given, text) {
		return errors.New("it is given twice; give it once")
	}
	o.given = append(o.given, text)
	return o.Value.Set(text)
}

// giveOnce refuses flags that are given again, of which one would have no effect.
func giveOnce(cmd *cobra.Command) {
	for _, c := range cmd.Commands() {
		giveOnce(c)
	}
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		_, list := f.Value.(pflag.SliceValue)
		if s, ok := f.Value.(settable); ok {
			list = s.setting.Again
		}
		f.Value = &once{Value: f.Value, list: list}
	})
}

// flagError says in a keeper's words what is wrong with a flag.
func flagError(cmd *cobra.Command, err error) error {
	var (
		invalid *pflag.InvalidValueError
		unknown *pflag.NotExistError
		missing *pflag.ValueRequiredError
	)
	switch {
	case errors.As(err, &invalid):
		f, value, cause := invalid.GetFlag(), invalid.GetValue(), errors.Unwrap(invalid)
		switch {
		case value == "":
			value = `""`
		case !errors.As(cause, new(*strconv.NumError)):
		case f.Value.Type() == "bool":
			cause = errors.New("use true or false")
		default:
			cause = errors.New("give a whole number")
		}
		return question.Usagef("--%s %s: %w", f.Name, value, cause)
	case errors.As(err, &missing):
		f := missing.GetFlag()
		takes, _ := pflag.UnquoteUsage(f)
		return question.Usagef("--%s needs a value: --%s %s", f.Name, f.Name, takes)
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		return question.Usagef("there is no flag -%s; write flags in full, as --format", unknown.GetSpecifiedShortnames())
	case errors.As(err, &unknown) && cmd == cmd.Root():
		return question.Usagef("--%s stands before a command: flags come after it, as pairwright birds --quiet", unknown.GetSpecifiedName())
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		var near []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			if !f.Hidden && (strings.HasPrefix(f.Name, name) || strings.HasPrefix(name, f.Name)) {
				near = append(near, "--"+f.Name)
			}
		})
		return question.Usagef("%s has no flag --%s%s", cmd.Name(), name, meant(near))
	}
	return question.Usagef("%w", err)
}

// told is how many findings are printed beside an answer.
const told = 10

// respond answers a question and writes the answer where its settings say, the
// whole of it or nothing. Warnings go to stderr.
func respond(ctx context.Context, asked *question.Asked, stdout, stderr io.Writer) error {
	if asked.Format == "xlsx" && asked.Out == "" {
		return question.Usagef("a workbook cannot be shown on the screen: name a file with --out %s.xlsx", asked.Question.Name)
	}
	folder, err := asked.Read(ctx)
	if err != nil {
		return err
	}
	if asked.Letters != "" {
		if err := freeFolder(asked.Letters); err != nil {
			return err
		}
	}
	out := &outputs{read: folder.Files, folder: filepath.Dir(asked.Studbook), stdout: stdout}
	if err := out.check(asked.Out, asked.Attach); err != nil {
		return err
	}
	bar := newProgress(stderr)
	if bar != nil && !asked.Quiet {
		asked.Progress = bar.tell
	}
	x, err := asked.Answer(ctx, folder)
	bar.end()
	if err != nil {
		return err
	}
	if asked.Letters != "" {
		if !asked.Quiet {
			tell(stderr, asked, folder, x)
		}
		return writeLetters(asked.Letters, asked.Format, x.Letters, stdout)
	}
	var text, rows bytes.Buffer
	if err := x.Write(&text, asked.Format); err != nil {
		return err
	}
	if asked.Attach != "" {
		if err := x.Attachment(&rows); err != nil {
			return err
		}
	}
	if !asked.Quiet {
		tell(stderr, asked, folder, x)
	}
	all := []output{{asked.Out, text.Bytes()}}
	if asked.Attach != "" {
		all = append(all, output{asked.Attach, rows.Bytes()})
	}
	if err := out.write(all...); err != nil {
		return err
	}
	if x.AtFault {
		return errAtFault
	}
	return nil
}

// tell prints what the reader must know beside an answer.
func tell(stderr io.Writer, asked *question.Asked, folder *question.Folder, x *question.Answer) {
	if !x.FindingsInside {
		notes, findings := folder.Told(asked)
		for _, n := range notes {
			fmt.Fprintln(stderr, "note:", n)
		}
		for k, f := range findings {
			if k == told {
				fmt.Fprintf(stderr, "and %s more warnings: run pairwright check to see them all\n", document.FormatCount(len(findings)-told))
				break
			}
			fmt.Fprintln(stderr, f)
		}
	}
	if !x.CarriesWarnings(asked.Format) {
		for _, n := range x.Own {
			fmt.Fprintln(stderr, "note:", n)
		}
	}
}
