package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/licences"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// topic is something that help can tell besides the commands.
type topic struct {
	name, short string
	write       func(w io.Writer) error
}

// topics are those there are.
var topics = []topic{
	{"methods", "what the figures mean, how the advice comes about, and whose methods they are", writeMethods},
	{"files", "the files of a colony folder and their columns", words(studbook.FilesHelp)},
	{"settings", "the settings of programme.toml", words(studbook.SettingsHelp)},
	{"licences", "whose work this program is made with, and on what terms", licences.Write},
}

func words(text func() string) func(w io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text())
		return err
	}
}

func writeMethods(w io.Writer) error { return document.WriteText(w, report.Methods(), 0) }

func newHelp(stdout io.Writer) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "help [COMMAND or TOPIC]",
		GroupID: begin,
		Short:   "Tell more about a command or a topic",
		Long:    "Tells how a command is used, or about one of these topics:\n",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
			var list []cobra.Completion
			if len(args) == 0 {
				for _, c := range cmd.Root().Commands() {
					list = append(list, cobra.CompletionWithDesc(c.Name(), c.Short))
				}
				for _, t := range topics {
					list = append(list, cobra.CompletionWithDesc(t.name, t.short))
				}
			}
			return list, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				for _, t := range topics {
					if t.name == args[0] {
						return t.write(stdout)
					}
				}
			}
			about, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return question.Usagef("there is no command and no topic %q", strings.Join(args, " "))
			}
			about.InitDefaultHelpFlag()
			about.InitDefaultVersionFlag()
			return about.Help()
		},
	}
	for _, t := range topics {
		cmd.Long += fmt.Sprintf("\n  %-9s %s", t.name, t.short)
	}
	return cmd
}
