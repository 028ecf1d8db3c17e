package review

import (
	"cmp"
	"context"
	"slices"

	"pairwright/pairing"
	"pairwright/pedigree/demography"
	"pairwright/pedigree/studbook"
)

// Advice is what was to be done on a day, by the ids of the birds.
type Advice struct {
	On     studbook.Day
	Moves  []AdvisedMove
	Broods []AdvisedBrood
	// Said is what people have decided since on birds of the colony, by day.
	Said []*studbook.Ruling
}

// AdvisedMove is a bird that was to move.
type AdvisedMove struct{ Bird, From, To string }

// AdvisedBrood is a pair, bonded or to be bonded, and what it was to hatch.
type AdvisedBrood struct {
	Female, Male string
	New          bool    // the two were not bonded
	Elsewhere    bool    // it was to live at another place, which plans its chicks, or to be parted
	Reserve      bool    // it was to keep its eggs until others were candled
	Most         int     // chicks it might hatch; 0 if its eggs were to be replaced
	Expected     float64 // chicks to be expected of it then
}

// Outcome says what became of something advised.
type Outcome string

// What became of it.
const (
	Done      Outcome = "done"
	NotDone   Outcome = "not done"
	Otherwise Outcome = "otherwise" // something else was done in its place
	Prevented Outcome = "prevented" // a bird of it died or left
	Untold    Outcome = "untold"    // the files do not say
	LaidNone  Outcome = "laid none" // a pair that was together, with no clutch on record
	Refused   Outcome = "declined"  // by a person
	Waits     Outcome = "waiting"   // for a person
)

// TaskKind names the things that are advised.
type TaskKind string

// The things that are advised.
const (
	MoveBird    TaskKind = "move"
	BondPair    TaskKind = "bond"
	HatchChicks TaskKind = "hatch"
	ReplaceEggs TaskKind = "replace eggs"

	// Of this year's decisions alone.
	FindMates    TaskKind = "find mates"    // from outside: no two birds of the programme can breed
	RenewRuling  TaskKind = "renew"         // or cancel what was agreed on and has not come about
	FindFounders TaskKind = "find founders" // without new ones the goal of gene diversity is out of reach
	SettleEggs   TaskKind = "settle eggs"   // what becomes of eggs that one plan wants and another does not
	CandleEggs   TaskKind = "candle"
	FosterEggs   TaskKind = "foster"
	PartPair     TaskKind = "part"
	ExaminePair  TaskKind = "examine"
	SexBird      TaskKind = "sex"
	PlaceYoung   TaskKind = "place"
	TestParent   TaskKind = "test"
	// RecordParent: DNA has found a parent that the studbook does not have.
	RecordParent TaskKind = "record parent"
	// RecordKinship: DNA has found two founders to be kin, which is not on record.
	RecordKinship TaskKind = "record kinship"
)

// Result is one thing that was advised and what became of it.
type Result struct {
	What     TaskKind
	Said     *studbook.Ruling // what a person decided; nil of what was advised
	Birds    []*studbook.Bird // the bird that was to move; the female and the male
	To       string           // where it was to move
	Most     int              // HatchChicks: how many
	Reserve  bool             // HatchChicks: if others failed
	Expected float64          // HatchChicks
	Became   Outcome
	On       studbook.Date    // Done: since when, where it is known
	Instead  []*studbook.Bird // Otherwise: the mates that the two have now; of a move none
	At       string           // Otherwise, of a move: where the bird lives now
	Hatched  int              // HatchChicks and ReplaceEggs: chicks hatched since; -1 where Untold
	Replaced bool             // HatchChicks: its eggs were replaced all the same, though some were fertile or nobody candled them
}

// LastYear is what was advised a year ago and what became of it.
type LastYear struct {
	On      studbook.Day
	Results []Result
	Calibration
	Deaths *Deaths // nil where that cannot be told
}

// Calibration holds the chicks that were to be expected of the planned pairs
// against those that hatched, where the pair was formed and kept its eggs. Reserves are
// no part of it: whether they keep theirs hangs on what others hatch. Low and High
// are the exact interval of the mean of a count of Hatched (Garwood 1936) at
// demography.Level: an expectation outside of it was wrong, and not by chance. Of
// broods, which vary less than counts without a limit, it is somewhat wide.
type Calibration struct {
	Pairs     int
	Expected  float64
	Hatched   int
	Low, High float64
}

