package offset

import (
	"math"

	"secondcut/geometry"
)

// side is what a corner needs to know of the edge that ends or begins there.
type side struct {
	line chain
	edge int
	// tan is the tangent of the stitch line, in the direction of travel.
	tan geometry.Vec
	// near is a point of the stitch line a little away from the corner.
	near geometry.Point
	d    float64
	// on is the direction in which the line runs on, where that is not its tangent
	on geometry.Vec
}

// joint says how two lines are joined: the first up to aTo, then mid, then the
// second from bFrom on.
type joint struct {
	aTo, bFrom float64
	mid        chain
}

// tangents of the cut lines where they reach the corner; those of the stitch line
// where a cut line runs backwards.
func (s side) leaving() geometry.Vec {
	if s.on != (geometry.Vec{}) {
		return s.on
	}
	if v := endDir(s.line[len(s.line)-1].seg); v.Dot(s.tan) > 0 {
		return v
	}
	return s.tan
}

func (s side) arriving() geometry.Vec {
	if s.on != (geometry.Vec{}) {
		return s.on
	}
	if v := startDir(s.line[0].seg); v.Dot(s.tan) > 0 {
		return v
	}
	return s.tan
}

const (
	// smoothTurn is the turn in radians below which lines run on smoothly.
	smoothTurn = 1e-4
	// softTurn is the turn up to which an inner corner is bridged directly
	// instead of by way of the corner itself. The bridge strays from the arc round
	// the corner by less than 0.0003 of the distance and is covered anyway.
	softTurn = 0.05
)

// join returns how the cut line runs round corner k from a to b. mayTrim allows
// it to cut lines back.
func (w *work) join(a, b side, k geometry.Point, style Join, mayTrim bool) joint {
	p, q := a.line.last(), b.line.first()
	j := joint{aTo: float64(len(a.line))}
	narrow := b.edge // a step leads on from the narrower width
	if a.d < b.d {
		narrow = a.edge
	}
	turn := turnAt(a, b, k)
	switch {
	case p.Dist(q) < 1e-9:
		return j
	case math.Abs(turn) < smoothTurn, turn < 0 && turn > -softTurn && math.Abs(a.d-b.d) < 1e-9:
		j.mid = lines(narrow, p, q)
	case turn < 0:
		x, y := runOn(a, b)
		j.mid = append(lines(a.edge, p, x), lines(narrow, x, k, y)...)
		j.mid = append(j.mid, lines(b.edge, y, q)...)
	case style == Round:
		j.mid = arc(a, b, k, turn, w.opt.TolMM)
	default:
		met, ok := w.meet(a, b, k, mayTrim)
		if j = met; !ok {
			j = joint{aTo: float64(len(a.line)), mid: lines(narrow, step(a, b, k)...)}
		}
	}
	return j
}

// turnAt returns the turn to the left at corner k in radians. Where the line
// almost doubles back, the tangents don't tell a tip from a slit: points a little
// away from the corner do.
func turnAt(a, b side, k geometry.Point) float64 {
	turn := math.Atan2(a.tan.Cross(b.tan), a.tan.Dot(b.tan))
	if math.Abs(turn) < math.Pi-0.1 {
		return turn
	}
	u, v := b.near.Sub(k), a.near.Sub(k)
	tip := u.Cross(v) > 0
	if tip != (turn > 0) {
		turn -= math.Copysign(2*math.Pi, turn)
	}
	return turn
}

// runOn returns where the two lines end at an inner corner. Where one is so much
// wider that it ends beyond the other's line, it runs on (or began earlier) along
// its tangent until it crosses that line, unless this is further than it is wide.
// It runs a little further, under that line, which makes sure of the crossing.
func runOn(a, b side) (x, y geometry.Point) {
	x, y = a.line.last(), b.line.first()
	ta, tb := a.leaving(), b.arriving()
	den := ta.Cross(tb)
	if den > -1e-3 {
		return x, y
	}
	v := y.Sub(x)
	on, back := v.Cross(tb)/den, -v.Cross(ta)/den
	most := math.Max(a.d, b.d)
	const sure = 0.05 // mm
	switch {
	case on > 1e-9 && on <= most:
		if pos, ok := lastMeeting(b.line.reversed(), x, ta, 2*on); ok {
			x = b.line.reversed().at(pos).Add(ta.Scale(sure))
		}
	case back > 1e-9 && back <= most:
		if pos, ok := lastMeeting(a.line, y, tb.Scale(-1), 2*back); ok {
			y = a.line.at(pos).Add(tb.Scale(-sure))
		}
	}
	return x, y
}

// arc leads round a corner, at a distance that changes linearly with the turn.
func arc(a, b side, k geometry.Point, turn, tol float64) chain {
	n0 := right(a.tan)
	f := func(t float64) (geometry.Point, geometry.Vec) {
		s, c := math.Sincos(t * turn)
		n := geometry.Vec{X: c*n0.X - s*n0.Y, Y: s*n0.X + c*n0.Y}
		d := a.d + t*(b.d-a.d)
		return k.Add(n.Scale(d)), n.Perp().Scale(turn * d).Add(n.Scale(b.d - a.d))
	}
	var out chain
	for _, s := range fitCubics(f, 0, 1, tol/10, maxHalvings, nil) {
		out = append(out, span{seg: s, edge: a.edge})
	}
	half := (len(out) + 1) / 2
	if a.d != b.d { // all of it is beside the narrower one: the other's width is reached last
		half = len(out)
		if b.d < a.d {
			half = 0
		}
	}
	for i := half; i < len(out); i++ {
		out[i].edge = b.edge
	}
	moveStart(&out[0].seg, a.line.last())
	moveEnd(&out[len(out)-1].seg, b.line.first())
	return out
}

