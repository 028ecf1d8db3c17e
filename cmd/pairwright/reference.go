package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook/exchange"
)

// The file of the reference in Markdown.
const referenceFile = "reference.md"

func newReference(stdout io.Writer) *cobra.Command {
	return &cobra.Command{
		Use:     "reference DIR",
		GroupID: begin,
		Short:   "Write the manual of all commands to a new folder, to read, print or install",
		Long: `Writes what help tells of every command and topic to a folder that is new or
empty: reference.md, one page in Markdown, and in the folder man the pages for
the program man, pairwright.1 and one for each command and topic. To read one:
man -l DIR/man/pairwright-mates.1`,
		Args:              oneFolder,
		ValidArgsFunction: completeFolder,
		RunE: func(cmd *cobra.Command, args []string) error {
			files, err := manual(cmd.Root())
			if err != nil {
				return err
			}
			if err := exchange.Create(args[0], files); err != nil {
				return err
			}
			_, err = fmt.Fprintf(stdout, "Wrote the manual to %s: %s and %s for man.\n",
				args[0], filepath.Join(args[0], referenceFile), document.FormatThings(len(files)-1, "page", "pages"))
			return err
		},
	}
}

// entry is a command or a topic in the manual.
type entry struct {
	name, short, long string
	usage             string // "" of a topic
	flags             []*pflag.Flag
	plain             bool // long is laid out line by line
}

// section is the chapter of man that it stands in: commands in 1, all else in 7.
func (e entry) section() int {
	if e.usage == "" {
		return 7
	}
	return 1
}

// page is the name that man knows it by.
func (e entry) page() string {
	return strings.ReplaceAll(strings.Replace(e.name, " help ", " ", 1), " ", "-")
}

// entries are all that the manual tells, the program itself first.
func entries(root *cobra.Command) ([]entry, error) {
	var all []entry
	for _, cmd := range append([]*cobra.Command{root}, root.Commands()...) {
		if cmd != root && !cmd.IsAvailableCommand() && cmd.Name() != "help" {
			continue
		}
		cmd.InitDefaultHelpFlag()
		e := entry{name: cmd.CommandPath(), short: cmd.Short, long: cmd.Long, usage: cmd.UseLine()}
		cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if !f.Hidden {
				e.flags = append(e.flags, f)
			}
		})
		all = append(all, e)
	}
	for _, t := range topics {
		if t.name == "licences" {
			continue // long, and of no use to a reader of commands
		}
		var text bytes.Buffer
		if err := t.write(&text); err != nil {
			return nil, err
		}
		all = append(all, entry{name: root.Name() + " help " + t.name, short: strings.ToUpper(t.short[:1]) + t.short[1:], long: text.String(), plain: true})
	}
	return all, nil
}

// manual returns the files of the manual.
func manual(root *cobra.Command) ([]exchange.File, error) {
	all, err := entries(root)
	if err != nil {
		return nil, err
	}
	var markdown bytes.Buffer
	fmt.Fprintf(&markdown, "# %s: all commands\n\n", root.Name())
	for _, e := range all {
		fmt.Fprintf(&markdown, "- [%s](#%s): %s\n", e.name, strings.ReplaceAll(e.name, " ", "-"), e.short)
	}
	files := []exchange.File{{}}
	for _, e := range all {
		writeMarkdown(&markdown, e)
		var page bytes.Buffer
		writeMan(&page, e, all, root.Version)
		files = append(files, exchange.File{Name: fmt.Sprintf("man/%s.%d", e.page(), e.section()), Content: page.Bytes()})
	}
	files[0] = exchange.File{Name: referenceFile, Content: markdown.Bytes()}
	return files, nil
}

// told returns what stands for a flag's value, and its help with the default.
func flagTold(f *pflag.Flag) (takes, help string) {
	takes, help = pflag.UnquoteUsage(f)
	if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "[]" {
		help += " (default " + f.DefValue + ")"
	}
	return takes, help
}

