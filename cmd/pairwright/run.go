package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
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
	root := newRoot(stdout, stderr)
	root.SetArgs(args)
	return exitCode(root.ExecuteContext(ctx), stderr)
}

// usageError is a call that cannot be understood.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errAtFault is an answer that was printed and says that the input is at fault.
var errAtFault = errors.New("the files have errors")

// exitCode prints what went wrong, if anything, and returns the exit code.
func exitCode(err error, stderr io.Writer) int {
	var usage usageError
	var faults *studbook.Faults
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "pairwright: %v\nRun pairwright --help to see how it is used.\n", err)
		return exitUsage
	case errors.Is(err, errAtFault):
		return exitFault
	case errors.As(err, &faults):
		for _, f := range faults.Findings {
			fmt.Fprintln(stderr, f)
		}
		fmt.Fprintf(stderr, "pairwright: nothing was computed: the files have %s to mend first.\n", pairing.Count(studbook.Errors(faults.Findings), "error", "errors"))
		return exitFault
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "pairwright: stopped.")
		return exitFault
	}
	fmt.Fprintf(stderr, "pairwright: %v\n", err)
	return exitFault
}

// newRoot returns the command line with every command on it.
func newRoot(stdout, stderr io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "pairwright",
		Short: "Advice on breeding pairs in a managed colony of pair-bonding birds",
		Long: `Pairwright reads the studbook of a cooperative breeding programme and advises
the keeper of one of its colonies: how related and how inbred the birds are,
which mate is best for a bird that has none, at home or in the network, which
pairs should hatch how many chicks next season, which bird should move, and how
healthy the colony and the programme are from year to year.

Its advice is advice: the programme's coordinator, the veterinarians and the
law of the place decide.`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("there is no command %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetVersionTemplate("pairwright {{.Version}}\n")
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })

	o := &options{stdout: stdout, stderr: stderr}
	o.bind(root.PersistentFlags())
	for _, group := range []struct {
		id, title string
		commands  []*cobra.Command
	}{
		{"decide", "What to do:", []*cobra.Command{newMates(o), newPlan(o), newTransfer(o), newReview(o)}},
		{"look", "What there is:", []*cobra.Command{newBirds(o), newBird(o), newKin(o), newCheck(o)}},
		{"begin", "To begin with:", []*cobra.Command{newDemo(o)}},
	} {
		root.AddGroup(&cobra.Group{ID: group.id, Title: group.title})
		for _, command := range group.commands {
			command.GroupID = group.id
			root.AddCommand(command)
		}
	}
	root.SetHelpCommandGroupID("begin")
	root.SetCompletionCommandGroupID("begin")
	for _, command := range root.Commands() {
		if args := command.Args; args != nil {
			command.Args = func(cmd *cobra.Command, given []string) error {
				if err := args(cmd, given); err != nil {
					return usagef("%w; it is used as: %s", err, cmd.UseLine())
				}
				return nil
			}
		}
	}
	return root
}

// version is the module's version as the Go toolchain recorded it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(devel)"
	}
	return info.Main.Version
}

// formats are the ways a command can print its answer, in the order of its
// help.
type formats map[formatName]func(w io.Writer) error

// with adds the formats that lay out a document.
func (f formats) with(build func() *document.Document) formats {
	f["text"] = func(w io.Writer) error { return document.WriteText(w, build(), 0) }
	f["md"] = func(w io.Writer) error { return document.WriteMarkdown(w, build()) }
	f["html"] = func(w io.Writer) error { return document.WriteHTML(w, build()) }
	return f
}

// print writes the answer in the format asked for, the whole of it or nothing.
func (o *options) print(f formats) error {
	write, ok := f[o.format]
	if !ok {
		has := slices.DeleteFunc(slices.Clone(formatNames), func(name string) bool { return f[formatName(name)] == nil })
		return usagef("this command has no format %q: use %s", o.format, alternatives(has))
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	if o.out != "" {
		return writeFile(o.out, b.Bytes())
	}
	_, err := o.stdout.Write(b.Bytes())
	return err
}

// alternatives lists names as "a, b or c".
func alternatives(names []string) string {
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
