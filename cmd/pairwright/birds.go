package main

import (
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
)

func newBirds(o *options) *cobra.Command {
	var all bool
	cmd := &cobra.Command{
		Use:   "birds",
		Short: "List the birds with their inbreeding, mean kinship and what is rare in them",
		Long: `Lists every living bird of the programme, one row each, or with --all every
bird on record: age, place, mate, inbreeding coefficient F, mean kinship with
its rank, genome uniqueness, known ancestry, holds. With --colony only the
birds of that institution; the figures always refer to the whole programme.

Formats: text, json, csv, md, html.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			rows, err := p.Rows(cmd.Context(), all, o.drop())
			if err != nil {
				return err
			}
			if o.colony != "" {
				place, err := p.Colony(o.colony)
				if err != nil {
					return err
				}
				rows = report.At(p, rows, place)
			}
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.BirdRows(p, rows)) },
				"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.BirdRows(p, rows)) },
			}.with(func() *document.Document { return report.Birds(p, rows) }))
		},
	}
	cmd.Flags().BoolVar(&all, "all", false, "dead birds too")
	return cmd
}
