package offset

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// flapEnd is one end of a flap: the positions along the fold at which the fold
// lines and the cut edge end, from the edge outwards. The last one is the cut
// edge. It is empty where the end was shaped like any other corner.
type flapEnd []place

// flapJoint shapes the corner between two edges of which exactly one is folded.
// It reports false where there is no such corner or the end cannot be mirrored.
func (w *work) flapJoint(before, after int) (joint, flapEnd, bool) {
	a, b := &w.edges[before], &w.edges[after]
	foldA, foldB := len(a.Folds) > 0, len(b.Folds) > 0
	turn := math.Atan2(a.to.Cross(b.from), a.to.Dot(b.from))
	if before == after || !foldA && !foldB || math.Abs(turn) < smoothTurn || a.Crease || b.Crease {
		return joint{}, nil, false
	}
	k := b.stitch[0].A
	if foldA && foldB {
		if math.Abs(turn-math.Pi/2) > 1e-3 {
			w.note(CodeFoldEnd, after, k, "meets another folded edge at an angle that is not a right one; check their corner in paper", 0)
		}
		return joint{}, nil, false
	}
	fold, other, i := a, b.line, before
	dir, d := b.from, b.d0
	if foldB {
		fold, other, i = b, a.line.reversed(), after
		dir, d = a.to.Scale(-1), a.d1
	}
	f := flap{crease: newCrease(fold), folds: fold.Folds, edge: i, tol: w.opt.TolMM}
	reach := math.Max(w.opt.MiterLimit*d, 1)
	line, start, ok := f.beside(other, dir, reach)
	if ok {
		var end flapEnd
		var outer chain
		outer, end, ok = f.end(line, start, dir)
		if ok {
			if f.deep {
				w.note(CodeFoldDeep, i, k, "is deeper than the edge beside it is long; that edge was taken to run on straight", fold.Folds[0])
			}
			j, ok := w.attach(fold, other, line, start, outer, foldB)
			return j, end, ok
		}
	}
	w.note(CodeFoldEnd, i, k, "cannot be mirrored at this end; its corner was shaped like that of a seam", 0)
	return joint{}, nil, false
}

func (w *work) note(code string, edge int, at geometry.Point, text string, amount float64) {
	w.findings = append(w.findings, geometry.Finding{
		Code: code, Severity: geometry.SeverityWarning, Where: &at, Amount: amount,
		Message: fmt.Sprintf("the fold of edge %q %s", w.edges[edge].name(edge), text),
		Remedy:  "fold a paper copy to check the corner before cutting cloth",
	})
}

// attach turns the outer line of a flap's end, from the fold outwards, into the
// joint between the folded edge and its neighbour.
func (w *work) attach(fold *edgeLine, other, line chain, start float64, outer chain, atStart bool) (joint, bool) {
	extended := len(line) - len(other)
	tip := outer.last()
	pos := fold.line.nearest(tip)
	rest := fold.line.at(pos)
	if rest.Dist(tip) > 1e-6 {
		outer = append(outer, span{seg: geometry.Segment{A: tip, B: tip, C: rest, D: rest}, edge: outer[0].edge})
	}
	run := line[:extended].cut(start, float64(extended)) // neighbour beyond its own end
	onOther := math.Max(start-float64(extended), 0)
	mid := append(outer.reversed(), run...)
	if !atStart {
		return joint{aTo: pos, mid: mid, bFrom: onOther}, true
	}
	return joint{aTo: float64(len(other)) - onOther, mid: mid.reversed(), bFrom: pos}, true
}

// flap shapes one end of a folded edge.
type flap struct {
	crease
	folds []float64
	edge  int
	tol   float64
	deep  bool
}

// beside returns the neighbour's cut line, leading away from the fold, together
// with the position at which it crosses the fold. If need be it is run on
// backwards along its tangent, by reach mm at most.
func (f *flap) beside(other chain, dir geometry.Vec, reach float64) (chain, float64, bool) {
	if v := startDir(other[0].seg); v.Dot(dir) > 0 {
		dir = v
	}
	height := func(c chain, pos float64) float64 { return f.place(c.at(pos)).height }
	const hair = 1e-9
	h0 := f.place(other.first()).height
	if math.Abs(h0) < hair {
		return other, 0, true
	}
	if h0 > 0 { // begins above the fold
		before := span{seg: line(other.first().Add(dir.Scale(-reach)), other.first()), edge: other[0].edge}
		c := append(chain{before}, other...)
		pos, ok := crossing(func(p float64) float64 { return height(c, p) }, 0, 1, true)
		return c, pos, ok
	}
	pos, ok := crossing(func(p float64) float64 { return height(other, p) }, 0, math.Min(float64(len(other)), 12), false)
	return other, pos, ok
}

