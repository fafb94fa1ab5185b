package reconcile

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

const (
	// Bound is the greatest move of a stretch, in units of the distance within which
	// 95 % of its true edge is expected to lie.
	Bound = 1.0
	// AlikeMM is the length over which errors of an edge are alike: the range of their
	// correlation (judgement: the span of a fitted curve).
	AlikeMM = 60.0
	// sigmas is how many standard deviations hold 95 % of normal errors.
	sigmas = 1.96

	nodeMM     = 50.0               // between the places of a curve that may move by themselves
	cornerTurn = 30 * math.Pi / 180 // knots that turn by more move as two edges say
)

// node is a place of the outline that moves along its normal.
type node struct {
	knot   int // of field.path
	at     geometry.Point
	normal geometry.Vec // outward
	along  float64      // mm from where its run begins
	doubt  float64      // mm, 95 %
	edge   int          // the edge it belongs to
	beside int          // the edge that it belongs to as well, or the same
}

// run is a stretch of nodes between two corners.
type run struct {
	from, to int // nodes, to excluded
	length   float64
	closed   bool // all round, without a corner
}

// field is a piece and the moves that its outline can make.
type field struct {
	piece pattern.Piece
	path  geometry.Path // the outline with knots where nodes are
	was   []int         // the segment of the piece's outline that each segment is of
	edges []int         // the edge that each segment belongs to
	nodes []node
	runs  []run
	ends  [][2]int // the nodes at both ends of each segment of path
}

// newField prepares a piece.
func newField(p pattern.Piece) *field {
	f := &field{piece: p}
	doubts := p.Doubts()
	var doubt []float64 // of each segment of path
	for j := range p.Knots {
		parts, mm := divide(p.Knots.Segment(j), float64(j), doubts)
		for i, s := range parts {
			k := geometry.Knot{At: s.A}
			if i == 0 {
				k.Corner = p.Knots[j].Corner
			}
			f.path = append(f.path, k)
			f.was = append(f.was, j)
			doubt = append(doubt, mm[i])
			if s.Curved {
				f.path[len(f.path)-1].Out = &parts[i].B
			}
		}
	}
	for j, seg := 0, 0; j < len(p.Knots); j++ { // and the handles that come in
		parts, _ := divide(p.Knots.Segment(j), float64(j), doubts)
		for i, s := range parts {
			if s.Curved {
				f.path[(seg+1)%len(f.path)].In = &parts[i].C
			}
			seg++
		}
	}
	for _, j := range f.was {
		f.edges = append(f.edges, edgeAt(p, j))
	}
	f.walk(doubt)
	return f
}

// edgeAt returns the edge that a segment of the outline belongs to.
func edgeAt(p pattern.Piece, j int) int {
	k := len(p.Edges) - 1
	for i, e := range p.Edges {
		if e.Knot <= j {
			k = i
		}
	}
	return k
}

// divide cuts a segment of the outline where nodes are to be, and returns how
// uncertain each part is. A line is one part: what the greater part of it is.
func divide(s geometry.Segment, pos float64, d pattern.Doubts) ([]geometry.Segment, []float64) {
	if !s.Curved {
		const parts = 16
		var all []float64
		for i := range parts {
			all = append(all, d.At(pos+(float64(i)+0.5)/parts))
		}
		slices.Sort(all)
		return []geometry.Segment{s}, []float64{all[(parts-1)/2]}
	}
	n := max(1, int(math.Ceil(s.Length()/nodeMM)))
	cuts := []float64{0, 1}
	for i := 1; i < n; i++ {
		cuts = append(cuts, float64(i)/float64(n))
	}
	for _, b := range d.Bounds() {
		if t := b - pos; t > 0 && t < 1 {
			cuts = append(cuts, t)
		}
	}
	slices.Sort(cuts)
	var out []geometry.Segment
	var mm []float64
	from, rest := 0.0, s
	for _, t := range cuts[1:] {
		if (t-from)*s.Length() < 2 && t < 1 { // a stub moves with its neighbour
			continue
		}
		var head geometry.Segment
		head, rest = rest.Split((t - from) / (1 - from))
		out, mm = append(out, head), append(mm, d.At(pos+(from+t)/2))
		from = t
	}
	return out, mm
}

