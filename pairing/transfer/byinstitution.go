package transfer

import (
	"context"
	"slices"

	"pairwright/pairing"
)

// InstitutionPlan is what a programme's plan asks of one institution.
type InstitutionPlan struct {
	Code   string                 // "" where places are not on record
	Pairs  []*pairing.PlannedPair // that live there, or are to, in the order of the plan; without those that are parted
	ToPart []*pairing.PlannedPair // to be parted on a person's word
	Eggs   []*pairing.Eggs        // that lie there now
	Alone  []*pairing.Alone       // birds there without a mate

	Out, In           []Listed // moves to a mate, and those that people agreed on
	YoungOut, YoungIn []Listed // young birds to be elsewhere, or here, when they come of age

	Expected float64 // chicks of the pairs that live there
}

// ByInstitution shares a plan for the whole programme out among its institutions, by code:
// those where birds live, and those where birds are to come.
func ByInstitution(ctx context.Context, p *pairing.Programme, plan *pairing.Plan) ([]InstitutionPlan, error) {
	list, err := Moves(ctx, p, plan.Decision, "")
	if err != nil {
		return nil, err
	}
	codes := p.Book.Locations()
	add := func(code string) {
		if !slices.Contains(codes, code) {
			codes = append(codes, code)
		}
	}
	all := slices.Concat(list.Moves, list.Sent)
	for _, m := range slices.Concat(all, list.Young) {
		add(m.Moves[0].To)
	}
	for k := range plan.Pairs {
		add(plan.Pairs[k].Place)
	}
	slices.Sort(codes)
	parts := make([]InstitutionPlan, len(codes))
	of := func(code string) *InstitutionPlan {
		k, _ := slices.BinarySearch(codes, code)
		return &parts[k]
	}
	for k, code := range codes {
		parts[k].Code = code
	}
	for k := range plan.Pairs {
		x := &plan.Pairs[k]
		part := of(x.Place)
		if x.Kind == pairing.BondReleased {
			part.ToPart = append(part.ToPart, x)
			continue
		}
		part.Pairs = append(part.Pairs, x)
		part.Expected += x.Expected
	}
	for k := range plan.Eggs {
		x := &plan.Eggs[k]
		part := of(p.Book.Birds[x.Female].Location)
		part.Eggs = append(part.Eggs, x)
	}
	for k := range plan.Unpaired {
		x := &plan.Unpaired[k]
		part := of(p.Book.Birds[x.Bird].Location)
		part.Alone = append(part.Alone, x)
	}
	for _, m := range all {
		from, to := of(m.Moves[0].From), of(m.Moves[0].To)
		from.Out, to.In = append(from.Out, m), append(to.In, m)
	}
	for _, m := range list.Young {
		from, to := of(m.Moves[0].From), of(m.Moves[0].To)
		from.YoungOut, to.YoungIn = append(from.YoungOut, m), append(to.YoungIn, m)
	}
	return parts, nil
}
