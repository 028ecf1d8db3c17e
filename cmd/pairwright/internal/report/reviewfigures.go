package report

import (
	"math"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/drawing"
	"pairwright/pairing"
	"pairwright/pairing/review"
	"pairwright/pedigree/demography"
)

// This file turns the values of a review into what the drawings are made from.

// drawn is a figure as a block, or the sentence that says why there is none.
func drawn(f *document.Figure, why string) document.Block {
	if f == nil {
		return document.Paragraph(why)
	}
	return f
}

// pictureOf draws some things; nil where they are too few to need a picture.
func (b *reviewBuilder) pictureOf(things int, draw func() document.Block) document.Block {
	if things < 2 {
		return nil
	}
	return draw()
}

func (b *reviewBuilder) ofColony() string {
	if b.r.Colony == "" {
		return "The programme"
	}
	return "The colony at " + b.p.Place(b.r.Colony)
}

func (b *reviewBuilder) agePyramid() document.Block {
	a := b.r.Numbers.Colony.Ages
	in := drawing.Ages{Of: b.ofColony(), AsOf: document.FormatDay(b.p.Book.AsOf), AgeUnknown: a.Unknown.Total()}
	for _, c := range a.Classes {
		in.Females, in.Males, in.Unsexed = append(in.Females, c.Females), append(in.Males, c.Males), append(in.Unsexed, c.Unsexed)
	}
	return drawn(drawing.AgePyramidFigure(in))
}

// projectedYears is how far a history is drawn on at the present rate.
const projectedYears = 100

func (b *reviewBuilder) diversityFigure() document.Block {
	in := drawing.DiversityHistory{Low: true, Of: "The programme", Goal: b.r.Outlook.Goal}
	for _, y := range b.r.History {
		year := y.Day.Time().Year()
		in.Years = append(in.Years, drawing.YearValue{Year: year, Value: nan(y.Programme.GeneDiversity)})
		in.WithoutFounders = append(in.WithoutFounders, drawing.YearValue{Year: year, Value: nan(y.Programme.WithoutFounders)})
	}
	o := b.r.Outlook
	if f := o.Forecast; f != nil && o.Missed == 0 {
		now := b.p.Book.AsOf.Time().Year()
		until := min(o.Years, projectedYears)
		if f.Held.Known {
			if lost := int(math.Floor(f.Held.Value)) + 1; lost <= until {
				in.GoalLost = now + lost
			}
		}
		for ahead := 0; ahead <= until; ahead++ {
			gd, _ := f.After(o.Now.Value, float64(ahead), review.RangeLevel)
			in.Projection = append(in.Projection, drawing.YearValue{Year: now + ahead, Value: gd})
		}
	}
	return drawn(drawing.DiversityFigure(in))
}

func (b *reviewBuilder) foundersFigure() document.Block {
	in := drawing.Founders{Of: "The programme"}
	for k := range b.r.Founders {
		f := &b.r.Founders[k]
		x := drawing.FounderShare{ID: b.p.Pedigree.Name(f.Node), Contribution: f.Contribution, Retention: f.Retention.Value, Living: f.Alive, Endangered: f.AboutToBeLost()}
		if f.Bird >= 0 {
			x.Name = b.p.Book.Birds[f.Bird].Name
		}
		in.Founders = append(in.Founders, x)
	}
	return drawn(drawing.FoundersFigure(in))
}

func (b *reviewBuilder) meanKinshipFigure() document.Block {
	mean, _ := b.p.Living.MeanKinship()
	in := drawing.KinshipSpread{Mean: mean}
	for _, row := range b.r.All {
		in.All = append(in.All, row.MeanKinship)
	}
	for _, x := range b.r.Birds {
		bird := &b.p.Book.Birds[x.Bird]
		in.Home = append(in.Home, drawing.KinBird{ID: bird.ID, Name: bird.Name, Sex: bird.Sex, MeanKinship: x.MeanKinship})
	}
	return drawn(drawing.MeanKinshipFigure(in))
}

func (b *reviewBuilder) survivalFigure() document.Block {
	of := "The programme"
	if b.r.Numbers.OwnSurvival {
		of = b.ofColony()
	}
	return drawn(drawing.SurvivalFigure(of, []drawing.SurvivalCurve{survivalCurve("all birds", &b.r.Numbers.Survival)}))
}

func survivalCurve(name string, c *demography.Curve) drawing.SurvivalCurve {
	out := drawing.SurvivalCurve{Name: name, Censored: c.Censored, Last: c.Last, Median: nan(c.Median().Age), Birds: c.Birds, Deaths: c.Deaths}
	for _, s := range c.Steps {
		step := drawing.SurvivalStep{Age: s.Age, Survival: s.Survival, Low: math.NaN(), High: math.NaN()}
		if s.SE.Known {
			step.Low, step.High = s.Interval.Low, s.Interval.High
		}
		out.Steps = append(out.Steps, step)
	}
	for age := 0.0; age <= c.Last; age++ {
		out.AtRisk = append(out.AtRisk, c.AtRisk(age))
	}
	return out
}

// kinshipMap draws the kinship of every two birds of the colony.
func (b *reviewBuilder) kinshipMap() document.Block {
	in := drawing.KinshipMap{Of: b.ofColony(), Kinship: b.r.Kinship}
	place := map[int]int{}
	for k, x := range b.r.Birds {
		bird := &b.p.Book.Birds[x.Bird]
		place[x.Bird] = k
		in.Birds = append(in.Birds, drawing.MapBird{ID: bird.ID, Name: bird.Name, Link: anchor(bird.ID)})
	}
	for _, x := range b.r.Pairs {
		f, here := place[x.Female]
		m, too := place[x.Male]
		if here && too && x.Kind == pairing.BondKept {
			in.Pairs = append(in.Pairs, [2]int{f, m})
		}
	}
	return drawn(drawing.KinshipMapFigure(in))
}

// pedigreeFigures draws the pedigree of the colony.
func (b *reviewBuilder) pedigreeFigures() []document.Block {
	in := drawing.ColonyPedigree{Of: b.ofColony()}
	home := map[int]bool{}
	for _, x := range b.r.Birds {
		home[x.Bird] = true
	}
	for k := range b.p.Book.Birds {
		bird := &b.p.Book.Birds[k]
		x := drawing.PedigreeBird{ID: bird.ID, Name: bird.Name, Sex: bird.Sex, Dead: !b.p.Book.Alive(k), Home: home[k], Inbreeding: b.p.Pedigree.F(b.p.Node(k))}
		x.Sire, _ = bird.Sire.Known()
		x.Dam, _ = bird.Dam.Known()
		if home[k] {
			x.Link = anchor(bird.ID)
		}
		in.Birds = append(in.Birds, x)
	}
	for _, x := range b.r.Pairs {
		if x.Kind == pairing.BondKept {
			in.Pairs = append(in.Pairs, drawing.PedigreePair{A: b.p.Book.Birds[x.Female].ID, B: b.p.Book.Birds[x.Male].ID, Kin: x.Kinship > 0})
		}
	}
	figures, why := drawing.ColonyPedigreeFigures(in)
	if why != "" {
		return []document.Block{document.Paragraph(why)}
	}
	var blocks []document.Block
	for _, f := range figures {
		blocks = append(blocks, f)
	}
	return blocks
}
