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
		var next chain
		for _, o := range b.parallel(w.opt.TolMM) {
			next = append(next, span{seg: o, edge: index, own: true})
		}
		tan := startDir(s)
		if i == 0 {
			out.from, out.line = tan, next
		} else {
			out.line = w.append(out.line, next, out.to, tan, s.A, d, e.Corner)
		}
		out.to = endDir(s)
		d += slope * length[i]
	}
	return out
}

// append joins a further part to the line of an edge at an inner knot k.
func (w *work) append(c, next chain, before, after geometry.Vec, k geometry.Point, d float64, style Join) chain {
	p, q := c.last(), next.first()
	if p.Dist(q) < 1e-4 { // smooth
		moveStart(&next[0].seg, p)
		return append(c, next...)
	}
	edge := c[0].edge
	j := w.join(side{line: c, edge: edge, tan: before, d: d}, side{line: next, edge: edge, tan: after, d: d}, k, style, false)
	return append(append(c, j.mid...), next...)
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
		if j, end, ok := w.flapJoint(before, i); ok {
			out[i] = j
			if len(b.Folds) > 0 {
				ends[2*i] = end
			} else {
				ends[2*before+1] = end
			}
			continue
		}
		out[i] = w.join(
			side{line: a.line, edge: before, tan: a.to, d: a.d1},
			side{line: b.line, edge: i, tan: b.from, d: b.d0}, k, b.Corner, mayTrim)
	}
	for i, e := range w.edges {
		if len(e.Folds) > 0 {
			w.describe(i, ends[2*i], ends[2*i+1])
		}
	}
	return out
}

// closeUp makes the ends of neighbouring spans equal to the last bit and drops
// those of no extent.
func closeUp(c chain) chain {
	out := c[:0:0]
	for _, s := range c {
		if size(s.seg) > 1e-9 {
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
