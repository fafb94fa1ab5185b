package pattern

import (
	"math"

	"secondcut/geometry"
)

// Turned returns the piece turned by an angle in radians, counter-clockwise, and
// moved so that the outline's lower left bounds are the origin again. Marks, unsure
// stretches, grain and the map from the photo go with it.
func (p Piece) Turned(by float64) Piece {
	r := geometry.Rigid{Turn: by}
	lo, _ := p.Knots.Map(r.Apply).Flatten(1e-3).Bounds()
	r.Move = geometry.Point{X: -lo.X, Y: -lo.Y}
	deg := by * 180 / math.Pi

	out := p
	out.Knots = p.Knots.Map(r.Apply)
	out.PlaneToPiece = p.PlaneToPiece.Then(r)
	out.PlaneToPiece.Turn = math.Remainder(out.PlaneToPiece.Turn, 2*math.Pi)
	out.Holes = nil
	for _, h := range p.Holes {
		out.Holes = append(out.Holes, h.Map(r.Apply))
	}
	out.Unsure = nil
	for _, s := range p.Unsure {
		s.From, s.To = r.Apply(s.From), r.Apply(s.To)
		out.Unsure = append(out.Unsure, s)
	}
	if p.Grain != nil {
		out.Grain = &geometry.Grain{Deg: halfTurn(p.Grain.Deg + deg), Sure: p.Grain.Sure}
	}
	out.Marks = nil
	for _, m := range p.Marks {
		from := m.Points
		m.Points = nil
		for _, q := range from {
			m.Points = append(m.Points, r.Apply(q))
		}
		if m.Deg != nil {
			d := halfTurn(*m.Deg + deg)
			m.Deg = &d
		}
		out.Marks = append(out.Marks, m)
	}
	return out
}