// Trusted reports whether what hatched is what was to be expected, but for
// chance.
func (c *Calibration) Trusted() bool { return c.Low <= c.Expected && c.Expected <= c.High }

// Vague reports whether what hatched would go with half and with twice of what was to be
// expected too, and so tells little.
func (c *Calibration) Vague() bool { return c.Low <= c.Expected/2 && 2*c.Expected <= c.High }

// Deaths holds the deaths that were to be expected within a year of the birds of the
// programme, by the survival on record at its beginning (demography.Need), against those
// that came; Low and High as in Calibration.
type Deaths struct {
	Living    int // at its beginning
	Expected  float64
	Died      int
	Low, High float64
}

// Trusted reports whether as many died as were to be expected, but for chance.
func (d *Deaths) Trusted() bool { return d.Low <= d.Expected && d.Expected <= d.High }

// NewDeaths compares the deaths since an earlier day; nil where that is no year ago,
// where chicks were hatching then, or the survival was not known.
func NewDeaths(p, then *pairing.Programme) *Deaths {
	n := then.Need("", true)
	if yearBefore(p.Book.AsOf) != then.Book.AsOf || n.Living == 0 || n.Aside > 0 || !n.Expected.Known {
		return nil
	}
	d := &Deaths{Living: n.Living, Expected: float64(n.Living) - n.Expected.Value}
	for _, b := range then.Book.Living {
		if now := p.Book.Bird(then.Book.Birds[b].ID); now != nil && now.Death.Known() {
			d.Died++
		}
	}
	i := demography.PoissonInterval(d.Died, demography.Level)
	d.Low, d.High = i.Low, i.High
	return d
}

// NewLastYear looks up what became of advice by the day of the programme.
func NewLastYear(p *pairing.Programme, advice *Advice) *LastYear {
	l := &LastYear{On: advice.On}
	hatched := outcomesSince(p, advice.On)
	for _, m := range advice.Moves {
		l.Results = append(l.Results, moved(p, advice.On, m))
	}
	apart := map[[2]string]bool{} // both live, and were not brought together
	for _, b := range advice.Broods {
		if b.New {
			r := bonded(p, &b)
			l.Results = append(l.Results, r)
			apart[[2]string{b.Female, b.Male}] = r.Became == NotDone || r.Became == Otherwise
		}
	}
	for _, b := range advice.Broods {
		if b.Elsewhere {
			continue
		}
		r := hatch(p, hatched, &b)
		if r.What == HatchChicks && r.Hatched >= 0 && !r.Reserve && !r.Replaced && !apart[[2]string{b.Female, b.Male}] {
			l.Pairs++
			l.Expected += b.Expected
			l.Hatched += r.Hatched
		}
		l.Results = append(l.Results, r)
	}
	for _, u := range advice.Said {
		l.Results = append(l.Results, ruled(p, hatched, u))
	}
	if l.Pairs > 0 {
		i := demography.PoissonInterval(l.Hatched, demography.Level)
		l.Low, l.High = i.Low, i.High
	}
	return l
}

// two returns the birds with two ids; a bird whose row is gone has its id
// alone.
func two(p *pairing.Programme, ids ...string) []*studbook.Bird {
	var out []*studbook.Bird
	for _, id := range ids {
		b := p.Book.Bird(id)
		if b == nil {
			b = &studbook.Bird{ID: id}
		}
		out = append(out, b)
	}
	return out
}

// gone reports whether a bird is dead, or has left the programme.
func gone(p *pairing.Programme, id string) bool {
	b, ok := p.Book.Index(id)
	return !ok || !p.Book.Alive(b)
}

// ruled says what became of a person's decision. The chicks of pairs that a person
// let hatch are no part of the calibration: nothing was expected of them.
func ruled(p *pairing.Programme, hatched map[[2]string]outcome, u *studbook.Ruling) Result {
	female, male := u.Birds[0], u.Birds[len(u.Birds)-1]
	if b := p.Book.Bird(female); b != nil && b.Sex == studbook.Male {
		female, male = male, female
	}
	var r Result
	switch u.What {
	case studbook.RulesMove:
		r = moved(p, u.Date.First-1, AdvisedMove{u.Birds[0], "", u.To})
		if r.Became == Otherwise {
			r.Became, r.At = NotDone, ""
		}
	case studbook.RulesBond:
		r = bonded(p, &AdvisedBrood{Female: female, Male: male})
	case studbook.RulesPart:
		r = Result{What: PartPair, Birds: two(p, female, male), Became: Done, Hatched: -1}
		if slices.Contains(p.Book.Mates(female), male) {
			r.Became = NotDone
		}
	default:
		r = hatch(p, hatched, &AdvisedBrood{Female: female, Male: male, Most: p.Settings().ChicksPerPair})
	}
	switch r.Said = u; u.Answer {
	case studbook.Declined:
		r.Became, r.On, r.Hatched = Refused, studbook.Date{}, -1
	case studbook.Waiting:
		r.Became, r.On, r.Hatched = Waits, studbook.Date{}, -1
	}
	return r
}

