package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/licences"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
)

// topic is something that help can tell besides the commands.
type topic struct {
	name, short string
	write       func(w io.Writer) error
}

// topics are those there are.
var topics = []topic{
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

func newHelp(stdout io.Writer) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "help [COMMAND or TOPIC]",
		GroupID: begin,
		Short:   "Tell more about a command or a topic",
		Long:    "Tells how a command is used, or about one of these topics:\n",
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
