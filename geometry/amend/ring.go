package amend

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

const (
	// sameMM is how near to each other two ends are one point.
	sameMM = 1e-6
	// onKnotMM is how near to a knot a cut goes through it.
	onKnotMM = 1e-4
	// smoothRad is the turn from which on a join is a corner: a quarter degree.
	smoothRad = 0.25 * math.Pi / 180
)

// spot is a place on a ring: at parameter t, in [0, 1), of a segment.
type spot struct {
	seg int
	t   float64
}

func (s spot) pos() float64 { return float64(s.seg) + s.t }

func (s spot) on(ring geometry.Path) geometry.Point { return ring.Segment(s.seg).At(s.t) }

// spotAt returns the spot at a parameter of a segment, on a knot where it is as near as
// that to one.
func spotAt(ring geometry.Path, seg int, t float64) spot {
	q := ring.Segment(seg).At(t)
	switch n := len(ring); {
	case q.Dist(ring[seg].At) < onKnotMM:
		return spot{seg, 0}
	case q.Dist(ring[(seg+1)%n].At) < onKnotMM:
		return spot{(seg + 1) % n, 0}
	}
	return spot{seg, t}
}

// stretch is a part of a ring from one spot to another in its direction, and where its
// points go. Fresh says that it begins at a cut, and not at a knot that stays one.
type stretch struct {
	from, to spot
	fresh    bool
	move     affine
}

// affine is a map of points that keeps lines and cubics what they are.
type affine func(geometry.Point) geometry.Point

func still(q geometry.Point) geometry.Point { return q }

func shift(by geometry.Vec) affine {
	return func(q geometry.Point) geometry.Point { return q.Add(by) }
}

func turn(about geometry.Point, rad float64) affine {
	r := geometry.Rigid{Turn: rad}
	at := r.Apply(about)
	r.Move = geometry.Point{X: about.X - at.X, Y: about.Y - at.Y}
	return r.Apply
}

// bit is a segment of the ring that is put together, and where it comes from: the part
// from t0 to t1 of segment src of the old ring, or a line that bridges a gap (src < 0).
type bit struct {
	geometry.Segment
	src    int
	t0, t1 float64
	corner bool // its beginning was a corner
	fresh  bool // its beginning is a join
}

// joined puts stretches together in their order, bridged by straight lines where they do
// not meet.
func joined(ring geometry.Path, parts []stretch) []bit {
	var out []bit
	for i, p := range parts {
		mine := bitsOf(ring, p)
		if len(mine) == 0 {
			continue
		}
		if len(out) > 0 {
			out = bridged(out, mine[0].A)
		}
		mine[0].fresh = p.fresh || i > 0 && out[len(out)-1].src < 0
		out = append(out, mine...)
	}
	if len(out) > 0 {
		n := len(out)
		if out = bridged(out, out[0].A); len(out) > n {
			out[0].fresh = true
		}
	}
	return out
}

// bridged adds a line to where the next stretch begins.
func bridged(out []bit, to geometry.Point) []bit {
	last := &out[len(out)-1]
	if last.D.Dist(to) <= sameMM {
		last.D = to
		return out
	}
	return append(out, bit{Segment: geometry.Segment{A: last.D, B: last.D, C: to, D: to}, src: -1, fresh: true})
}

// bitsOf returns the segments of a stretch, mapped.
func bitsOf(ring geometry.Path, p stretch) []bit {
	n := len(ring)
	var out []bit
	for i, at := 0, p.from; i <= n; i++ {
		b := bit{src: at.seg, t0: at.t, t1: 1, corner: at.t == 0 && ring[at.seg].Corner}
		end := at.seg == p.to.seg && p.to.t > at.t && i <= n
		if end {
			b.t1 = p.to.t
		}
		if !end || b.t1 > b.t0 {
			b.Segment = mapped(cut(ring.Segment(at.seg), b.t0, b.t1), p.move)
			out = append(out, b)
		}
		if end {
			break
		}
		at = spot{(at.seg + 1) % n, 0}
		if at == p.to {
			break
		}
	}
	return out
}

func mapped(s geometry.Segment, f affine) geometry.Segment {
	return geometry.Segment{A: f(s.A), B: f(s.B), C: f(s.C), D: f(s.D), Curved: s.Curved}
}

// cut returns the part of a segment between two parameters.
func cut(s geometry.Segment, t0, t1 float64) geometry.Segment {
	if t1 < 1 {
		s, _ = s.Split(t1)
	}
	if t0 > 0 {
		_, s = s.Split(t0 / t1)
	}
	return s
}

// healed joins again what a cut divided: at a join, two parts of one line or of one
// cubic become that. Those at which keep says that an edge begins stay.
func healed(bits []bit, keep func(i int) bool) (out []bit, index []int) {
	index = make([]int, len(bits))
	for i, b := range bits {
		if n := len(out); n > 0 && b.fresh && !keep(i) {
			if whole, ok := whole(out[n-1].Segment, b.Segment); ok {
				out[n-1].Segment = whole
				index[i] = n - 1
				continue
			}
		}
		index[i] = len(out)
		out = append(out, b)
	}
	if n := len(out); n > 3 && out[0].fresh && !keep(0) {
		if whole, ok := whole(out[n-1].Segment, out[0].Segment); ok {
			// The ring then begins where its last segment began.
			whole := bit{Segment: whole, src: out[n-1].src, t0: out[n-1].t0, t1: 1, corner: out[n-1].corner, fresh: out[n-1].fresh}
			out = append([]bit{whole}, out[1:n-1]...)
			for i := range index {
				index[i] %= n - 1
			}
		}
	}
	return out, index
}

