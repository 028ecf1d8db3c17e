package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/examples"
	"pairwright/pedigree/studbook/disk"
	"pairwright/pedigree/studbook/exchange"
)

func newDemo(stdout io.Writer) *cobra.Command {
	return &cobra.Command{
		Use:     "demo DIR",
		GroupID: begin,
		Short:   "Write the invented example colony to a new folder",
		Long: `Writes the example colony, a programme of an invented bird with all its files,
to a folder that is new or empty, to try every command on. No name, place or
number in it is real.`,
		Args:              oneFolder,
		ValidArgsFunction: completeFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			files, err := exchange.FilesOf(examples.HarrowFell())
			if err != nil {
				return err
			}
			if err := exchange.Create(args[0], files); err != nil {
				return err
			}
			_, err = fmt.Fprintf(stdout, "Wrote the example colony to %s: %s.\nTry: pairwright mates --studbook %s\n",
				args[0], document.FormatThings(len(files), "file", "files"), typed(filepath.Join(args[0], "studbook.csv")))
			return err
		},
	}
}

func newInit(stdout io.Writer) *cobra.Command {
	return &cobra.Command{
		Use:     "init DIR",
		GroupID: begin,
		Short:   "Begin a colony of your own: every file with its headings, in a new folder",
		Long: `Writes a colony folder, which must be new or empty: every file with its heading
row, programme.toml with every setting explained and left at its default, and
datapackage.json, which describes the columns to other programs. Fill in
studbook.csv, delete the files that are not needed, and ask check whether all is
well.

colony.xlsx is the same as one workbook, for those who like to keep all in one:
a sheet for each file, lists to choose from where a column has words or names
birds and institutions, and notes on every heading. Use it instead of the CSV
files, not beside them: pairwright check --studbook DIR/colony.xlsx. See also:
pairwright help files, pairwright help settings.`,
		Args:              oneFolder,
		ValidArgsFunction: completeFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			files, err := exchange.Template()
			if err != nil {
				return err
			}
			if err := exchange.Create(args[0], files); err != nil {
				return err
			}
			_, err = fmt.Fprintf(stdout, "Wrote a colony folder to %s: %s.\nFill in studbook.csv, then: pairwright check --studbook %s\nOr fill in the workbook %s instead, which has the same as sheets.\n",
				args[0], document.FormatThings(len(files), "file", "files"), typed(filepath.Join(args[0], "studbook.csv")), filepath.Join(args[0], exchange.WorkbookFile))
			return err
		},
	}
}

// typed is the name of a file as it is typed on a command line.
func typed(name string) string {
	if strings.ContainsAny(name, " '()&;") {
		return `"` + name + `"`
	}
	return name
}

// oneFolder checks the arguments of a command that writes a folder.
func oneFolder(cmd *cobra.Command, args []string) error {
	if len(args) != 1 || args[0] == "" {
		return question.Usagef("name one folder, new or empty; it is used as: pairwright %s", cmd.Use)
	}
	return freeFolder(args[0])
}

// freeFolder says whether files can be written to a folder, before anything is
// computed.
func freeFolder(dir string) error {
	if err := disk.Free(dir); err != nil {
		return question.Usagef("%w", err)
	}
	return nil
}