// meet lets both lines run on until they meet: beyond both ends, or, where one
// line ends too far on, cutting that one back.
func (w *work) meet(a, b side, k geometry.Point, mayTrim bool) (joint, bool) {
	p, q, ta, tb := a.line.last(), b.line.first(), a.leaving(), b.arriving()
	j := joint{aTo: float64(len(a.line))}
	most := math.Max(a.d, b.d)
	limit := w.opt.MiterLimit * most
	den := ta.Cross(tb)
	if den < 1e-6 { // almost or more than turning back: cut off square to both
		x, y := p.Add(ta.Scale(limit)), q.Add(tb.Scale(-limit))
		j.mid = lines(a.edge, p, x)
		j.mid = append(append(j.mid, lines(a.edge, x, y)...), lines(b.edge, y, q)...)
		return j, ta.Dot(tb) < 0
	}
	on, back := q.Sub(p).Cross(tb)/den, -q.Sub(p).Cross(ta)/den
	x := p.Add(ta.Scale(on))
	const hair = 1e-9
	switch {
	case on >= -hair && back >= -hair:
		if x.Dist(k) <= limit {
			j.mid = append(lines(a.edge, p, x), lines(b.edge, x, q)...)
			return j, true
		}
		return w.bevel(a, b, k, x, limit)
	case !mayTrim || on < -most || back < -most:
		return j, false
	case back >= 0: // b's line, run backwards, reaches a's before its end
		pos, ok := lastMeeting(a.line, q, tb.Scale(-1), back+most)
		j.aTo = pos
		if ok {
			j.mid = lines(b.edge, a.line.at(pos), q)
		}
		return j, ok
	case on >= 0:
		rev := b.line.reversed()
		pos, ok := lastMeeting(rev, p, ta, on+most)
		j.bFrom = float64(len(rev)) - pos
		if ok {
			j.mid = lines(a.edge, p, rev.at(pos))
		}
		return j, ok
	}
	return j, false
}

// bevel cuts the spike that ends in x off, square to its direction from corner k,
// at the limit.
func (w *work) bevel(a, b side, k, x geometry.Point, limit float64) (joint, bool) {
	p, q, ta, tb := a.line.last(), b.line.first(), a.leaving(), b.arriving().Scale(-1)
	u := x.Sub(k).Unit()
	if ta.Dot(u) < 1e-9 || tb.Dot(u) < 1e-9 {
		return joint{}, false
	}
	y := p.Add(ta.Scale(math.Max(0, limit-p.Sub(k).Dot(u)) / ta.Dot(u)))
	z := q.Add(tb.Scale(math.Max(0, limit-q.Sub(k).Dot(u)) / tb.Dot(u)))
	mid := y.Lerp(z, 0.5)
	j := joint{aTo: float64(len(a.line))}
	j.mid = append(lines(a.edge, p, y, mid), lines(b.edge, mid, z, q)...)
	return j, true
}

// step returns the points of a straight step between two distances, square to
// the wider edge; the narrower line runs on up to it.
func step(a, b side, k geometry.Point) []geometry.Point {
	p, q := a.line.last(), b.line.first()
	from, dir, n, most := p, a.leaving(), right(b.tan), b.d
	if a.d > b.d {
		from, dir, n, most = q, b.arriving().Scale(-1), right(a.tan), a.d
	}
	den := dir.Cross(n)
	on := k.Sub(from).Cross(n) / den
	if math.Abs(den) < 0.1 || on < 0 || on > 2*most {
		return []geometry.Point{p, q}
	}
	return []geometry.Point{p, from.Add(dir.Scale(on)), q}
}

// lines returns straight spans through the points, leaving out those of no
// length.
func lines(edge int, pts ...geometry.Point) chain {
	var out chain
	for i := range len(pts) - 1 {
		if pts[i] != pts[i+1] {
			out = append(out, span{seg: line(pts[i], pts[i+1]), edge: edge})
		}
	}
	return out
}

// lastMeeting returns the last position on c at which a ray from o along the unit
// vector dir crosses it within reach mm.
func lastMeeting(c chain, o geometry.Point, dir geometry.Vec, reach float64) (float64, bool) {
	height := func(p geometry.Point) float64 { return dir.Cross(p.Sub(o)) }
	const steps = 12
	back := 0.0 // length of the line looked at
	for i := len(c) - 1; i >= 0 && back < 4*reach; i-- {
		s := c[i].seg
		back += s.A.Dist(s.D)
		for k := steps; k > 0; k-- {
			lo, hi := float64(k-1)/steps, float64(k)/steps
			h := height(s.At(hi))
			if h*height(s.At(lo)) > 0 {
				continue
			}
			for range 50 {
				if m := (lo + hi) / 2; h*height(s.At(m)) > 0 {
					hi = m
				} else {
					lo = m
				}
			}
			if along := s.At(hi).Sub(o).Dot(dir); along >= 0 && along <= reach {
				return float64(i) + hi, true
			}
		}
	}
	return 0, false
}
