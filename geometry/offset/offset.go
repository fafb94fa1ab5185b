package offset

import (
	"errors"
	"math"

	"secondcut/geometry"
)

// Join is the shape of a cut line round a corner that points outwards.
type Join int

// Meet lets both cut lines run on along their tangents until they meet (the
// default); Round leads round the corner on an arc.
const (
	Meet Join = iota
	Round
)

// Edge is a stretch of a closed outline: from its first knot up to the first
// knot of the next edge, the last one round to the first. Inner corners of an
// edge are shaped like the corner at its beginning.
type Edge struct {
	// Name is used in errors and findings; empty = its number.
	Name string
	// Knot is the index of the first knot. Edges are given in the order of their
	// knots.
	Knot int
	// StartMM and EndMM are the distances in mm, 0 to [MaxMM], at the two ends;
	// between them the distance changes linearly with arc length. 0 = the cut
	// line is the edge itself. Both must be 0 when Folds is given.
	StartMM, EndMM float64
	// Folds, when given, makes the edge a fold line: the depths in mm of the
	// layers folded back one after the other, such as {40, 10} for a hem of 40 mm
	// with 10 mm turned under. The cut line runs at the sum of them. Each end of
	// the flap mirrors what it will lie on, the neighbour's allowance included:
	// exactly about a straight fold, along the fold's normals about a curved one.
	// No layer may be deeper than the one before.
	Folds []float64
	// Crease says that the cloth itself is folded along the edge: flaps beside it run
	// straight on along it, since a crease does.
	Crease bool
	// Corner is the shape of the corner at Knot.
	Corner Join
}

// Options tune the drawing of cut lines. The zero value is usable.
type Options struct {
	// TolMM is the greatest distance in mm of the drawn curve from the true
	// parallel curve, 0.001 to 1; 0 = 0.01.
	TolMM float64
	// MiterLimit is how far from its corner a cut line may run on, as a multiple
	// of the wider distance there, at least 1; 0 = 4, which cuts off corners
	// below 29 degrees.
	MiterLimit float64
}

// Result is a closed cut line.
type Result struct {
	// Path has the direction of the outline.
	Path geometry.Path
	// EdgeOf holds, for each segment of Path, the index of the edge that it
	// belongs to. An edge may have several stretches. A step between two widths
	// belongs to the edge with the narrower one, the ends of a flap to the folded
	// edge.
	EdgeOf []int
	// Folds has one entry for each folded edge, in the order of the edges.
	Folds []Fold
	// Findings say what the person should know; see the Code constants.
	Findings []geometry.Finding
}

// Fold is what is to be known about a folded edge.
type Fold struct {
	// Edge is its index.
	Edge int
	// Lines are the fold lines from the edge outwards, and last the cut edge.
	Lines []FoldLine
}

// FoldLine is a line across the flap of a folded edge.
type FoldLine struct {
	// OutMM is its distance from the edge, OnMM the height in the garment above
	// the edge at which it lies when all is folded, both in mm.
	OutMM, OnMM float64
	// Line runs from one end of the flap to the other, in the direction of the
	// edge.
	Line []geometry.Segment
	// ExcessMM is by how much the line is longer than the place it lies on:
	// positive = to be eased in, negative = too short, to be stretched or cut as
	// a facing. It is 0 about a straight fold. Corners inside the edge count as
	// if rounded.
	ExcessMM float64
}

// Codes of findings.
const (
	// CodeGap: allowances close a gap in the piece.
	CodeGap = "allowances-meet"
	// CodeFoldEnd: an end of a folded edge could not be mirrored and was shaped
	// like any other corner.
	CodeFoldEnd = "fold-end"
	// CodeFoldDeep: a fold reaches further than the edge beside it.
	CodeFoldDeep = "fold-deep"
	// CodeFoldLength: a flap is longer or shorter than what it lies on.
	CodeFoldLength = "fold-length"
)

// CutLine returns the cut line round a closed outline (mm; counter-clockwise, or
// clockwise for the outline of a hole). The edges together make up the outline.
//
// Where all distances are 0 the path is the outline, knot by knot. Else it
// follows the true parallel curves within Options.TolMM, never crosses itself,
// and every edge keeps a part of it.
//
// It fails with [ErrOutline], [ErrEdges], [ErrDistance] or [ErrOptions] when the
// input makes no sense, and with a [*TooWideError], which names the edge and the
// largest width that works, when an edge would lose its last part. [ErrTangled]
// is the last resort where stretches of the cut line lie exactly on each other.
func CutLine(outline geometry.Path, edges []Edge, opt Options) (Result, error) {
	opt, err := opt.filled()
	if err != nil {
		return Result{}, err
	}
	if err := errors.Join(checkOutline(outline), checkEdges(outline, edges)); err != nil {
		return Result{}, err
	}
	res, err := cutLine(outline, edges, opt)
	for try := 1; errors.Is(err, ErrTangled) && try <= 4; try++ {
		// Lines that touch exactly come apart when the widths change by a hair.
		res, err = cutLine(outline, scaled(edges, 1-3e-6*float64(try)), opt)
	}
	var lost lostError
	if errors.As(err, &lost) {
		return Result{}, tooWide(outline, edges, opt, int(lost))
	}
	return res, err
}

