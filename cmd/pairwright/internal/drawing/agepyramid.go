package drawing

import (
	"fmt"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/svg"
)

// Ages are the birds living in a population by sex and completed years of age.
type Ages struct {
	Of                      string // the population as a sentence begins with it: "The programme"
	AsOf                    string // the day
	Females, Males, Unsexed []int  // birds of age 0, 1, 2 and so on
	AgeUnknown              int    // birds whose age is not known
}

// mostAgeClasses is how many rows an age pyramid has at most.
const mostAgeClasses = 16

// AgePyramidFigure draws the birds by age, the youngest at the foot: females to
// the left, males to the right, and birds of unknown sex apart, all on one
// scale. Ages are put together to classes of 1, 2, 5 or 10 years and so on, so
// that there are 16 at most. Where no bird has a known age there is no figure
// but a sentence that says so.
func AgePyramidFigure(a Ages) (f *document.Figure, why string) {
	classes := a.classes()
	total := 0
	for _, c := range classes {
		total += c.birds[0] + c.birds[1] + c.birds[2]
	}
	if total == 0 {
		if a.AgeUnknown > 0 {
			return nil, fmt.Sprintf("There is no age pyramid: the age of %s is not known.", document.FormatThings(a.AgeUnknown, "the one bird", "birds"))
		}
		return nil, "There is no age pyramid: no birds."
	}
	caption := document.Clean(a.Of) + " by age and sex, " + document.Clean(a.AsOf) + ": " + document.FormatThings(total, "bird", "birds") + " of known age"
	if a.AgeUnknown > 0 {
		caption += "; " + document.FormatCount(a.AgeUnknown) + " more of unknown age not drawn"
	}
	return &document.Figure{SVG: drawPyramid(classes), Alt: pyramidWords(classes), Caption: caption + "."}, ""
}

// ageClass is a row of the pyramid.
type ageClass struct {
	name  string
	birds [3]int // females, males, unsexed
}

func (a Ages) classes() []ageClass {
	sexes := [3][]int{a.Females, a.Males, a.Unsexed}
	oldest := 0
	for _, s := range sexes {
		for age, n := range s {
			if n > 0 {
				oldest = max(oldest, age)
			}
		}
	}
	width := int(niceStep(float64(oldest+1)/mostAgeClasses, 1))
	classes := make([]ageClass, oldest/width+1)
	for i := range classes {
		classes[i].name = fmt.Sprintf("%d", i*width)
		if width > 1 {
			classes[i].name += fmt.Sprintf("–%d", (i+1)*width-1)
		}
	}
	for k, s := range sexes {
		for age, n := range s {
			if n > 0 {
				classes[age/width].birds[k] += n
			}
		}
	}
	return classes
}

func sexTotals(classes []ageClass) (sum [3]int) {
	for _, c := range classes {
		for k, n := range c.birds {
			sum[k] += n
		}
	}
	return sum
}

func drawPyramid(classes []ageClass) string {
	const (
		row, bar   = 20.0, 14.0
		head, foot = 44.0, 12.0
		middle     = 76.0 // for the ages, between the two sides
		count      = 34.0 // for the number at the end of a bar
	)
	sums := sexTotals(classes)
	var most [3]float64
	for _, c := range classes {
		for k, n := range c.birds {
			most[k] = max(most[k], float64(n))
		}
	}
	// A side without birds has room for its heading all the same.
	side := max(most[0], most[1], 0.4*most[2], 1)
	span, apart := 2*side, 0.0
	if sums[2] > 0 {
		span += max(most[2], side*0.45)
		apart = 24 + count
	}
	scale := (chartWidth - 2*count - middle - apart - 16) / span
	height := head + float64(len(classes))*row + foot
	left := 8 + count + side*scale // where the bars of females begin
	begin := [3]float64{left, left + middle, left + middle + side*scale + apart}

	c := svg.New(chartWidth, height)
	headings := [3]string{"Females", "Males", "Sex unknown"}
	anchor := [3]svg.Anchor{svg.End, svg.Start, svg.Start}
	fill := [3]string{svg.Light, svg.Quiet, svg.Paper}
	for k, name := range headings {
		if k == 2 && sums[2] == 0 {
			continue
		}
		c.TextAt(title.Strong().To(anchor[k]), svg.Point{X: begin[k], Y: 14}, name)
		c.TextAt(quiet.To(anchor[k]), svg.Point{X: begin[k], Y: 30}, document.FormatThings(sums[k], "bird", "birds"))
	}
	c.TextAt(quiet.To(svg.Middle), svg.Point{X: left + middle/2, Y: 30}, "age, years")
	for i, class := range classes {
		y := height - foot - (float64(i)+0.5)*row
		c.TextAt(note.To(svg.Middle), svg.Point{X: left + middle/2, Y: y}, class.name)
		for k, n := range class.birds {
			if n == 0 {
				continue
			}
			direction := 1.0
			if k == 0 {
				direction = -1
			}
			end := begin[k] + direction*float64(n)*scale
			c.Rect(fill[k], svg.Stroke{Colour: svg.Ink, Width: 0.8}, svg.Box{X0: min(begin[k], end), Y0: y - bar/2, X1: max(begin[k], end), Y1: y + bar/2})
			c.TextAt(note.To(anchor[k]), svg.Point{X: end + 5*direction, Y: y}, document.FormatCount(n))
		}
	}
	for k, x := range begin {
		if k < 2 || sums[2] > 0 {
			c.Line(axisLine, svg.Point{X: x, Y: head - 2}, svg.Point{X: x, Y: height - foot})
		}
	}
	return c.String()
}

func pyramidWords(classes []ageClass) string {
	sums := sexTotals(classes)
	var b strings.Builder
	line := func(name string, n [3]int) {
		var parts []string
		for k, s := range [2][2]string{{"female", "females"}, {"male", "males"}} {
			parts = append(parts, document.FormatThings(n[k], s[0], s[1]))
		}
		if sums[2] > 0 {
			unsexed := "none"
			if n[2] > 0 {
				unsexed = document.FormatCount(n[2])
			}
			parts = append(parts, unsexed+" of unknown sex")
		}
		b.WriteString(name + ": " + document.FormatList(parts, 0) + "\n")
	}
	line("All ages", sums)
	for _, c := range classes {
		if c.birds != [3]int{} {
			line("Age "+c.name, c.birds)
		}
	}
	return b.String()
}
