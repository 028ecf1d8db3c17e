package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
)

func newReview(o *options) *cobra.Command {
	var since string
	cmd := &cobra.Command{
		Use:   "review",
		Short: "Write the yearly review of the colony: its gene pool, its numbers, what to do next",
		Long: `Writes the yearly review of a colony within its programme: each figure with last
review's and the goal, the year in numbers, gene diversity since the first
founders and what changed it, founders, what to do with each bird and pair, the
best mates of birds without one, inbreeding and gaps in parentage.

Formats: text, json, md, html, xlsx (its tables; needs --out FILE).`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if o.format == "xlsx" && o.out == "" {
				return usagef("a workbook cannot be shown on the screen: name a file with --out review.xlsx")
			}
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			place, err := p.Colony(o.colony)
			if err != nil {
				return err
			}
			last, err := lastReview(since, p.Book.AsOf)
			if err != nil {
				return err
			}
			r, err := review.New(cmd.Context(), p, review.Options{Colony: place, Since: last, Drop: o.drop(), Rank: pairing.Options{Seed: o.seed, Explained: bestShown}})
			if err != nil {
				return err
			}
			build := func() *document.Document { return report.ReviewDocument(r) }
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.ReviewJSON(r)) },
				"xlsx": func(w io.Writer) error { return document.WriteWorkbook(w, build()) },
			}.with(build))
		},
	}
	cmd.Flags().StringVar(&since, "since", "", "`DATE` of the last review (default: a year before --as-of)")
	return cmd
}

// lastReview returns the day of the last review: of a date that is not a day,
// its last; 0 where none is given.
func lastReview(since string, today studbook.Day) (studbook.Day, error) {
	if since == "" {
		return 0, nil
	}
	date, err := studbook.ParseDate(since)
	switch {
	case err == nil && !date.Known():
		err = fmt.Errorf("give a date such as 2026-09-30")
	case err == nil && date.Last >= today:
		err = fmt.Errorf("the last review must be before the day of this one, %s", today)
	}
	if err != nil {
		return 0, usagef("--since %q: %w", since, err)
	}
	return date.Last, nil
}