// crossing finds where h rises through 0 between two positions: the last such
// place, or the first.
func crossing(h func(float64) float64, from, to float64, last bool) (float64, bool) {
	steps := max(24, int(to-from)*12)
	found, at := false, 0.0
	h0 := h(from)
	for i := 1; i <= steps; i++ {
		p := from + (to-from)*float64(i)/float64(steps)
		h1 := h(p)
		if h0 < 0 && h1 >= 0 && (last || !found) {
			lo, hi := from+(to-from)*float64(i-1)/float64(steps), p
			for range 50 {
				if m := (lo + hi) / 2; h(m) < 0 {
					lo = m
				} else {
					hi = m
				}
			}
			found, at = true, hi
		}
		h0 = h1
	}
	return at, found
}

// end returns the line at the end of the flap, from the fold outwards: layer by
// layer the material is where the neighbour's cut line is, going up to the depth
// of the fold, down again by that of the next, and so on.
func (f *flap) end(c chain, start float64, dir geometry.Vec) (chain, flapEnd, bool) {
	top, ok := f.rise(&c, start, f.folds[0], dir)
	if !ok {
		return nil, nil, false
	}
	ends := flapEnd{f.place(c.at(start)), f.place(c.at(top))}
	out := f.layer(c.cut(start, top), 0, 1)
	height, depth := f.folds[0], f.folds[0]
	at, up := top, true
	for _, fold := range f.folds[1:] {
		up = !up
		next, sign := height-fold, -1.0
		if up {
			next, sign = height+fold, 1
		}
		to, found := start, true
		if next > 1e-9 {
			to, found = crossing(func(p float64) float64 { return f.place(c.at(p)).height - next }, start, top, false)
		}
		if !found {
			return nil, nil, false
		}
		stretch := c.cut(math.Min(at, to), math.Max(at, to))
		if !up {
			stretch = stretch.reversed()
		}
		out = append(out, f.layer(stretch, depth-sign*height, sign)...)
		ends = append(ends, f.place(c.at(to)))
		at, height, depth = to, next, depth+fold
	}
	return joined(out), ends, len(out) > 0
}

// rise returns the position at which c reaches a height above the fold. A line
// that ends below it is run on along its tangent.
func (f *flap) rise(c *chain, start, height float64, dir geometry.Vec) (float64, bool) {
	above := func(p float64) float64 { return f.place(c.at(p)).height - height }
	first := float64(int(start))
	for to := first + 1; to <= float64(len(*c)); to++ {
		if pos, ok := crossing(above, math.Max(start, to-1), to, false); ok {
			return pos, true
		}
	}
	last := (*c)[len(*c)-1]
	v := endDir(last.seg)
	if first := startDir((*c)[0].seg); v.Dot(first) <= 0 {
		return 0, false
	}
	f.deep = true
	n := float64(len(*c))
	*c = append((*c)[:len(*c):len(*c)], span{seg: line(last.seg.D, last.seg.D.Add(v.Scale(3*height))), edge: last.edge})
	return crossing(above, n, n+1, false)
}

// layer maps a stretch of the neighbour's cut line to the spread-out flap.
func (f *flap) layer(c chain, off, sign float64) chain {
	var out chain
	put := func(s geometry.Segment) { out = append(out, span{seg: s, edge: f.edge}) }
	to := func(q geometry.Point) geometry.Point { return f.unfolded(q, off, sign) }
	for _, s := range c {
		if f.straight {
			put(geometry.Segment{A: to(s.seg.A), B: to(s.seg.B), C: to(s.seg.C), D: to(s.seg.D), Curved: s.seg.Curved})
			continue
		}
		image := func(t float64) (geometry.Point, geometry.Vec) {
			const h = 1e-4
			lo, hi := math.Max(t-h, 0), math.Min(t+h, 1)
			return to(s.seg.At(t)), to(s.seg.At(hi)).Sub(to(s.seg.At(lo))).Scale(1 / (hi - lo))
		}
		for _, s := range fitCubics(image, 0, 1, f.tol, maxHalvings, nil) {
			put(s)
		}
	}
	return out
}