// rulingsSince returns what people decided after a day on birds that lived at a
// colony then or live there now, or are to come to it, by day.
func rulingsSince(p, then *pairing.Programme, colony string) []*studbook.Ruling {
	var out []*studbook.Ruling
	for k := range p.Book.Rulings {
		u := &p.Book.Rulings[k]
		here := u.To == colony || slices.ContainsFunc(u.Birds, func(id string) bool {
			now, before := p.Book.Bird(id), then.Book.Bird(id)
			return now != nil && now.Location == colony || before != nil && before.Location == colony
		})
		if here && u.Date.Mid() > then.Book.AsOf {
			out = append(out, u)
		}
	}
	slices.SortStableFunc(out, func(a, b *studbook.Ruling) int { return cmp.Compare(a.Date.Mid(), b.Date.Mid()) })
	return out
}

func moved(p *pairing.Programme, since studbook.Day, m AdvisedMove) Result {
	r := Result{What: MoveBird, Birds: two(p, m.Bird), To: m.To}
	at := r.Birds[0].Location
	for _, x := range p.Book.Colony.Moves {
		if x.ID == m.Bird && x.To == m.To && x.Date.Last > since && x.Date.OnOrBefore(p.Book.AsOf) {
			r.Became, r.On = Done, x.Date
			return r
		}
	}
	switch {
	case at == m.To:
		r.Became = Done
	case gone(p, m.Bird):
		r.Became = Prevented
	case at == m.From:
		r.Became = NotDone
	default:
		r.Became, r.At = Otherwise, at
	}
	return r
}

func bonded(p *pairing.Programme, b *AdvisedBrood) Result {
	r := Result{What: BondPair, Birds: two(p, b.Female, b.Male)}
	for _, x := range p.Book.Bonds {
		if x.Female == b.Female && x.Male == b.Male && !x.Until.OnOrBefore(p.Book.AsOf) {
			r.Became, r.On = Done, x.Since
			return r
		}
	}
	if gone(p, b.Female) || gone(p, b.Male) {
		r.Became = Prevented
		return r
	}
	r.Became = NotDone
	for _, id := range []string{b.Female, b.Male} {
		r.Instead = append(r.Instead, two(p, p.Book.Mates(id)...)...)
	}
	if len(r.Instead) > 0 {
		r.Became = Otherwise
	}
	return r
}

func hatch(p *pairing.Programme, hatched map[[2]string]outcome, b *AdvisedBrood) Result {
	r := Result{What: HatchChicks, Birds: two(p, b.Female, b.Male), Most: b.Most, Reserve: b.Reserve, Expected: b.Expected}
	out, told := hatched[[2]string{b.Female, b.Male}]
	n := out.chicks
	r.Hatched = n
	if b.Most == 0 {
		switch r.What, r.Became = ReplaceEggs, Done; {
		case n > 0:
			r.Became = NotDone
		case out.untold:
			r.Became, r.Hatched = Untold, -1
		case out.left: // whatever became of them
			r.Became = NotDone
		case !told: // there were none to replace, as far as anybody wrote down
			r.Became = LaidNone
		}
		return r
	}
	switch r.Replaced = n == 0 && out.replaced; {
	case n > b.Most, r.Replaced && !b.Reserve:
		r.Became = Otherwise
	case n == 0 && out.untold:
		r.Became, r.Hatched = Untold, -1
	case n > 0 || told:
		r.Became = Done
	case gone(p, b.Female) || gone(p, b.Male):
		r.Became = Prevented
	case !p.Book.Colony.HasFile("clutches.csv") && len(p.Book.Bonds) == 0:
		r.Became, r.Hatched = Untold, -1
	default:
		r.Became = NotDone
		if slices.Contains(p.Book.Mates(b.Female), b.Male) {
			r.Became = LaidNone
		}
	}
	return r
}

