package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook/exchange"
)

// exportFlags are what export can be told.
type exportFlags struct {
	asked *question.Asked
	into  string
	of    string
}

func newExport(stdout, stderr io.Writer) *cobra.Command {
	f := &exportFlags{asked: question.Reading("export")}
	cmd := &cobra.Command{
		Use:     "export " + strings.Join(exchange.Kinds, "|") + "|all --into DIR",
		GroupID: begin,
		Short:   "Write the colony out in an open format",
		Long: `Writes the colony, or chosen birds with their ancestors alone, in a format that
other programs read, to a folder that is new or empty:

  studbook  the colony's files as CSV and its settings, with a
            datapackage.json that describes every column (Frictionless Data,
            Table Schema)
  xlsx      the same as the sheets of a workbook
  fam       a pedigree of PLINK: id, sire, dam and sex
  gedcom    a family tree, FamilySearch GEDCOM 7
  dot       a drawing for Graphviz
  kinship   the kinships of the living, or of the chosen birds, as CSV and as a
            Matrix Market file
  all       every one of them

What a format cannot hold is said. All but the drawing and the kinships can be
read again by import.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 || args[0] != "all" && !slices.Contains(exchange.Kinds, args[0]) {
				return question.Usagef("name one of %s or all; it is used as: pairwright export KIND --into DIR", strings.Join(exchange.Kinds, ", "))
			}
			return nil
		},
		RunE:              func(cmd *cobra.Command, args []string) error { return f.run(cmd, args[0], stdout, stderr) },
		ValidArgsFunction: completeOne(append(slices.Clone(exchange.Kinds), "all")...),
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&f.into, "into", "", "the new folder `DIR` to write")
	flags.StringVar(&f.of, "of", "", "only these birds and their ancestors, as `ID,ID`")
	bindSettings(cmd, f.asked)
	register(cmd, "into", completeFolder)
	register(cmd, "of", completeList(f.asked))
	return cmd
}

func (f *exportFlags) run(cmd *cobra.Command, kind string, stdout, stderr io.Writer) error {
	switch {
	case f.into == "":
		return question.Usagef("name the new folder with --into DIR")
	case cmd.Flags().Changed("as-of") && kind != "kinship" && kind != "all":
		return question.Usagef("--as-of is for the kinships of the living: %s has everything that is in the files", kind)
	}
	if err := freeFolder(f.into); err != nil {
		return err
	}
	folder, err := f.asked.Read(cmd.Context())
	if err != nil {
		return err
	}
	if folder.Faults != nil {
		return folder.Faults
	}
	if !f.asked.Quiet {
		for _, n := range folder.Colony.Notes {
			fmt.Fprintln(stderr, "note:", n)
		}
		for _, u := range folder.Colony.Unread {
			fmt.Fprintf(stderr, "warning: %s is not read, and not exported, because its name is not %s\n", u.Name, u.Meant)
		}
	}
	var ids []string
	for id := range strings.SplitSeq(f.of, ",") {
		switch id = strings.TrimSpace(id); {
		case id == "":
		case !folder.Has(id):
			return question.Usagef("--of: no bird %q in the files", id)
		default:
			ids = append(ids, id)
		}
	}
	kinds := []string{kind}
	if kind == "all" {
		kinds = exchange.Kinds
	}
	var files []exchange.File
	for _, k := range kinds {
		out, err := exchange.Export(cmd.Context(), folder.Colony, k, ids, folder.Day(f.asked))
		if err != nil {
			return err
		}
		files = append(files, out.Files...)
		if k == "studbook" && f.of == "" {
			settings, err := folder.SettingsFile()
			if err != nil {
				return err
			}
			files = append(files, settings...)
		}
		for _, lost := range out.Lost {
			if f.asked.Quiet {
				break
			}
			fmt.Fprintf(stderr, "note: %s: %s\n", k, lost)
		}
	}
	if err := exchange.Create(f.into, files); err != nil {
		return err
	}
	_, err = fmt.Fprintf(stdout, "Wrote %s to %s.\n", strings.Join(exchange.Names(files), ", "), f.into)
	return err
}
