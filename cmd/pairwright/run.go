package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/sourcegraph/conc/panics"
	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// Exit codes: done, the input or the answer is at fault, wrong usage.
const (
	exitDone  = 0
	exitFault = 1
	exitUsage = 2
)

// run is the whole program: arguments in, an exit code out. Nothing reaches
// stdout unless the command has its whole answer.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	out := &writer{to: stdout}
	root := newRoot(out, stderr, args)
	root.SetArgs(args)
	if len(args) == 0 || args[0] != cobra.ShellCompRequestCmd && args[0] != cobra.ShellCompNoDescRequestCmd {
		giveOnce(root) // to complete a line it is read several times
	}
	err := execute(ctx, root)
	if out.err != nil {
		err = fmt.Errorf("the answer could not be written: %w", out.err)
	}
	return exitCode(err, stderr)
}

// execute runs a command. A panic in it becomes an error that says where it was, as
// nobody but who wrote the program has a use for more.
func execute(ctx context.Context, root *cobra.Command) (err error) {
	defer func() {
		if value := recover(); value != nil {
			err = fmt.Errorf("the program itself is at fault, and none of your files (%s); what was written before is on the disk. Please tell whoever gave it to you, with the command and this line", whereItWas(value))
		}
	}()
	return root.ExecuteContext(ctx)
}

// whereItWas says of a panic what it was and in which line. To be called while it is
// recovered.
func whereItWas(value any) string {
	own := panics.NewRecovered(0, value)
	for {
		beside, ok := own.Value.(*panics.Recovered) // of another goroutine
		if !ok {
			break
		}
		own = *beside
	}
	panicking := false
	for frames := runtime.CallersFrames(own.Callers); ; {
		frame, more := frames.Next()
		inGo := strings.HasPrefix(frame.Function, "runtime.")
		if panicking && !inGo || !more {
			return fmt.Sprintf("%v in %s, line %d", own.Value, path.Base(frame.File), frame.Line)
		}
		panicking = panicking || inGo
	}
}

// writer remembers that something could not be written, as the help does not.
type writer struct {
	to  io.Writer
	err error
}

// Write writes on.
func (w *writer) Write(p []byte) (int, error) {
	n, err := w.to.Write(p)
	if err != nil && w.err == nil {
		w.err = disk.Cause(err)
	}
	return n, err
}

// errAtFault is an answer that was printed and says that the input is at fault.
var errAtFault = errors.New("the files have errors")

// exitCode prints what went wrong, if anything, and returns the exit code.
func exitCode(err error, stderr io.Writer) int {
	var usage *question.UsageError
	var faults *studbook.Faults
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "pairwright: %s\nRun pairwright --help to see how it is used.\n", plainly(err))
		return exitUsage
	case errors.Is(err, errAtFault):
		return exitFault
	case errors.As(err, &faults):
		for _, f := range faults.Findings {
			fmt.Fprintln(stderr, f)
		}
		fmt.Fprintf(stderr, "pairwright: nothing was computed: the files have %s to mend first.\n", document.FormatThings(studbook.Errors(faults.Findings), "error", "errors"))
		return exitFault
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "pairwright: stopped.")
		return exitFault
	}
	fmt.Fprintf(stderr, "pairwright: %s\n", plainly(err))
	return exitFault
}

// plainly returns what an error says without how the system's libraries say it:
// "open a.csv: permission denied" becomes "a.csv: permission denied".
func plainly(err error) string {
	text := err.Error()
	var within func(err error)
	within = func(err error) {
		var name string
		switch e := err.(type) {
		case *fs.PathError:
			name = e.Path
		case *os.LinkError:
			name = e.New
		case *net.OpError:
			if name = "the network"; e.Addr != nil {
				name = e.Addr.String()
			}
		case *os.SyscallError:
			text = strings.ReplaceAll(text, e.Error(), e.Err.Error())
		case interface{ Unwrap() []error }:
			for _, part := range e.Unwrap() {
				within(part)
			}
			return
		}
		inner := errors.Unwrap(err)
		if name != "" {
			text = strings.ReplaceAll(text, err.Error(), name+": "+inner.Error())
		}
		if inner != nil {
			within(inner)
		}
	}
	within(err)
	return text
}

// begin is the group of the commands that come first.
const begin = "begin"

// newRoot returns the command line with every command on it, or with the question
// alone that is the first argument: to make the others takes longer than many answers.
func newRoot(stdout, stderr io.Writer, args []string) *cobra.Command {
	root := &cobra.Command{
		Use:   "pairwright",
		Short: "Advice on breeding pairs in a managed colony of pair-bonding birds",
		Long: `Pairwright reads the studbook of a cooperative breeding programme and advises
the keeper of one of its colonies: how related and how inbred the birds are,
which mate is best for a bird that has none, at home or in the network, which
pairs should hatch how many chicks next season, which bird should move, how
healthy the colony and the programme are from year to year, and what all that
leads to over the decades.

Its advice is advice: the programme's coordinator, the veterinarians and the
law of the place decide.`,
		Version:                    version(),
		SilenceErrors:              true,
		SilenceUsage:               true,
		SuggestionsMinimumDistance: 2, // letters at most that are wrong
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return question.Usagef("there is no command %q%s", args[0], meant(cmd.SuggestionsFor(args[0])))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("pairwright {{.Version}}\n")
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(flagError)

	for _, group := range []struct{ id, title string }{
		{question.Decide, "What to do:"}, {question.Look, "What there is:"}, {writeDown, "To write down:"}, {begin, "To begin with:"},
	} {
		root.AddGroup(&cobra.Group{ID: group.id, Title: group.title})
	}
	if k := slices.IndexFunc(question.All, func(q *question.Question) bool { return len(args) > 0 && q.Name == args[0] }); k >= 0 {
		root.AddCommand(newCommand(question.All[k], stdout, stderr))
		return root
	}
	for _, q := range question.All {
		root.AddCommand(newCommand(q, stdout, stderr))
	}
	root.AddCommand(newRecord(stdout, stderr), newUndo(stdout, stderr), newServe(stdout, stderr), newDemo(stdout), newInit(stdout), newImport(stdout), newExport(stdout, stderr), newReference(stdout))
	root.SetHelpCommand(newHelp(stdout))
	root.SetCompletionCommandGroupID(begin)
	root.InitDefaultCompletionCmd()
	plainUsage(root)
	return root
}

// meant asks whether one of some words was meant, "" where there are none.
func meant(words []string) string {
	if len(words) == 0 {
		return ""
	}
	return "; did you mean " + strings.Join(words, " or ") + "?"
}

// plainUsage lets commands that come from outside say in our words that they
// are given too much.
func plainUsage(cmd *cobra.Command) {
	for _, c := range cmd.Commands() {
		plainUsage(c)
		if !c.Runnable() { // it has commands of its own
			c.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
		}
		if check := c.Args; check != nil {
			c.Args = func(cmd *cobra.Command, args []string) error {
				err := check(cmd, args)
				var usage *question.UsageError
				if err == nil || errors.As(err, &usage) {
					return err
				}
				return question.Usagef("%s does not take %q", cmd.CommandPath(), strings.Join(args, " "))
			}
		}
	}
}

// version is the module's version as the Go toolchain recorded it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(devel)"
	}
	return info.Main.Version
}

// made is the day of the commit that the program was built from, "" where that is not
// known: another day than today's, so that a manual is the same whenever it is written.
func made() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.time" {
			day, _, _ := strings.Cut(s.Value, "T")
			return day
		}
	}
	return ""
}
