package reconcile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// shape is one piece of a drawn garment: corners, handles of curved edges, edge names.
type shape struct {
	name    string
	corners [][2]float64
	curves  map[int][4]float64 // the edge that begins at a corner: both handles
	edges   []string
}

// shapes are the left halves of a drawn smock with yoke, collar and pocket: 12 pieces
// with their mirror images.
var shapes = []shape{
	{
		"front",
		[][2]float64{{0, 0}, {260, 0}, {260, 390}, {210, 600}, {90, 640}, {0, 540}},
		map[int][4]float64{2: {205, 430, 200, 540}, 4: {85, 580, 50, 545}},
		[]string{"hem", "side", "armhole", "shoulder", "neck", "centre"},
	},
	{
		"back",
		[][2]float64{{0, 0}, {270, 0}, {270, 390}, {215, 480}, {0, 480}},
		map[int][4]float64{2: {240, 410, 220, 440}},
		[]string{"hem", "side", "armhole", "yoke", "centre"},
	},
	{
		"yoke",
		[][2]float64{{0, 0}, {215, 0}, {220, 130}, {95, 175}, {0, 160}},
		map[int][4]float64{1: {212, 40, 214, 90}, 3: {70, 162, 35, 160}},
		[]string{"lower", "armhole", "shoulder", "neck", "centre"},
	},
	{
		"sleeve",
		[][2]float64{{0, 0}, {240, 0}, {330, 380}, {-90, 380}},
		map[int][4]float64{2: {230, 560, 10, 560}},
		[]string{"cuff", "front seam", "cap", "back seam"},
	},
	{
		"collar",
		[][2]float64{{0, 0}, {215, 0}, {200, 70}, {0, 80}},
		map[int][4]float64{0: {70, 0, 150, 8}, 2: {150, 84, 60, 82}},
		[]string{"neck", "point", "outer", "centre"},
	},
	{
		"pocket",
		[][2]float64{{0, 0}, {150, 0}, {160, 170}, {-10, 170}},
		map[int][4]float64{0: {40, -22, 110, -22}},
		[]string{"bottom", "side right", "top", "side left"},
	},
}

// drawn returns a shape, or its mirror image, in a frame of its own.
func drawn(s shape, right bool, frame geometry.Rigid) pattern.Piece {
	p := pattern.Piece{ID: s.name + "-left", Name: s.name + " left", OutlineMeans: pattern.MeansStitchLine}
	n := len(s.corners)
	for i, c := range s.corners {
		p.Knots = append(p.Knots, geometry.Knot{At: geometry.Point{X: c[0], Y: c[1]}, Corner: true})
		p.Edges = append(p.Edges, pattern.Edge{ID: s.edges[i], Name: s.edges[i], Knot: i})
	}
	for i, h := range s.curves {
		p.Knots[i].Out, p.Knots[(i+1)%n].In = &geometry.Point{X: h[0], Y: h[1]}, &geometry.Point{X: h[2], Y: h[3]}
	}
	if !right {
		return p
	}
	p.ID, p.Name = s.name+"-right", s.name+" right"
	slices.Reverse(p.Knots)
	for i, k := range p.Knots {
		p.Knots[i].In, p.Knots[i].Out = k.Out, k.In
	}
	p.Knots = p.Knots.Map(func(q geometry.Point) geometry.Point { return frame.Apply(geometry.Point{X: -q.X, Y: q.Y}) })
	edges := slices.Clone(p.Edges)
	for i := range edges { // knot n-1-j is where edge j-1 ends
		p.Edges[i] = edges[(2*n-2-i)%n]
		p.Edges[i].Knot = i
	}
	return p
}

// smock is the true garment and its twins. The eases are those that the truth has.
func smock(t testing.TB, of []shape) (pattern.Garment, []twin.Pair) {
	t.Helper()
	g := pattern.Garment{Format: pattern.Format, Name: "smock"}
	var pairs []twin.Pair
	for i, s := range of {
		g.Pieces = append(g.Pieces, drawn(s, false, geometry.Rigid{}), drawn(s, true, geometry.Rigid{Turn: 0.01 * float64(i-2), Move: geometry.Point{X: 400, Y: 3}}))
		pairs = append(pairs, twin.Pair{A: s.name + "-left", B: s.name + "-right"})
	}
	seam := func(name, a, ea, b, eb string) {
		for _, side := range []string{"left", "right"} {
			_, okA := g.Piece(a + "-" + side)
			_, okB := g.Piece(b + "-" + side)
			if okA && okB {
				g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{
					ID: name + " " + side, Name: name + " " + side,
					A: []pattern.Run{{Piece: a + "-" + side, Edge: ea, Reverse: side == "right"}},
					B: []pattern.Run{{Piece: b + "-" + side, Edge: eb, Reverse: side == "right"}},
				})
			}
		}
	}
	seam("side", "front", "side", "back", "side")
	seam("shoulder", "front", "shoulder", "yoke", "shoulder")
	seam("yoke", "back", "yoke", "yoke", "lower")
	seam("sleeve", "sleeve", "front seam", "sleeve", "back seam")
	seam("neck", "collar", "neck", "front", "neck")
	seam("armhole", "sleeve", "cap", "front", "armhole")
	for i, s := range g.SeamPairs {
		if s.Name == "side left" || s.Name == "side right" {
			g.SeamPairs[i].RunsOnStart = true // the hem
		}
	}
	r, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range r.Seams {
		g.SeamPairs[i].EaseMM = s.AMM - s.BMM
	}
	return g, pairs
}