// cutLine works on checked input. It fails with a lostError where an edge would
// lose its last part.
func cutLine(outline geometry.Path, edges []Edge, opt Options) (Result, error) {
	res := Result{}
	if unmoved(edges) {
		res.Path, res.EdgeOf = outline, edgeOfKnots(len(outline), edges)
		return res, nil
	}
	w := newWork(outline, edges, opt)
	raw := w.raw()
	if w.lost >= 0 {
		return Result{}, lostError(w.lost)
	}
	ring, gaps, err := outer(raw, w.hole)
	if err != nil {
		return Result{}, err
	}
	if e := missing(ring, len(edges)); e >= 0 {
		return Result{}, lostError(e)
	}
	res.Path, res.EdgeOf = ring.tidy().path()
	res.Folds, res.Findings = w.folds, append(w.findings, w.narrowed(ring)...)
	for _, g := range gaps {
		at := g
		res.Findings = append(res.Findings, geometry.Finding{
			Code: CodeGap, Severity: geometry.SeverityWarning, Where: &at,
			Message: "the allowances close a gap in the piece; what is left open in it is not cut out",
			Remedy:  "give the edges beside the gap a smaller allowance",
		})
	}
	return res, nil
}

// Parallel returns the curve beside an open chain of segments, each beginning
// where the one before ends: to the right of its direction by a distance in mm
// (negative = to the left) that changes linearly with arc length from startMM to
// endMM. Corners are joined as by [Meet], loops where the chain bends more
// tightly than the distance are cut off.
//
// The result is within Options.TolMM of the true parallel curve. It fails with
// [ErrDistance] or [ErrOptions] for senseless input, with [ErrOutline] for a
// chain that is broken, and with a [*TooWideError] (edge 0) when all that is left
// would run backwards.
func Parallel(line []geometry.Segment, startMM, endMM float64, opt Options) ([]geometry.Segment, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := checkChain(line, startMM, endMM); err != nil {
		return nil, err
	}
	out := parallel(line, startMM, endMM, opt)
	if out == nil {
		works := func(f float64) bool { return parallel(line, f*startMM, f*endMM, opt) != nil }
		most := math.Max(math.Abs(startMM), math.Abs(endMM))
		return nil, &TooWideError{AskedMM: most, LargestMM: most * largest(works)}
	}
	return out, nil
}

// parallel returns nil where nothing sensible is left.
func parallel(line []geometry.Segment, d0, d1 float64, opt Options) []geometry.Segment {
	flip := d0 < 0 || d1 < 0
	if flip { // work on the right: run the other way
		line, d0, d1 = reversedSegments(line), -d1, -d0
	}
	w := &work{opt: opt, lost: -1}
	e := w.edge(line, Edge{StartMM: d0, EndMM: d1}, 0)
	c := open(e.line)
	if len(c) == 0 || startDir(c[0].seg).Dot(startDir(line[0])) <= 0 ||
		endDir(c[len(c)-1].seg).Dot(endDir(line[len(line)-1])) <= 0 {
		return nil
	}
	if flip {
		c = c.reversed()
	}
	out := make([]geometry.Segment, len(c))
	for i, s := range c {
		out[i] = s.seg
	}
	return out
}

func reversedSegments(s []geometry.Segment) []geometry.Segment {
	out := make([]geometry.Segment, len(s))
	for i := range s {
		out[len(s)-1-i] = reverse(s[i])
	}
	return out
}

// path turns a closed ring of spans into knots. A knot is smooth where the
// tangents agree within a milliradian.
func (c chain) path() (geometry.Path, []int) {
	path, edges := make(geometry.Path, len(c)), make([]int, len(c))
	for i, s := range c {
		before := c[(i+len(c)-1)%len(c)].seg
		k := geometry.Knot{At: s.seg.A}
		if before.Curved {
			in := before.C
			k.In = &in
		}
		if s.seg.Curved {
			out := s.seg.B
			k.Out = &out
		}
		a, b := endDir(before), startDir(s.seg)
		k.Corner = math.Abs(a.Cross(b)) > 1e-3 || a.Dot(b) < 0
		path[i], edges[i] = k, s.edge
	}
	return path, edges
}

// missing returns the first edge without a part of its own, or -1.
func missing(c chain, edges int) int {
	const part = 0.05 // mm; less than that is no part
	length := make([]float64, edges)
	for _, s := range c {
		if s.own && length[s.edge] < part {
			length[s.edge] += s.seg.A.Dist(s.seg.D)
		}
	}
	for i, l := range length {
		if l < part {
			return i
		}
	}
	return -1
}

func unmoved(edges []Edge) bool {
	for _, e := range edges {
		if e.StartMM != 0 || e.EndMM != 0 || len(e.Folds) > 0 {
			return false
		}
	}
	return true
}

func edgeOfKnots(knots int, edges []Edge) []int {
	out := make([]int, knots)
	e := len(edges) - 1
	for k := range out {
		if next := (e + 1) % len(edges); edges[next].Knot == k {
			e = next
		}
		out[k] = e
	}
	return out
}