// joined closes hair gaps between spans.
func joined(c chain) chain {
	for i := 1; i < len(c); i++ {
		moveStart(&c[i].seg, c[i-1].seg.D)
	}
	return c
}

// describe records the fold lines of edge i.
func (w *work) describe(i int, start, end flapEnd) {
	e := &w.edges[i]
	fold := Fold{Edge: i}
	out, on, sign := 0.0, 0.0, 1.0
	for k := 0; k <= len(e.Folds); k++ {
		if k > 0 {
			out, on, sign = out+e.Folds[k-1], on+sign*e.Folds[k-1], -sign
		}
		l := FoldLine{OutMM: out, OnMM: on}
		l.Line = w.across(e, out, pick(start, k), pick(end, k))
		l.ExcessMM = (out + on) * turning(l.Line)
		if out == 0 {
			l.ExcessMM = 0
		}
		fold.Lines = append(fold.Lines, l)
	}
	w.folds = append(w.folds, fold)
	worst := 0.0
	for _, l := range fold.Lines {
		if math.Abs(l.ExcessMM) > math.Abs(worst) {
			worst = l.ExcessMM
		}
	}
	if math.Abs(worst) >= 1 {
		how := "longer"
		if worst < 0 {
			how = "shorter"
		}
		at := e.stitch[len(e.stitch)/2].A
		w.findings = append(w.findings, geometry.Finding{
			Code: CodeFoldLength, Severity: geometry.SeverityInfo, Where: &at, Amount: worst,
			Message: fmt.Sprintf("folded back, edge %q is up to %.1f mm %s than what it lies on", e.name(i), math.Abs(worst), how),
			Remedy:  "ease it in or make the fold narrower; for more than a little, face the edge instead",
		})
	}
}

func pick(e flapEnd, k int) *place {
	if k < len(e) {
		return &e[k]
	}
	return nil
}

// across returns the line beside an edge at a distance, between two places on it;
// without places from end to end. Where the ends of a flap run into each other it is
// straight from one to the other.
func (w *work) across(e *edgeLine, d float64, from, to *place) []geometry.Segment {
	plain := Edge{StartMM: d, EndMM: d, Corner: e.Corner}
	c := w.edge(e.stitch, plain, 0).line
	end := func(p *place) (float64, geometry.Point, bool) {
		q := p.at.Add(p.out.Scale(d))
		pos := c.nearest(q)
		return pos, q, c.at(pos).Dist(q) > 1e-6
	}
	a, b := 0.0, float64(len(c))
	var before, after chain
	if from != nil {
		pos, q, beyond := end(from)
		a = pos
		if beyond {
			before = lines(0, q, c.at(pos))
		}
	}
	if to != nil {
		pos, q, beyond := end(to)
		b = pos
		if beyond {
			after = lines(0, c.at(pos), q)
		}
	}
	first, last := c.at(a), c.at(b)
	c = append(append(before, c.cut(a, b)...), after...).tidy()
	if len(c) == 0 {
		return []geometry.Segment{line(first, last)}
	}
	out := make([]geometry.Segment, len(c))
	for i, s := range c {
		out[i] = s.seg
	}
	return out
}

// turning returns the angle in radians by which a line turns left from end to
// end, curves and corners together.
func turning(line []geometry.Segment) float64 {
	var sum float64
	var last geometry.Vec
	turn := func(v geometry.Vec) {
		if v = v.Unit(); v == (geometry.Vec{}) {
			return
		}
		if last != (geometry.Vec{}) {
			sum += math.Atan2(last.Cross(v), last.Dot(v))
		}
		last = v
	}
	for _, s := range line {
		// Where moved curves meet almost, a stub is left between them, which may
		// point backwards: its direction means nothing.
		if size(s) < 0.005 {
			continue
		}
		turn(startDir(s))
		if s.Curved {
			for k := 1; k < 8; k++ {
				turn(s.Deriv(float64(k) / 8))
			}
		}
		turn(endDir(s))
	}
	return sum
}