// doubtOf states how sure pieces are: each to 0.6 mm, but for frayed edges.
func doubtOf(g pattern.Garment, frayed map[string]float64) pattern.Garment {
	out := g
	out.Pieces = nil
	for _, p := range g.Pieces {
		p.UncertaintyMM = 0.6
		p.Unsure = nil
		for k, e := range p.Edges {
			if mm := frayed[p.ID+" "+e.ID]; mm > 0 {
				to := p.Knots[p.Edges[(k+1)%len(p.Edges)].Knot].At
				p.Unsure = append(p.Unsure, geometry.Stretch{From: p.Knots[e.Knot].At, To: to, Why: "frayed", UncertaintyMM: mm})
			}
		}
		out.Pieces = append(out.Pieces, p)
	}
	return out
}

// worn returns the true garment as photos would show it: each stretch off by smooth
// noise of its stated uncertainty.
func worn(truth pattern.Garment, rnd *rand.Rand) pattern.Garment {
	out := truth
	out.Pieces = nil
	for _, p := range truth.Pieces {
		f := newField(p)
		e := make([]float64, len(f.nodes))
		for _, r := range f.runs {
			n := r.to - r.from
			cov := mat.NewSymDense(n, nil)
			for i := range n {
				for j := i; j < n; j++ {
					cov.SetSym(i, j, f.covariance(r, f.nodes[r.from+i], f.nodes[r.from+j]))
				}
				cov.SetSym(i, i, cov.At(i, i)+1e-12)
			}
			var chol mat.Cholesky
			if !chol.Factorize(cov) {
				panic("the covariance is not positive")
			}
			var low mat.TriDense
			chol.LTo(&low)
			white, off := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
			for i := range n {
				white.SetVec(i, rnd.NormFloat64())
			}
			off.MulVec(&low, white)
			for i := range n {
				e[r.from+i] = off.AtVec(i)
			}
		}
		q := f.bend(e)
		for i, s := range q.Unsure { // stretches lie on the outline as it is seen
			s.From, s.To = nearestKnot(q.Knots, s.From), nearestKnot(q.Knots, s.To)
			q.Unsure[i] = s
		}
		out.Pieces = append(out.Pieces, q)
	}
	return out
}

func nearestKnot(p geometry.Path, q geometry.Point) geometry.Point {
	best := p[0].At
	for _, k := range p {
		if k.Corner && k.At.Dist(q) < best.Dist(q) {
			best = k.At
		}
	}
	return best
}

// places are where an edge is compared with the truth, in parts of its length: not at
// its ends, which belong to its neighbours as well.
var places = []float64{0.1, 0.3, 0.5, 0.7, 0.9}

// errorsOf returns how far an outline lies from the true one, along the normals of an
// edge of the latter, at places; NaN where it does not cross a normal within 12 mm.
func errorsOf(is, truth pattern.Piece, edge int) []float64 {
	line := is.Knots.Flatten(0.005)
	var out []float64
	for _, part := range places {
		p, n := placeOn(truth, edge, part)
		best := math.NaN()
		for i, a := range line {
			b := line[(i+1)%len(line)]
			u, v := a.Sub(p).Cross(n), b.Sub(p).Cross(n)
			if (u > 0) == (v > 0) {
				continue
			}
			d := a.Lerp(b, u/(u-v)).Sub(p).Dot(n)
			if math.Abs(d) < 12 && !(math.Abs(d) > math.Abs(best)) {
				best = d
			}
		}
		out = append(out, best)
	}
	return out
}

// placeOn returns a point of an edge of a piece and the outward normal there.
func placeOn(p pattern.Piece, edge int, part float64) (geometry.Point, geometry.Vec) {
	n, from := len(p.Knots), p.Edges[edge].Knot
	to := p.Edges[(edge+1)%len(p.Edges)].Knot
	var line []geometry.Segment
	var total float64
	for j := from; j != to; j = (j + 1) % n {
		line = append(line, p.Knots.Segment(j))
		total += p.Knots.Segment(j).Length()
	}
	want := part * total
	for _, s := range line {
		const parts = 200
		for i := range parts {
			t := float64(i) / parts
			l := s.At(t).Dist(s.At(t + 1.0/parts))
			if want -= l; want <= 0 {
				d := s.Deriv(t).Unit()
				return s.At(t), geometry.Vec{X: d.Y, Y: -d.X}
			}
		}
	}
	panic("an edge without length")
}

// variancesOf returns what theory says of the squared errors at places of an edge: the
// variance of the move there, which lies between those of two nodes.
func variancesOf(r Result, blocks []block, piece, edge int) []float64 {
	s := r.solver
	f := s.fields[piece]
	nodes, at := f.alongEdge(edge), []float64{0}
	for _, j := range f.segmentsOf(edge) { // corners are nodes of two edges only at its ends
		at = append(at, at[len(at)-1]+f.path.Segment(j).Length())
	}
	total := at[len(at)-1]
	for i := range at {
		at[i] /= total
	}
	var out []float64
	for _, part := range places {
		k := 1
		for k < len(at)-1 && at[k] < part {
			k++
		}
		w := (part - at[k-1]) / (at[k] - at[k-1])
		a, b := s.first[piece]+nodes[k-1], s.first[piece]+nodes[k]
		for _, q := range blocks {
			if a >= q.first && a < q.first+q.n {
				c := func(i, j int) float64 { return q.cov.At(i-q.first, j-q.first) }
				out = append(out, (1-w)*(1-w)*c(a, a)+2*w*(1-w)*c(a, b)+w*w*c(b, b))
			}
		}
	}
	return out
}

func all(g pattern.Garment) []EdgeRef {
	var out []EdgeRef
	for _, p := range g.Pieces {
		for _, e := range p.Edges {
			out = append(out, EdgeRef{p.ID, e.ID})
		}
	}
	return out
}
