package drawing

import (
	"pairwright/cmd/pairwright/internal/svg"
	"pairwright/pedigree/studbook"
)

// symbol draws a bird in the symbols of Bennett et al. 2008 (J Genet Couns
// 17:424–433): a square is a male, a circle a female, a diamond a bird of
// unknown sex; r is half its width.
func symbol(s *svg.Sheet, sex studbook.Sex, fill string, k svg.Stroke, p svg.Point, r float64) {
	switch sex {
	case studbook.Male:
		s.Rect(fill, k, svg.Around(p, r))
	case studbook.Female:
		s.Circle(fill, k, p, r)
	default:
		s.Polygon(fill, k, svg.Point{X: p.X, Y: p.Y - r}, svg.Point{X: p.X + r, Y: p.Y}, svg.Point{X: p.X, Y: p.Y + r}, svg.Point{X: p.X - r, Y: p.Y})
	}
}

// strike marks a dead bird.
func strike(s *svg.Sheet, k svg.Stroke, p svg.Point, r float64) {
	s.Line(k, svg.Point{X: p.X - r - 3, Y: p.Y + r + 3}, svg.Point{X: p.X + r + 3, Y: p.Y - r - 3})
}
