package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/examples"
	"pairwright/pairing"
)

func newDemo(stdout io.Writer) *cobra.Command {
	return &cobra.Command{
		Use:     "demo DIR",
		GroupID: begin,
		Short:   "Write the invented example colony to a new folder",
		Long: `Writes the example colony, a programme of an invented bird with all its files,
to a folder that is new or empty, to try every command on. No name, place or
number in it is real.`,
		Args: oneFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			dir := args[0]
			files, err := examples.Write(dir, examples.DefaultSeed)
			if err != nil {
				return err
			}
			fmt.Fprintf(stdout, "Wrote the example colony to %s: %s.\nTry: pairwright mates --studbook %s\n",
				dir, pairing.Count(len(files), "file", "files"), filepath.Join(dir, "studbook.csv"))
			return nil
		},
	}
}

// oneFolder checks the arguments of a command that writes a folder.
func oneFolder(cmd *cobra.Command, args []string) error {
	if len(args) != 1 {
		return question.Usagef("name one folder, new or empty; it is used as: pairwright %s", cmd.Use)
	}
	return nil
}
