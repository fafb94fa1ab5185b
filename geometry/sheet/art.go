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
	LayerUnsure  export.Layer = "Not sure here"
	LayerGrain   export.Layer = "Grain line"
	LayerText    export.Layer = "Text"
	LayerJoin    export.Layer = "Sheet joins"
	LayerCheck   export.Layer = "Squares and bars"
)

// Pens. Widths are of the series 0.25, 0.35, 0.5 (ISO 128, from memory).
var (
	cutPen    = export.Pen{Width: 0.5, Ink: export.Black}
	grainPen  = export.Pen{Width: 0.35, Ink: export.Black}
	unsurePen = export.Pen{Width: 2.6, Ink: 0.22}
	checkPen  = export.Pen{Width: 0.25, Ink: 0.85}
	barPen    = export.Pen{Width: 0.18, Ink: export.Grey}
	joinPen   = export.Pen{Width: 0.18, Ink: export.Grey}
	stripPen  = export.Pen{Width: 0.18, Ink: export.Grey, Dash: []float64{3, 2}}
)

// plan is where words and arrow of a piece stand.
type plan struct {
	label label
	// grain holds the ends of the arrow; nil where there is none.
	grain []geometry.Point
}

// newPlan finds room for the label, then for the grain arrow; a grid is given
// where the piece is cut into tiles.
func newPlan(p Piece, g *grid) plan {
	out := plan{label: newLabel(p, g)}
	if a, b, ok := p.grainLine(out.label.box, g); ok {
		out.grain = []geometry.Point{a, b}
	}
	return out
}

// art returns what is drawn of a piece.
func (p Piece) art(at plan) []export.Item {
	var items []export.Item
	for _, line := range p.unsureLines() {
		items = append(items, export.Lines(LayerUnsure, unsurePen, line...))
	}
	var contours []export.Contour
	for _, path := range p.paths() {
		contours = append(contours, export.Contour{Knots: path})
	}
	items = append(items, export.Shape{Layer: LayerOutline, Contours: contours, Pen: cutPen})
	if at.grain != nil {
		items = append(items, arrow(at.grain[0], at.grain[1])...)
	}
	return append(items, at.label.items()...)
}

// unsureLines returns the stretches that the photo did not show well, as dense
// lines along the outline or hole that they lie on.
func (p Piece) unsureLines() []geometry.Polyline {
	var out []geometry.Polyline
	rings := p.rings()
	for _, s := range p.Unsure {
		ring, from := nearest(rings, s.From)
		if len(ring) == 0 {
			continue
		}
		_, to := nearest([]geometry.Polyline{ring}, s.To)
		line := geometry.Polyline{s.From}
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
		out = append(out, append(line, s.To))
	}
	return out
}

// foot is the nearest place on a ring: on the side that ends at vertex after,
// at a distance along that side.
type foot struct {
	after int
	along float64
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

// grainLine returns the ends of the grain arrow: along the grain, inside the
// piece and clear of its edges and label, as long as there is room, up to 250
// mm. On a grid it stays on one tile where it can.
func (p Piece) grainLine(keepOff box, g *grid) (a, b geometry.Point, ok bool) {
	if p.GrainDeg == nil {
		return
	}
	if a, b, ok = p.grainWithin(keepOff, g); !ok && g != nil {
		return p.grainWithin(keepOff, nil)
	}
	return
}

func (p Piece) grainWithin(keepOff box, g *grid) (a, b geometry.Point, ok bool) {
	const longest, spare, shortest, apart, aside = 250.0, 4.0, 15.0, 6.0, 9.0
	sin, cos := math.Sincos(*p.GrainDeg * math.Pi / 180)
	dir := geometry.Vec{X: cos, Y: sin}
	rings := p.coarse()
	area := boundsOf([]Piece{p})
	far := math.Hypot(area.width(), area.height())
	best := 0.0
	// Lines across the grain, from the middle outwards, so that of equally long
	// ones the most central is taken.
	for i := range int(far / apart) {
		side := float64((i+1)/2) * apart
		if i%2 == 1 {
			side = -side
		}
		foot := area.centre().Add(dir.Perp().Scale(side))
		from, to := clearStretch(foot, dir, far, func(q geometry.Point) bool {
			side, spot := dir.Perp().Scale(aside), around(q, 0, 0)
			return spot.inside(area) > 0 && spot.gap(keepOff) > aside && within(rings, q) && within(rings, q.Add(side)) && within(rings, q.Add(side.Scale(-1))) &&
				(g == nil || joinRoom(spot, *g) > aside)
		})
		l, mid := math.Min(to-from-2*spare, longest), (from+to)/2
		p, q := foot.Add(dir.Scale(mid-l/2)), foot.Add(dir.Scale(mid+l/2))
		if l > best+5 && !cut(rings, p, q) {
			best, a, b = l, p, q
		}
	}
	return a, b, best >= shortest
}

// clearStretch returns the ends, as distances from foot along dir, of the
// longest stretch of the line on which all is free, looked at every 4 mm.
func clearStretch(foot geometry.Point, dir geometry.Vec, far float64, free func(geometry.Point) bool) (from, to float64) {
	const step = 4.0
	start := math.NaN()
	for s := -far; s <= far; s += step {
		switch ok := free(foot.Add(dir.Scale(s))); {
		case ok && math.IsNaN(start):
			start = s
		case !ok && !math.IsNaN(start):
			if s-step-start > to-from {
				from, to = start, s-step
			}
			start = math.NaN()
		}
	}
	return from, to
}

// cut reports whether a side of the rings crosses the line from a to b.
func cut(rings []geometry.Polyline, a, b geometry.Point) bool {
	d := b.Sub(a)
	for _, r := range rings {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			e := q.Sub(p)
			if d.Cross(p.Sub(a))*d.Cross(q.Sub(a)) <= 0 && e.Cross(a.Sub(p))*e.Cross(b.Sub(p)) <= 0 {
				return true
			}
		}
	}
	return false
}

// arrow returns the grain line with an open head at both ends and the word.
func arrow(a, b geometry.Point) []export.Item {
	u := b.Sub(a).Unit()
	items := []export.Item{export.Line(LayerGrain, grainPen, a, b)}
	for _, end := range []struct {
		at  geometry.Point
		dir geometry.Vec
	}{{a, u}, {b, u.Scale(-1)}} {
		back := end.at.Add(end.dir.Scale(6))
		side := u.Perp().Scale(2)
		items = append(items, export.Lines(LayerGrain, grainPen, back.Add(side), end.at, back.Add(side.Scale(-1))))
	}
	// The word stands upright or reads from below or the right.
	turn := math.Atan2(u.Y, u.X)
	if turn > math.Pi/2+1e-6 {
		turn -= math.Pi
	} else if turn <= -math.Pi/2+1e-6 {
		turn += math.Pi
	}
	sin, cos := math.Sincos(turn)
	up := geometry.Vec{X: -sin, Y: cos}
	return append(items, export.Text{
		Layer: LayerGrain, At: a.Lerp(b, 0.5).Add(up.Scale(2.2)), Size: noteSize, Ink: export.Black,
		Align: export.AlignCentre, Turn: turn, Content: "grain",
	})
}
