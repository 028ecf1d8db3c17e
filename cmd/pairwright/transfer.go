package main

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pairing/transfer"
)

// transferOptions are the flags of the transfer command.
type transferOptions struct {
	question transfer.Question
	list     bool
	scope    string
	top      int
	attach   string
}

func newTransfer(o *options) *cobra.Command {
	var t transferOptions
	cmd := &cobra.Command{
		Use:   "transfer ID | --list",
		Short: "Write the request to move a bird so that it finds a mate, ready to send",
		Long: `Compares what can be done to give an unpaired bird a mate: bring one in, send
the bird out, swap two birds between two institutions so that both gain, or a
ring of three; takes the best and writes the request on one page, with its
effects on both colonies and the programme, the alternatives, when the birds may
travel, what is not known, a checklist, and an appendix with the ancestry.
--to, --from and --partner make part of the choice. --list ranks the useful
moves of the colony or, with --scope programme, of all.

Formats: text, json, md, html; with --list csv too.`,
		Args: func(_ *cobra.Command, args []string) error { return t.check(args) },
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			if t.list {
				return o.transfers(cmd.Context(), p, &t)
			}
			t.question.Bird, t.question.Seed = args[0], o.seed
			return o.transfer(cmd.Context(), p, &t)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&t.question.To, "to", "", "`CODE` of the institution where the bird is to go")
	flags.StringVar(&t.question.From, "from", "", "`CODE` of the institution that a bird is to come from")
	flags.StringVar(&t.question.Partner, "partner", "", "`ID` of the intended mate")
	flags.StringVar(&t.attach, "attach", "", "write the studbook rows of the birds and all their ancestors to `FILE` as CSV")
	flags.BoolVar(&t.list, "list", false, "rank all useful moves instead")
	flags.StringVar(&t.scope, "scope", "home", "with --list: `WHOSE` moves: home, the colony's birds, or programme, all birds")
	flags.IntVar(&t.top, "top", 10, "with --list: list the first `N` moves")
	return cmd
}

// check checks the arguments and flags.
func (t *transferOptions) check(args []string) error {
	switch {
	case t.list && (len(args) > 0 || t.question != transfer.Question{} || t.attach != ""):
		return fmt.Errorf("--list takes no bird, no --to, --from, --partner and no --attach")
	case !t.list && len(args) != 1:
		return fmt.Errorf("name one bird, or ask for --list")
	case t.scope != "home" && t.scope != "programme":
		return fmt.Errorf("--scope %q: use home or programme", t.scope)
	case t.top < 1:
		return fmt.Errorf("--top %d: ask for at least 1", t.top)
	}
	return nil
}

// transfer prints the request for one bird.
func (o *options) transfer(ctx context.Context, p *pairing.Programme, t *transferOptions) error {
	asker := p.Settings().Home
	if o.colony != "" {
		var err error
		if asker, err = p.Colony(o.colony); err != nil {
			return err
		}
	}
	c, err := transfer.Find(ctx, p, t.question)
	if err != nil {
		return err
	}
	if t.attach != "" {
		var rows bytes.Buffer
		if err := contract.WriteStudbook(&rows, p.Book.Colony, c.Extract(p)); err != nil {
			return err
		}
		if err := writeFile(t.attach, rows.Bytes()); err != nil {
			return err
		}
	}
	return o.print(formats{
		"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.TransferJSON(p, c)) },
	}.with(func() *document.Document { return report.TransferDocument(p, c, asker) }))
}

// transfers prints the list of useful moves.
func (o *options) transfers(ctx context.Context, p *pairing.Programme, t *transferOptions) error {
	place := ""
	if t.scope == "home" {
		var err error
		if place, err = p.Colony(o.colony); err != nil {
			return err
		}
	}
	l, err := transfer.Moves(ctx, p, place)
	if err != nil {
		return err
	}
	return o.print(formats{
		"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.TransfersJSON(p, l, t.top)) },
		"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.TransferRows(p, l, t.top)) },
	}.with(func() *document.Document { return report.TransfersDocument(p, l, t.top) }))
}