// whole returns the one segment that two are the parts of.
func whole(a, b geometry.Segment) (geometry.Segment, bool) {
	if !a.Curved && !b.Curved {
		u, v := a.D.Sub(a.A), b.D.Sub(b.A)
		ok := math.Abs(u.Unit().Cross(b.D.Sub(a.A))) < sameMM && u.Dot(v) > 0
		return geometry.Segment{A: a.A, B: a.A, C: b.D, D: b.D}, ok
	}
	if !a.Curved || !b.Curved {
		return a, false
	}
	before, after := a.D.Dist(a.C), b.B.Dist(b.A)
	t := before / (before + after)
	if !(t > 0 && t < 1) {
		return a, false
	}
	s := geometry.Segment{A: a.A, B: a.A.Lerp(a.B, 1/t), C: b.D.Lerp(b.C, 1/(1-t)), D: b.D, Curved: true}
	l, r := s.Split(t)
	off := 0.0
	for _, d := range []float64{l.B.Dist(a.B), l.C.Dist(a.C), l.D.Dist(a.D), r.B.Dist(b.B), r.C.Dist(b.C)} {
		off = math.Max(off, d)
	}
	return s, off < 10*sameMM
}

// pathOf returns the knots of joined bits.
func pathOf(bits []bit) geometry.Path {
	n := len(bits)
	out := make(geometry.Path, n)
	for i, b := range bits {
		before := bits[(i+n-1)%n]
		k := geometry.Knot{At: b.A, Corner: b.corner}
		if before.Curved {
			c := before.C
			k.In = &c
		}
		if b.Curved {
			c := b.B
			k.Out = &c
		}
		if b.fresh || k.Corner != b.corner {
			k.Corner = b.corner || bends(before.Segment, b.Segment)
		}
		out[i] = k
	}
	return out
}

func bends(a, b geometry.Segment) bool {
	u, v := heading(a, 1), heading(b, 0)
	return math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) > smoothRad
}

// heading returns the unit direction of a segment at a parameter, where a handle lies
// on its knot the one a little further inside.
func heading(s geometry.Segment, t float64) geometry.Vec {
	for _, by := range []float64{0, 1e-3, 1e-2, 0.1} {
		u := t + by
		if t > 0.5 {
			u = t - by
		}
		if d := s.Deriv(u); d.Len() > 1e-6 {
			return d.Unit()
		}
	}
	return s.D.Sub(s.A).Unit()
}

// line is a line through a point; normal has length 1 and points to its left, which is
// the side that moves when it is opened.
type line struct {
	at     geometry.Point
	normal geometry.Vec
}

func through(a, b geometry.Point) line { return line{a, b.Sub(a).Unit().Perp()} }

// off returns the signed distance of a point, positive on the left.
func (l line) off(q geometry.Point) float64 { return q.Sub(l.at).Dot(l.normal) }

// crossings returns where a ring crosses the line that is moved to its left by a
// distance, in the order of the ring. A ring that only touches it does not cross it.
func (l line) crossings(ring geometry.Path, by float64) []spot {
	l.at = l.at.Add(l.normal.Scale(by + 1e-7)) // so that no knot lies on it
	var out []spot
	for i, s := range ring.Segments() {
		f := [4]float64{l.off(s.A), l.off(s.B), l.off(s.C), l.off(s.D)}
		if !s.Curved {
			if (f[0] > 0) != (f[3] > 0) {
				out = append(out, spotAt(ring, i, f[0]/(f[0]-f[3])))
			}
			continue
		}
		for _, t := range roots(f) {
			out = append(out, spotAt(ring, i, t))
		}
	}
	slices.SortFunc(out, func(a, b spot) int { return cmp.Compare(a.pos(), b.pos()) })
	return out
}

// roots returns the parameters at which a cubic in Bernstein form changes its sign, by
// halving between the places where its derivative is nought.
func roots(f [4]float64) []float64 {
	at := func(t float64) float64 {
		u := 1 - t
		return u*u*u*f[0] + 3*u*u*t*f[1] + 3*u*t*t*f[2] + t*t*t*f[3]
	}
	// The derivative is d0 (1-t)^2 + 2 d1 t(1-t) + d2 t^2.
	d0, d1, d2 := f[1]-f[0], f[2]-f[1], f[3]-f[2]
	a, b, c := d0-2*d1+d2, 2*(d1-d0), d0
	stops := []float64{0, 1}
	if q := b*b - 4*a*c; q >= 0 {
		h := -0.5 * (b + math.Copysign(math.Sqrt(q), b))
		for _, t := range []float64{h / a, c / h} {
			if t > 0 && t < 1 {
				stops = append(stops, t)
			}
		}
	}
	slices.Sort(stops)
	var out []float64
	for i := range len(stops) - 1 {
		lo, hi := stops[i], stops[i+1]
		up := at(hi) > 0
		if (at(lo) > 0) == up {
			continue
		}
		for range 60 {
			if m := (lo + hi) / 2; (at(m) > 0) == up {
				hi = m
			} else {
				lo = m
			}
		}
		out = append(out, (lo+hi)/2)
	}
	return out
}