// outcome is what became of the eggs of a pair.
type outcome struct {
	chicks   int
	replaced bool // the eggs of a clutch were, and no candling had found all infertile
	left     bool // eggs of a clutch were left to the pair, and died
	untold   bool // nothing says what became of a clutch, or it may still lie there
}

// outcomesSince returns what became of the eggs of each pair after a day, for every
// pair with a clutch or a chick of then: as many chicks as its clutches say or as the
// studbook has that are theirs for certain, whichever are more.
func outcomesSince(p *pairing.Programme, since studbook.Day) map[[2]string]outcome {
	out, rows := map[[2]string]outcome{}, map[[2]string]int{}
	for i := range p.Book.Clutches {
		c := &p.Book.Clutches[i]
		if c.Laid.Known() && c.Laid.Mid() > since {
			x := out[[2]string{c.Female, c.Male}]
			x.chicks += max(0, c.Hatched)
			var record pairing.Broods
			record.Add(c, p.Book.AsOf)
			x.replaced = x.replaced || c.Replaced && record.Dummied > 0
			x.left = x.left || record.Lost > 0
			// A row of eggs alone tells nothing while somebody may still write down the rest.
			x.untold = x.untold || !c.Replaced && record.Dummied+record.Sitting+record.Untold > 0
			out[[2]string{c.Female, c.Male}] = x
		}
	}
	for i := range p.Book.Birds {
		b := &p.Book.Birds[i]
		sire, known := b.Sire.Known()
		dam, too := b.Dam.Known()
		if known && too && b.Hatch.Known() && b.Hatch.Mid() > since {
			rows[[2]string{dam, sire}]++
		}
	}
	for pair, n := range rows {
		x := out[pair]
		x.chicks = max(x.chicks, n)
		out[pair] = x
	}
	return out
}

// laidAtRest reports whether a pair that was to rest by an earlier plan has laid since.
func laidAtRest(p, then *pairing.Programme, plan *pairing.Plan) bool {
	return slices.ContainsFunc(p.Book.Clutches, func(c studbook.Clutch) bool {
		return c.Laid.Known() && c.Laid.Mid() > then.Book.AsOf && slices.ContainsFunc(plan.Pairs, func(x pairing.PlannedPair) bool {
			return x.Role == pairing.Rest && len(x.Barred) == 0 && then.Book.Birds[x.Female].ID == c.Female && then.Book.Birds[x.Male].ID == c.Male
		})
	})
}

// AdviceOf returns what the season's decision was for a colony on the day of an earlier
// programme, with the files as they were known then; nil where the colony had no bird.
func AdviceOf(ctx context.Context, p, then *pairing.Programme, colony string) (*Advice, error) {
	if len(then.Book.LivingAt(colony)) == 0 {
		return nil, nil
	}
	d, err := then.Decide(ctx, pairing.DecisionOptions{PairsAlone: true})
	if err != nil {
		return nil, err
	}
	chicks, _ := then.ChicksNeeded(colony, false)
	plan, err := d.Plan(ctx, pairing.PlanOptions{Place: colony, Chicks: chicks, PairsAlone: true})
	if err != nil {
		return nil, err
	}
	if laidAtRest(p, then, plan) {
		if err := plan.Compare(ctx); err != nil {
			return nil, err
		}
	}
	a := &Advice{On: then.Book.AsOf, Said: rulingsSince(p, then, colony)}
	id := func(b int) string { return then.Book.Birds[b].ID }
	for _, x := range d.Bonds {
		if m := x.Move; m != nil && (m.From == colony || m.To == colony) {
			a.Moves = append(a.Moves, AdvisedMove{id(m.Bird), m.From, m.To})
		}
	}
	for _, x := range plan.Pairs {
		_, occupied := x.Occupied()
		if x.HatchUpTo == 0 && (x.ToExamine() || x.Disputed() || occupied) {
			continue // no egg was to be replaced before the pair was examined, or people had settled it
		}
		a.Broods = append(a.Broods, AdvisedBrood{
			Female: id(x.Female), Male: id(x.Male), New: x.Kind == pairing.BondNew, Elsewhere: x.Role == "",
			Reserve: x.Role == pairing.Reserve, Most: x.HatchUpTo, Expected: x.Expected,
		})
	}
	slices.SortStableFunc(a.Broods, func(x, y AdvisedBrood) int {
		return cmp.Or(cmp.Compare(x.Female, y.Female), cmp.Compare(x.Male, y.Male))
	})
	return a, nil
}
