package contract

import (
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing/board"
	"pairwright/pedigree/studbook"
)

// BoardAnswer is the answer of the colony command.
type BoardAnswer struct {
	AsOf      string         `json:"as_of"`
	Colony    *string        `json:"colony"`
	Season    int            `json:"season"`
	AtAGlance []GlanceAnswer `json:"at_a_glance"`
	Tasks     []BoardTask    `json:"tasks"`
	Nests     []BoardNest    `json:"nests"`
	Birds     []BoardBird    `json:"birds"` // in no nest
	Holds     []BoardHold    `json:"holds"`
}

// BoardTask is one thing to do.
type BoardTask struct {
	Due      *string  `json:"due"`
	ThisWeek bool     `json:"this_week"`
	Kind     string   `json:"kind"`
	Birds    []string `json:"birds"`
	Nest     *string  `json:"nest"`
	From     *string  `json:"from"`
	To       *string  `json:"to"`
	LeavesBy *string  `json:"leaves_by"` // of a move
	What     string   `json:"what"`
	Why      string   `json:"why"`
	Begin    *string  `json:"begin"` // from when it is to be done, where that is long before due
	Undoing
}

// BoardNest is a pair that lives together.
type BoardNest struct {
	Nest      *string   `json:"nest"`
	Female    string    `json:"female"`
	Male      string    `json:"male"`
	Since     *string   `json:"since"`
	Bond      string    `json:"bond"`
	Role      *string   `json:"role"`
	Order     *int      `json:"order"`
	HatchUpTo int       `json:"hatch_up_to"`
	Action    string    `json:"action"`
	Asks      string    `json:"asks"`
	Why       []string  `json:"why"`
	Eggs      *PlanEggs `json:"eggs"`
	Chicks    *int      `json:"chicks_in_nest"` // hatched of a clutch that has not fledged
	// What the programme's plan asks of the pair; see PlanPair.
	OtherPlanRole      *string `json:"other_plan_role"`
	OtherPlanHatchUpTo *int    `json:"other_plan_hatch_up_to"`
}

// BoardBird is a bird in no nest.
type BoardBird struct {
	ID         string   `json:"id"`
	Name       *string  `json:"name"`
	Sex        string   `json:"sex"`
	Age        *float64 `json:"age_years"`
	State      string   `json:"state"`
	StateUntil *string  `json:"state_until"`
	Mate       *string  `json:"mate"` // that it is to have
	MovesTo    *string  `json:"moves_to"`
	Next       string   `json:"next"`
}

// BoardHold is a hold in force.
type BoardHold struct {
	ID     string  `json:"id"`
	Since  *string `json:"since"`
	Until  *string `json:"until"`
	Reason string  `json:"reason"`
	Blocks string  `json:"blocks"`
	Note   *string `json:"note"`
}

// BoardJSON returns a board as other programs read it.
func BoardJSON(b *board.Board) BoardAnswer {
	p := b.Programme
	id := func(i int) string { return p.Book.Birds[i].ID }
	out := BoardAnswer{
		AsOf: p.Book.AsOf.String(), Colony: text(b.Colony), Season: b.Plan.Decision.Season.Year, AtAGlance: glancesJSON(b.Glances),
		Tasks: []BoardTask{}, Nests: []BoardNest{}, Birds: []BoardBird{}, Holds: []BoardHold{},
	}
	for k := range b.Tasks {
		t := &b.Tasks[k]
		x := BoardTask{
			Due: day(t.Due), ThisWeek: t.ThisWeek(b.Today), Kind: string(t.What), Birds: []string{}, Nest: text(t.Nest), From: text(t.From), To: text(t.To),
			Begin: day(t.Begin), What: report.TaskWhat(b.Colony, t), Why: report.TaskWhy(p, t), Undoing: undoing(p, t.Or),
		}
		for _, bird := range t.Birds {
			x.Birds = append(x.Birds, bird.ID)
		}
		if t.To != "" && t.Request == nil {
			x.LeavesBy = day(t.By)
		}
		out.Tasks = append(out.Tasks, x)
	}
	for k := range b.Nests {
		n := &b.Nests[k]
		x := BoardNest{
			Nest: text(n.Nest), Female: id(n.Female), Male: id(n.Male), Since: text(n.Since.Text), Bond: string(n.Kind), Role: text(string(n.Role)),
			Order: known(n.Order, n.Order > 0), HatchUpTo: n.HatchUpTo, Action: string(n.Action), Asks: report.NestAsks(p, n), Why: report.PairWhy(p, &n.PairReview),
		}
		x.OtherPlanRole, x.OtherPlanHatchUpTo = otherPlan(&n.PlannedPair)
		if n.Eggs != nil {
			e := eggsJSON(p, n.Eggs)
			x.Eggs = &e
		}
		if n.Brood != nil {
			x.Chicks = &n.Brood.Hatched
		}
		out.Nests = append(out.Nests, x)
	}
	for k := range b.Birds {
		x := &b.Birds[k]
		bird := &p.Book.Birds[x.Bird]
		row := BoardBird{
			ID: bird.ID, Name: text(bird.Name), Sex: bird.Sex.String(), Age: known(x.Age, x.AgeKnown), State: string(x.Standing.State), StateUntil: day(x.Standing.Until),
			Next: report.BirdNext(p, x),
		}
		if x.Bond != nil {
			row.Mate = text(id(x.Bond.Mate(x.Bird)))
			if m := x.Bond.Move; m != nil && m.Bird == x.Bird {
				row.MovesTo = text(m.To)
			}
		}
		out.Birds = append(out.Birds, row)
	}
	for k := range b.Holds {
		h := &b.Holds[k]
		out.Holds = append(out.Holds, BoardHold{h.ID, text(h.Since.Text), text(h.Until.Text), h.Reason, blockKeys[h.Blocks], text(h.Note)})
	}
	return out
}

var blockKeys = map[studbook.Block]string{studbook.BlocksBoth: "both", studbook.BlocksBreeding: "breeding", studbook.BlocksMoving: "moving"}
