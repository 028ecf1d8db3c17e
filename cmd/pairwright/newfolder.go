package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/examples"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
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
			files, err := demoFiles()
			if err != nil {
				return err
			}
			if err := writeFolder(args[0], files); err != nil {
				return err
			}
			_, err = fmt.Fprintf(stdout, "Wrote the example colony to %s: %s.\nTry: pairwright mates --studbook %s\n",
				args[0], document.FormatThings(len(files), "file", "files"), filepath.Join(args[0], "studbook.csv"))
			return err
		},
	}
}

// demoFiles returns the example colony by the names of its files.
func demoFiles() (map[string][]byte, error) {
	colony, files := examples.HarrowFell(), map[string][]byte{}
	entries, err := fs.ReadDir(colony, ".")
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if files[e.Name()], err = fs.ReadFile(colony, e.Name()); err != nil {
			return nil, err
		}
	}
	return files, nil
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
well. See also: pairwright help files, pairwright help settings.`,
		Args: oneFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			files := studbook.Template()
			var described bytes.Buffer
			if err := contract.WriteJSON(&described, studbook.DataPackage()); err != nil {
				return err
			}
			files["datapackage.json"] = described.Bytes()
			if err := writeFolder(args[0], files); err != nil {
				return err
			}
			_, err := fmt.Fprintf(stdout, "Wrote a colony folder to %s: %s.\nFill in studbook.csv, then: pairwright check --studbook %s\n",
				args[0], document.FormatThings(len(files), "file", "files"), filepath.Join(args[0], "studbook.csv"))
			return err
		},
	}
}

// oneFolder checks the arguments of a command that writes a folder.
func oneFolder(cmd *cobra.Command, args []string) error {
	if len(args) != 1 || args[0] == "" {
		return question.Usagef("name one folder, new or empty; it is used as: pairwright %s", cmd.Use)
	}
	return nil
}

// writeFolder writes files into a folder that is absent or empty: all of them
// or, if one cannot be written, none.
func writeFolder(dir string, files map[string][]byte) (err error) {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return err
		}
		defer func() {
			if err != nil {
				err = errors.Join(err, os.Remove(dir))
			}
		}()
	case err != nil:
		return fmt.Errorf("%s cannot be used as a folder: %w", dir, err)
	case len(entries) > 0:
		return fmt.Errorf("%s is not empty; name a new or an empty folder", dir)
	}
	var written []string
	defer func() {
		if err != nil {
			for _, name := range written {
				err = errors.Join(err, os.Remove(name))
			}
		}
	}()
	for _, base := range slices.Sorted(maps.Keys(files)) {
		name := filepath.Join(dir, base)
		if err := disk.Create(name, files[base]); err != nil {
			return err
		}
		written = append(written, name)
	}
	return nil
}
