package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
)

// planOptions are the flags of the plan command.
type planOptions struct {
	scope        string
	chicks       int
	perPair      int
	moves        int
	limit        inbreedingLimit
	release      []string
	free         bool
	ignoreSpaces bool
}

func (f *planOptions) bind(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.scope, "scope", "home", "`WHOSE` season to plan: home, the colony's, or programme, everybody's")
	flags.IntVar(&f.chicks, "chicks", 0, "`N` chicks wanted (default: what holds the number of birds, or leads to goal.birds of programme.toml)")
	flags.IntVar(&f.perPair, "per-pair", 0, "most chicks `N` of one pair (default: chicks_per_pair in programme.toml, or 2)")
	flags.IntVar(&f.moves, "moves", 0, "most birds `N` that may move to a mate")
	f.limit.bind(flags)
	flags.StringArrayVar(&f.release, "release", nil, "`ID` of a bird whose bond may be parted; may be given again")
	flags.BoolVar(&f.free, "free-bonds", false, "all bonds may be parted")
	flags.BoolVar(&f.ignoreSpaces, "ignore-spaces", false, "as if every place had room enough")
}

// rules checks the flags and returns them as the plan's options, with the
// number of chicks wanted and why so many.
func (f *planOptions) rules(cmd *cobra.Command, o *options, p *pairing.Programme) (rules pairing.PlanOptions, why string, err error) {
	if f.scope != "home" && f.scope != "programme" {
		return rules, "", usagef("--scope %q: use home or programme", f.scope)
	}
	for _, n := range []struct {
		flag  string
		value int
	}{{"chicks", f.chicks}, {"per-pair", f.perPair}, {"moves", f.moves}} {
		if n.value < 0 {
			return rules, "", usagef("--%s %d: it cannot be below 0", n.flag, n.value)
		}
	}
	if cmd.Flags().Changed("per-pair") && f.perPair == 0 {
		return rules, "", usagef("--per-pair 0: allow at least 1")
	}
	rules = pairing.PlanOptions{
		Whole: f.scope == "programme", Chicks: f.chicks, PerPair: f.perPair, Moves: f.moves,
		Release: f.release, FreeBonds: f.free, IgnoreSpaces: f.ignoreSpaces, Seed: o.seed,
	}
	if rules.LimitInbreeding, err = f.limit.given(); err != nil {
		return rules, "", err
	}
	if !rules.Whole {
		if rules.Place, err = p.Colony(o.colony); err != nil {
			return rules, "", err
		}
	}
	if cmd.Flags().Changed("chicks") {
		return rules, "as asked for", nil
	}
	rules.Chicks, why = p.ChicksNeeded(rules.Place, rules.Whole)
	return rules, why, nil
}

func newPlan(o *options) *cobra.Command {
	var f planOptions
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "Plan the season: which pairs hatch how many chicks, and which eggs to replace",
		Long: `Finds the pairs for the coming season and how many chicks each should hatch, so
that the living birds and the new chicks together keep as much gene diversity as
they can. Prints how far from the best the plan can be at most, what the present
bonds alone and what random pairing would give, and what to do with the eggs of
every bonded pair. Bonds are kept unless they are released.

Formats: text, json, csv (a row for each pair), md, html.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := o.load(cmd.Context())
			if err != nil {
				return err
			}
			rules, why, err := f.rules(cmd, o, p)
			if err != nil {
				return err
			}
			plan, err := p.Plan(cmd.Context(), rules)
			if err != nil {
				return fmt.Errorf("planning the season: %w", err)
			}
			return o.print(formats{
				"json": func(w io.Writer) error { return contract.WriteJSON(w, contract.PlanJSON(p, plan)) },
				"csv":  func(w io.Writer) error { return contract.WriteRecords(w, contract.PlanJSON(p, plan).Pairs) },
			}.with(func() *document.Document { return report.PlanDocument(p, plan, why) }))
		},
	}
	f.bind(cmd)
	return cmd
}
