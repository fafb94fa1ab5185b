package offset

import (
	"math"

	"secondcut/geometry"
)

// work draws one raw cut line.
type work struct {
	opt      Options
	hole     bool
	edges    []edgeLine
	folds    []Fold
	findings []geometry.Finding
	lost     int // first edge that lost its last part, or -1
}

// edgeLine is an edge with its own cut line, before corners.
type edgeLine struct {
	Edge
	stitch []geometry.Segment
	line   chain
	// tangents of the stitch line at both ends
	from, to geometry.Vec
	d0, d1   float64
	// tight says that the edge bends more tightly somewhere than it is wide there
	tight bool
	// directions in which the line runs on, set where it was cut back
	tightFrom, tightTo geometry.Vec
}

// start and end return the ends of the edge's line as sides of a corner.
func (e *edgeLine) start(index int) side {
	return side{line: e.line, edge: index, tan: e.from, near: e.stitch[0].At(0.05), d: e.d0, on: e.tightFrom}
}

func (e *edgeLine) end(index int) side {
	return side{line: e.line, edge: index, tan: e.to, near: e.stitch[len(e.stitch)-1].At(0.95), d: e.d1, on: e.tightTo}
}

func newWork(outline geometry.Path, edges []Edge, opt Options) *work {
	w := &work{opt: opt, lost: -1, hole: outline.Area() < 0}
	for i, e := range edges {
		stitch := segmentsBetween(outline, e.Knot, edges[(i+1)%len(edges)].Knot)
		w.edges = append(w.edges, w.edge(stitch, e, i))
	}
	return w
}

// segmentsBetween returns the segments from one knot to another, those without
// extent left out; all round when the knots are the same.
func segmentsBetween(p geometry.Path, from, to int) []geometry.Segment {
	n := to - from
	if n <= 0 {
		n += len(p)
	}
	out := make([]geometry.Segment, 0, n)
	for k := range n {
		if s := p.Segment((from + k) % len(p)); size(s) > 1e-9 {
			out = append(out, s)
		}
	}
	return out
}

// edge draws the cut line beside one edge, its inner corners joined.
func (w *work) edge(stitch []geometry.Segment, e Edge, index int) edgeLine {
	out := edgeLine{Edge: e, stitch: stitch, d0: e.StartMM, d1: e.EndMM}
	if len(e.Folds) > 0 {
		out.d0, out.d1 = e.depth(), e.depth()
	}
	var total float64
	length := make([]float64, len(stitch))
	if out.d0 != out.d1 {
		for i, s := range stitch {
			length[i] = s.Length()
			total += length[i]
		}
	}
	slope, d := 0.0, out.d0
	if total > 0 {
		slope = (out.d1 - out.d0) / total
	}
	for i, s := range stitch {
		b := newBase(s, length[i], d, slope)
		beside, tight := b.parallel(w.opt.TolMM)
		out.tight = out.tight || tight
		var next chain
		for _, o := range beside {
			next = append(next, span{seg: o, edge: index, own: true})
		}
		tan := startDir(s)
		if i == 0 {
			out.from, out.line = tan, next
		} else {
			out.line = w.append(
				side{line: out.line, edge: index, tan: out.to, near: stitch[i-1].At(0.95), d: d},
				side{line: next, edge: index, tan: tan, near: s.At(0.05), d: d}, s.A, e.Corner,
			)
		}
		out.to = endDir(s)
		d += slope * length[i]
	}
	out.cutBack()
	return out
}

// cutBack shortens the ends of a line that run backwards, because the edge bends
// more tightly there than it is wide: to where the line came nearer to the end of
// the edge than the width, since the cusp beyond lies nearer still. From there it
// runs on square to the direction of that end.
func (e *edgeLine) cutBack() {
	if n := len(e.line); endDir(e.line[n-1].seg).Dot(e.to) < 0 {
		if pos, ok := entry(e.line, e.stitch[len(e.stitch)-1].D); ok {
			e.line = e.line.cut(0, pos)
			e.tightTo = e.line.last().Sub(e.stitch[len(e.stitch)-1].D).Unit().Perp()
		}
	}
	if startDir(e.line[0].seg).Dot(e.from) < 0 {
		back := e.line.reversed()
		if pos, ok := entry(back, e.stitch[0].A); ok {
			e.line = back.cut(0, pos).reversed()
			e.tightFrom = e.line.first().Sub(e.stitch[0].A).Unit().Perp()
		}
	}
}

