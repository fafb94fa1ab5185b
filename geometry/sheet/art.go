package sheet

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// The layers of a print. They can be switched off in PDF viewers and are groups
// in SVG.
const (
	LayerOutline export.Layer = "Cut line"
	LayerStitch  export.Layer = "Stitch line"
	LayerFold    export.Layer = "Fold lines"
	LayerUnsure  export.Layer = "Not sure here"
	LayerGrain   export.Layer = "Grain line"
	LayerMarks   export.Layer = "Marks"
	LayerText    export.Layer = "Text"
	LayerJoin    export.Layer = "Sheet joins"
	LayerCheck   export.Layer = "Squares and bars"
)

// The colours of lines beside black: a dark blue and a dark orange, which people
// who see few colours still tell apart (Okabe and Ito, Color Universal Design,
// darkened to print well without colour; from memory).
var (
	blue   = export.Hue{0, 84, 150}
	orange = export.Hue{176, 72, 0}
)

// Pens. Widths are of the series 0.25, 0.35, 0.5 (ISO 128, from memory). Each kind
// of line has its own width and dashes, so that no colour is needed to tell them
// apart.
var (
	cutPen    = export.Pen{Width: 0.5, Ink: export.Black}
	stitchPen = export.Pen{Width: 0.35, Ink: export.Black, Hue: blue, Dash: []float64{3, 1.5}}
	foldPen   = export.Pen{Width: 0.35, Ink: export.Black, Hue: orange, Dash: []float64{9, 1.5, 1, 1.5}}
	grainPen  = export.Pen{Width: 0.35, Ink: export.Black}
	markPen   = export.Pen{Width: 0.35, Ink: export.Black}
	notchPen  = export.Pen{Width: 0.5, Ink: export.Black}
	unsurePen = export.Pen{Width: 2.6, Ink: 0.22}
	checkPen  = export.Pen{Width: 0.25, Ink: 0.85}
	barPen    = export.Pen{Width: 0.18, Ink: export.Grey}
	joinPen   = export.Pen{Width: 0.18, Ink: export.Grey}
	stripPen  = export.Pen{Width: 0.18, Ink: export.Grey, Dash: []float64{3, 2}}
)

// art returns what is drawn of a piece except for its label and for a grain line
// that no mark gives.
func (p Piece) art() []export.Item {
	var items []export.Item
	for _, line := range p.unsureLines() {
		items = append(items, export.Lines(LayerUnsure, unsurePen, line...))
	}
	for _, f := range p.Folds {
		items = append(items, p.fold(f)...)
	}
	if len(p.Stitch) > 0 {
		items = append(items, export.Shape{Layer: LayerStitch, Contours: p.without(p.Stitch, func(Fold) bool { return true }), Pen: stitchPen})
	}
	contours := p.without(p.Outline, func(f Fold) bool { return f.OnFold })
	for _, h := range p.Holes {
		contours = append(contours, export.Contour{Knots: h})
	}
	items = append(items, export.Shape{Layer: LayerOutline, Contours: contours, Pen: cutPen})
	for _, m := range p.Marks {
		items = append(items, p.mark(m)...)
	}
	return items
}

// without returns a path without its stretches along certain folds: what lies on
// the fold of the cloth is not cut, and where a hem is folded no seam is sewn.
func (p Piece) without(path geometry.Path, folds func(Fold) bool) []export.Contour {
	return runs(path, func(s geometry.Segment) bool { return !p.along(s, folds) })
}

