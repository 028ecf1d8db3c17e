package main

import (
	"errors"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

func newCheck(o *options) *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Say whether the files are sound and which gaps in parentage cost most",
		Long: `Reads every file of the colony and lists all faults at once, each with its file
and line, what is wrong and what to do. Errors stop every computation (exit
status 1), warnings do not. Then lists the unknown and uncertain parents by the
share of the living birds' genes that flows through them, with the birds that
could have been the parent.

Formats: text, json, csv (a row for each finding), md, html.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var (
				findings []studbook.Finding
				notes    []string
				p        *pairing.Programme
				gaps     []pairing.Gap
				bad      error
			)
			colony, err := o.read(cmd.Context())
			var faults *studbook.Faults
			switch {
			case errors.As(err, &faults):
				findings, bad = faults.Findings, errAtFault
			case err != nil:
				return err
			default:
				findings, notes = colony.Warnings, colony.Notes
				day, err := o.day(colony)
				if err != nil {
					return err
				}
				p, err = pairing.New(cmd.Context(), colony.At(day))
				var impossible *pedigree.KinshipError
				switch {
				case errors.As(err, &impossible):
					findings, bad = append(findings, kinshipFinding(impossible)), errAtFault
				case err != nil:
					return err
				default:
					gaps = p.Gaps()
				}
			}
			answer := contract.CheckJSON(findings, p, gaps)
			err = o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, answer) },
				"csv":  func(w io.Writer) error { return contract.WriteRecords(w, answer.Findings) },
			}.with(func() *document.Document {
				return report.CheckDocument(filepath.Base(o.studbook), findings, notes, p, gaps)
			}))
			return errors.Join(err, bad)
		},
	}
}

// kinshipFinding is a founder kinship that only the pedigree shows to be
// impossible, as a finding.
func kinshipFinding(e *pedigree.KinshipError) studbook.Finding {
	return studbook.Finding{
		Severity: studbook.Error, File: "founder_kinship.csv", Code: "impossible_kinship",
		Message: e.Reason + ": " + document.FormatList(e.IDs, 10), Help: "check these values against the laboratory's report",
	}
}
