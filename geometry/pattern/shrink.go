package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// Codes of the findings of drawing pieces for cloth that shrinks.
const (
	// CodeShrinkNoGrain: a piece is not drawn larger, since its grain is not known.
	CodeShrinkNoGrain = "shrink-no-grain"
	// CodeShrinkBias: a piece on the bias is drawn larger by the mean of both ways.
	CodeShrinkBias = "shrink-bias"
)

// maxShrinkPct bounds what cloth shrinks by; the most that was seen named is 10 %
// (trade pages), a third is a slip of typing (judgement).
const maxShrinkPct = 30.0

// ShrinkFactor returns by what a length is multiplied before cloth shrinks it by some
// per cent, so that it is right afterwards: 1/(1-s), not 1+s.
func ShrinkFactor(pct float64) float64 { return 1 / (1 - pct/100) }

// cloth returns the cloth that a piece is cut from first.
func (g Garment) cloth(p Piece) (Cloth, bool) {
	id := ""
	if p.Label != nil && len(p.Label.Cuts) > 0 {
		id = p.Label.Cuts[0].Cloth
	}
	for _, c := range g.Cloths {
		if c.ID == id || (id == "" && c.Use == ClothMain) {
			return c, true
		}
	}
	return Cloth{}, false
}

// enlarge draws the piece larger along and across its grain by what its cloth shrinks.
// What is stated in mm of edges stays what is sewn in the end.
func (d *Drafted) enlarge(g Garment, p Piece) {
	c, ok := g.cloth(p)
	if !ok || c.ShrinkLengthPct == 0 && c.ShrinkAcrossPct == 0 {
		return
	}
	if d.GrainDeg == nil {
		d.Findings = append(d.Findings, geometry.Finding{
			Code: CodeShrinkNoGrain, Severity: geometry.SeverityError,
			Message: fmt.Sprintf("%s is not drawn larger for cloth that shrinks, since it has no grain line.", p.Name),
			Remedy:  "Draw the grain line; or wash the cloth before it is cut.",
		})
		return
	}
	along, across := ShrinkFactor(c.ShrinkLengthPct), ShrinkFactor(c.ShrinkAcrossPct)
	if d.bias() && along != across {
		along = (along + across) / 2
		across = along
		d.Findings = append(d.Findings, geometry.Finding{
			Code: CodeShrinkBias, Severity: geometry.SeverityWarning,
			Message: fmt.Sprintf("%s lies on the bias and is drawn larger by the mean of what the cloth shrinks both ways; it will also shear a little.", p.Name),
			Remedy:  "Wash the cloth before it is cut: that is the sure way.",
		})
	}
	sin, cos := math.Sincos(*d.GrainDeg * math.Pi / 180)
	u := geometry.Vec{X: cos, Y: sin}
	d.each(func(q geometry.Point) geometry.Point {
		v := geometry.Vec(q)
		return q.Add(u.Scale((along - 1) * v.Dot(u))).Add(u.Perp().Scale((across - 1) * v.Dot(u.Perp())))
	})
	d.Shrink = &Shrink{LengthPct: c.ShrinkLengthPct, AcrossPct: c.ShrinkAcrossPct}
}

func (d *Drafted) bias() bool {
	for _, m := range d.Marks {
		if m.Kind == MarkGrain {
			return m.Bias
		}
	}
	return false
}

// each replaces every point that is drawn.
func (d *Drafted) each(f func(geometry.Point) geometry.Point) {
	d.StitchLine, d.CutLine = d.StitchLine.Map(f), d.CutLine.Map(f)
	holes := d.Holes
	d.Holes = nil
	for _, h := range holes {
		d.Holes = append(d.Holes, h.Map(f))
	}
	for i, l := range d.FoldLines {
		d.FoldLines[i].Points = mapped(l.Points, f)
	}
	for i := range d.Marks {
		m := &d.Marks[i]
		m.At = f(m.At)
		lines := m.Lines
		m.Lines = nil
		for _, l := range lines {
			m.Lines = append(m.Lines, mapped(l, f))
		}
	}
	for i := range d.Findings {
		if at := d.Findings[i].Where; at != nil {
			q := f(*at)
			d.Findings[i].Where = &q
		}
	}
}

func mapped(pts []geometry.Point, f func(geometry.Point) geometry.Point) []geometry.Point {
	out := make([]geometry.Point, len(pts))
	for i, q := range pts {
		out[i] = f(q)
	}
	return out
}

// text says on the label that the piece is drawn larger.
func (s *Shrink) text() []string {
	if s == nil {
		return nil
	}
	return []string{fmt.Sprintf("Drawn larger: the cloth shrinks %g %% along and %g %% across the grain", s.LengthPct, s.AcrossPct)}
}
