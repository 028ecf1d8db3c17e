package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"pairwright/examples"
	"pairwright/pairing"
)

func newDemo(o *options) *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Write the invented example colony to a new folder",
		Long: `Writes the example colony, a programme of an invented bird with all its files,
to a folder that is new or empty, to try every command on. No name, place or
number in it is real.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := args[0]
			files, err := examples.Write(dir, examples.DefaultSeed)
			if err != nil {
				return err
			}
			fmt.Fprintf(o.stdout, "Wrote the example colony to %s: %s.\nTry: pairwright mates --studbook %s\n",
				dir, pairing.Count(len(files), "file", "files"), filepath.Join(dir, "studbook.csv"))
			return nil
		},
	}
}
