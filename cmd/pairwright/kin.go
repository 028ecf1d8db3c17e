package main

import (
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
)

func newKin(o *options) *cobra.Command {
	return &cobra.Command{
		Use:   "kin A B",
		Short: "Say how two birds are related, and through whom",
		Long: `Gives the kinship of two birds, which is the inbreeding coefficient F that a
chick of theirs would have, split by common ancestor: what each contributes and
its largest paths. The contributions add up to the kinship.

Formats: text, json, csv (a row for each ancestor), md, html.`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			a, err := p.Bird(args[0])
			if err != nil {
				return err
			}
			b, err := p.Bird(args[1])
			if err != nil {
				return err
			}
			k := p.Kin(a, b)
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.KinJSON(p, k)) },
				"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.KinJSON(p, k).Ancestors) },
			}.with(func() *document.Document { return report.KinDocument(p, k) }))
		},
	}
}