// runs returns the stretches of a path that are kept, as open contours, or the
// whole path when all are.
func runs(path geometry.Path, keep func(geometry.Segment) bool) []export.Contour {
	n := len(path)
	kept := make([]bool, n)
	first, all := -1, true // the first of a run that is kept
	for i := range path {
		kept[i] = keep(path.Segment(i))
		all = all && kept[i]
	}
	if all {
		return []export.Contour{{Knots: path}}
	}
	for i := range path {
		if kept[i] && !kept[(i+n-1)%n] {
			first = i
		}
	}
	var out []export.Contour
	for j := range path {
		i := (first + j) % n
		if first < 0 || !kept[i] {
			continue
		}
		if j == 0 || !kept[(i+n-1)%n] {
			out = append(out, export.Contour{Knots: geometry.Path{path[i]}, Open: true})
		}
		last := &out[len(out)-1]
		last.Knots = append(last.Knots, path[(i+1)%n])
	}
	return out
}

// along reports whether a stretch of a path lies along one of certain folds. The
// fold of the cloth goes on beyond the edge, through allowances and hems.
func (p Piece) along(s geometry.Segment, folds func(Fold) bool) bool {
	const near = 0.1 // mm
	for _, f := range p.Folds {
		n := len(f.Points)
		if !folds(f) || n < 2 {
			continue
		}
		far := func(q geometry.Point) float64 { return distance(f.Points, q) }
		if f.OnFold {
			u := f.Points[n-1].Sub(f.Points[0]).Unit()
			far = func(q geometry.Point) float64 { return math.Abs(u.Cross(q.Sub(f.Points[0]))) }
		}
		if far(s.A) < near && far(s.D) < near && far(s.At(0.5)) < near {
			return true
		}
	}
	return false
}

// distance returns how far a point lies from an open line.
func distance(line geometry.Polyline, q geometry.Point) float64 {
	best := math.Inf(1)
	for i := 1; i < len(line); i++ {
		u := line[i].Sub(line[i-1])
		along := math.Min(math.Max(q.Sub(line[i-1]).Dot(u.Unit()), 0), u.Len())
		best = math.Min(best, q.Dist(line[i-1].Add(u.Unit().Scale(along))))
	}
	return best
}

// unsureLines returns the stretches that the photo did not show well, as dense
// lines along the outline, stitch line or hole that they lie nearest to: the traced
// edge itself need be none of these in a draft.
func (p Piece) unsureLines() []geometry.Polyline {
	if len(p.Unsure) == 0 {
		return nil
	}
	var out []geometry.Polyline
	rings := p.rings()
	if len(p.Stitch) > 0 {
		rings = append(rings, p.Stitch.Flatten(flat))
	}
	for _, s := range p.Unsure {
		ring, from := nearest(rings, s.From)
		if len(ring) == 0 {
			continue
		}
		_, to := nearest([]geometry.Polyline{ring}, s.To)
		line := geometry.Polyline{from.on(ring)}
		for i := from.after; ; i = (i + 1) % len(ring) {
			if i == to.after && !(from.after == to.after && to.along < from.along) {
				break
			}
			line = append(line, ring[i])
			if len(line) > len(ring)+1 {
				break
			}
			from.along = math.Inf(-1)
		}
		out = append(out, append(line, to.on(ring)))
	}
	return out
}

// foot is the nearest place on a ring: on the side that ends at vertex after,
// at a distance along that side.
type foot struct {
	after int
	along float64
}

// on returns the place itself.
func (f foot) on(ring geometry.Polyline) geometry.Point {
	b := ring[f.after]
	a := ring[(f.after+len(ring)-1)%len(ring)]
	return a.Add(b.Sub(a).Unit().Scale(f.along))
}

// nearest returns the ring that passes closest to q, and where.
func nearest(rings []geometry.Polyline, q geometry.Point) (geometry.Polyline, foot) {
	best := math.Inf(1)
	var ring geometry.Polyline
	var at foot
	for _, r := range rings {
		for i, a := range r {
			j := (i + 1) % len(r)
			u := r[j].Sub(a)
			along := math.Min(math.Max(q.Sub(a).Dot(u.Unit()), 0), u.Len())
			if d := q.Dist(a.Add(u.Unit().Scale(along))); d < best {
				best, ring, at = d, r, foot{j, along}
			}
		}
	}
	return ring, at
}