// walk sets nodes and runs.
func (f *field) walk(doubt []float64) {
	n := len(f.path)
	first := 0
	for first < n && !f.corner(first) {
		first++
	}
	closed := first == n
	first %= n
	f.ends = make([][2]int, n)
	begin := func() { f.runs = append(f.runs, run{from: len(f.nodes), closed: closed}) }
	begin()
	along := 0.0
	for i := range n {
		j := (first + i) % n
		f.nodes = append(f.nodes, f.nodeAt(j, along, doubt[j]))
		f.ends[j][0] = len(f.nodes) - 1
		l := f.path.Segment(j).Length()
		along += l
		next := (j + 1) % n
		here := &f.runs[len(f.runs)-1]
		switch {
		case closed && i == n-1:
			f.ends[j][1] = here.from
		case f.corner(next):
			end := f.nodeAt(next, along, doubt[j])
			end.normal, end.edge = f.normalOf(j, 1), f.edges[j]
			end.beside = end.edge
			f.nodes = append(f.nodes, end)
			f.ends[j][1] = len(f.nodes) - 1
		default:
			f.ends[j][1] = len(f.nodes)
		}
		if !closed && f.corner(next) || i == n-1 {
			here.to, here.length = len(f.nodes), along
			if i < n-1 {
				begin()
				along = 0
			}
		}
	}
	for j := range n { // a node is as sure as the surer of its neighbours
		for _, i := range f.ends[j] {
			f.nodes[i].doubt = math.Min(f.nodes[i].doubt, doubt[j])
		}
	}
}

// nodeAt returns the node of a knot, as its following segment says.
func (f *field) nodeAt(j int, along, doubt float64) node {
	n := len(f.path)
	before := (j + n - 1) % n
	out := node{knot: j, at: f.path[j].At, normal: f.normalOf(j, 0), along: along, doubt: doubt, edge: f.edges[j], beside: f.edges[before]}
	if f.corner(j) {
		out.beside = out.edge
		return out
	}
	out.normal = out.normal.Add(f.normalOf(before, 1)).Unit()
	return out
}

// normalOf returns the outward normal of a segment at one of its ends.
func (f *field) normalOf(j int, t float64) geometry.Vec {
	d := heading(f.path.Segment(j), t)
	return geometry.Vec{X: d.Y, Y: -d.X}
}

// heading returns the unit direction at an end of a segment, also where a handle lies
// on its knot.
func heading(s geometry.Segment, t float64) geometry.Vec {
	for _, by := range []float64{0, 1e-3, 1e-2, 0.1} {
		if d := s.Deriv(t + by*(1-2*t)); d.Len() > 1e-6 {
			return d.Unit()
		}
	}
	return s.D.Sub(s.A).Unit()
}

// corner reports whether the outline turns sharply at a knot.
func (f *field) corner(j int) bool {
	n := len(f.path)
	in, out := heading(f.path.Segment((j+n-1)%n), 1), heading(f.path.Segment(j), 0)
	return math.Abs(math.Atan2(in.Cross(out), in.Dot(out))) > cornerTurn
}

// covariance returns how the moves of two nodes are alike before anything is compared,
// in mm2: correlated as of Matérn's class with 3/2 along a run, not at all between runs.
func (f *field) covariance(r run, a, b node) float64 {
	d := math.Abs(a.along - b.along)
	if r.closed { // the chord of a ring, which keeps the covariance positive
		d = r.length / math.Pi * math.Sin(math.Pi*d/r.length)
	}
	u := math.Sqrt(3) * d / AlikeMM
	return a.doubt * b.doubt / (sigmas * sigmas) * (1 + u) * math.Exp(-u)
}

// segmentsOf returns the segments of path of an edge, in order.
func (f *field) segmentsOf(k int) []int {
	var out []int
	n := len(f.path)
	start := slices.Index(f.was, f.piece.Edges[k].Knot)
	for i := range n {
		j := (start + i) % n
		if f.edges[j] != k {
			break
		}
		out = append(out, j)
	}
	return out
}

// alongEdge returns the nodes of an edge in order.
func (f *field) alongEdge(k int) []int {
	var out []int
	for _, j := range f.segmentsOf(k) {
		if i := f.ends[j][0]; len(out) == 0 || out[len(out)-1] != i {
			out = append(out, i)
		}
		out = append(out, f.ends[j][1])
	}
	return out
}