func writeMarkdown(b *bytes.Buffer, e entry) {
	fmt.Fprintf(b, "\n## %s\n\n%s.\n", e.name, e.short)
	if e.usage != "" {
		fmt.Fprintf(b, "\n    %s\n", e.usage)
	}
	if e.plain {
		fmt.Fprintf(b, "\n```text\n%s\n```\n", strings.TrimSpace(e.long))
		return
	}
	for _, p := range paragraphs(e.long) {
		if p.laidOut {
			fmt.Fprintf(b, "\n```text\n%s\n```\n", p.text)
		} else {
			fmt.Fprintf(b, "\n%s\n", strings.NewReplacer("<", "&lt;", "*", `\*`, "_", `\_`).Replace(p.text))
		}
	}
	if len(e.flags) == 0 {
		return
	}
	b.WriteString("\n| flag | what it does |\n|---|---|\n")
	for _, f := range e.flags {
		takes, help := flagTold(f)
		fmt.Fprintf(b, "| `%s` | %s |\n", strings.TrimSpace("--"+f.Name+" "+takes), strings.NewReplacer("|", `\|`, "<", "&lt;", "*", `\*`, "_", `\_`).Replace(help))
	}
}

// writeMan writes a page for man, in the macros of that name.
func writeMan(b *bytes.Buffer, e entry, all []entry, version string) {
	fmt.Fprintf(b, ".TH %s %d %s %s %s\n", roff(strings.ToUpper(e.page())), e.section(), quoted(made()), quoted("pairwright "+version), quoted("Manual of Pairwright"))
	fmt.Fprintf(b, ".SH NAME\n%s \\- %s\n", roff(e.page()), roff(e.short))
	if e.usage != "" {
		fmt.Fprintf(b, ".SH SYNOPSIS\n%s\n", roff(e.usage))
	}
	b.WriteString(".SH DESCRIPTION\n")
	list := paragraphs(e.long)
	if e.plain {
		list = []paragraph{{strings.TrimSpace(e.long), true}}
	}
	for k, p := range list {
		if k > 0 {
			b.WriteString(".PP\n")
		}
		if p.laidOut {
			fmt.Fprintf(b, ".nf\n%s\n.fi\n", roff(p.text))
		} else {
			fmt.Fprintf(b, "%s\n", roff(p.text))
		}
	}
	if len(e.flags) > 0 {
		b.WriteString(".SH OPTIONS\n")
		for _, f := range e.flags {
			takes, help := flagTold(f)
			fmt.Fprintf(b, ".TP\n\\fB%s\\fR", roff("--"+f.Name))
			if takes != "" {
				fmt.Fprintf(b, " \\fI%s\\fR", roff(takes))
			}
			fmt.Fprintf(b, "\n%s\n", roff(help))
		}
	}
	b.WriteString(".SH SEE ALSO\n")
	for k, other := range all {
		if k > 0 {
			b.WriteString(",\n")
		}
		fmt.Fprintf(b, "\\fB%s\\fR(%d)", roff(other.page()), other.section())
	}
	b.WriteByte('\n')
}

// paragraph is a part of a help text between blank lines. One whose lines are
// indented is laid out as it is.
type paragraph struct {
	text    string
	laidOut bool
}

func paragraphs(text string) []paragraph {
	var list []paragraph
	for part := range strings.SplitSeq(strings.TrimSpace(text), "\n\n") {
		list = append(list, paragraph{strings.TrimRight(part, "\n"), strings.HasPrefix(part, "  ")})
	}
	return list
}

// roff writes a text so that man takes no letter of it for a command.
func roff(text string) string {
	lines := strings.Split(strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text), "\n")
	for k, line := range lines {
		if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
			lines[k] = `\&` + line
		}
	}
	return strings.Join(lines, "\n")
}

// quoted writes a text as one word of a command of man.
func quoted(text string) string { return `"` + strings.ReplaceAll(roff(text), `"`, `\(dq`) + `"` }
