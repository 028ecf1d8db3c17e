package main

import (
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

func newBird(o *options) *cobra.Command {
	return &cobra.Command{
		Use:   "bird ID",
		Short: "Show one bird: its figures, family, four generations of ancestors, best mates",
		Long: `Shows all there is to say of one bird: its row of the birds command, parents,
mates, chicks, four generations of ancestors (drawn with --format html), whom it
is inbred through, its closest living kin and its best mates.

Formats: text, json, csv (its row), md, html.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			b, err := p.Bird(args[0])
			if err != nil {
				return err
			}
			profile, err := p.Profile(cmd.Context(), b, o.drop(), pairing.Options{Seed: o.seed})
			if err != nil {
				return err
			}
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.BirdJSON(p, profile)) },
				"csv": func(w io.Writer) error {
					return contract.WriteRecords(w, contract.BirdRows(p, []pairing.Row{profile.Row}))
				},
			}.with(func() *document.Document { return report.BirdDocument(p, profile) }))
		},
	}
}