// entry returns the last position at which a line comes nearer to k than its end
// is.
func entry(c chain, k geometry.Point) (float64, bool) {
	const steps = 12
	distance := c.last().Dist(k)
	nearer := func(pos float64) bool { return c.at(pos).Dist(k) < distance-1e-9 }
	hi := float64(len(c))
	for n := len(c)*steps - 1; n >= 0; n-- {
		lo := float64(n) / steps
		if nearer(lo) {
			hi = lo
			continue
		}
		if hi == float64(len(c)) {
			return 0, false // comes from outside straight away
		}
		for range 50 {
			if m := (lo + hi) / 2; nearer(m) {
				hi = m
			} else {
				lo = m
			}
		}
		return hi, true
	}
	return 0, false
}

// append joins two parts of the line of one edge at an inner knot k.
func (w *work) append(a, b side, k geometry.Point, style Join) chain {
	p, q := a.line.last(), b.line.first()
	if p.Dist(q) < 1e-4 { // smooth
		moveStart(&b.line[0].seg, p)
		return append(a.line, b.line...)
	}
	j := w.join(a, b, k, style, false)
	return append(append(a.line, j.mid...), b.line...)
}

// raw joins the lines of all edges to one closed line, which may cross itself.
func (w *work) raw() chain {
	joints := w.joints(true)
	for i := range w.edges {
		if w.left(joints, i) < 1e-9 {
			joints = w.joints(false) // lines cut back from both ends meet: don't cut
			break
		}
	}
	var out chain
	for i, e := range w.edges {
		before, after := joints[i], joints[(i+1)%len(joints)]
		if w.left(joints, i) < 1e-9 {
			w.lost = i
			return nil
		}
		out = append(out, before.mid...)
		out = append(out, e.line.cut(before.bFrom, after.aTo)...)
	}
	return closeUp(out)
}

// left returns how much of the line of edge i the joints at both its ends leave.
func (w *work) left(joints []joint, i int) float64 {
	return joints[(i+1)%len(joints)].aTo - joints[i].bFrom
}

// joints returns the joint at the beginning of each edge.
func (w *work) joints(mayTrim bool) []joint {
	w.folds, w.findings = nil, nil
	n := len(w.edges)
	out := make([]joint, n)
	ends := make([]flapEnd, 2*n) // at the start and end of each edge
	for i := range w.edges {
		before := (i + n - 1) % n
		a, b := &w.edges[before], &w.edges[i]
		k := b.stitch[0].A
		fold := before
		j, end, ok := w.flapJoint(before, i)
		if ok && len(b.Folds) > 0 {
			fold = i
		}
		if !ok {
			j = w.join(a.end(before), b.start(i), k, b.Corner, mayTrim)
			fold, end = w.creased(before, i)
		}
		out[i] = j
		if fold == i {
			ends[2*i] = end
		} else {
			ends[2*before+1] = end
		}
	}
	for i, e := range w.edges {
		if len(e.Folds) > 0 {
			w.describe(i, ends[2*i], ends[2*i+1])
		}
	}
	return out
}

// closeUp makes the ends of neighbouring spans equal to the last bit and drops
// those that are hardly there.
func closeUp(c chain) chain {
	out := c[:0:0]
	for _, s := range c {
		if size(s.seg) > 1e-5 {
			out = append(out, s)
		}
	}
	for i := range out {
		prev := out[(i+len(out)-1)%len(out)].seg.D
		if out[i].seg.A != prev {
			moveStart(&out[i].seg, prev)
		}
	}
	return out
}

// tidy joins neighbouring straight spans of one edge that run on in one line.
func (c chain) tidy() chain {
	var out chain
	for _, s := range c {
		if n := len(out); n > 0 && runsOn(out[n-1], s) {
			out[n-1].seg = line(out[n-1].seg.A, s.seg.D)
			continue
		}
		out = append(out, s)
	}
	if n := len(out); n > 3 && runsOn(out[n-1], out[0]) {
		out[0].seg = line(out[n-1].seg.A, out[0].seg.D)
		out = out[:n-1]
	}
	return out
}

// runsOn says that b continues the straight span a. Where both run beside the
// edge itself, there is a knot of the stitch line between them, which stays.
func runsOn(a, b span) bool {
	if a.seg.Curved || b.seg.Curved || a.edge != b.edge || a.own && b.own {
		return false
	}
	u, v := startDir(a.seg), startDir(b.seg)
	return u.Dot(v) > 0 && math.Abs(u.Cross(v)) < 1e-9
}
