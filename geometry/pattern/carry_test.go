package pattern_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// drawBlob draws a star-shaped outline of lines and curves with an edge from each
// corner, and now and then one from a smooth knot; marks hang on all edges.
func drawBlob(t *rapid.T) pattern.Piece {
	n := rapid.IntRange(4, 14).Draw(t, "knots")
	p := pattern.Piece{ID: "p", Name: "Panel"}
	for i := range n {
		a := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.4).Draw(t, "turn")) / float64(n)
		r := rapid.Float64Range(150, 300).Draw(t, "radius")
		at := geometry.Point{X: r * math.Cos(a), Y: r * math.Sin(a)}
		k := geometry.Knot{At: at, Corner: i%3 == 0 || rapid.Bool().Draw(t, "corner")}
		if along := (geometry.Vec{X: -math.Sin(a), Y: math.Cos(a)}).Scale(0.3 * r / float64(n)); rapid.Bool().Draw(t, "curved") {
			in, out := at.Add(along.Scale(-1)), at.Add(along)
			k.In, k.Out = &in, &out
		}
		p.Knots = append(p.Knots, k)
		if k.Corner || rapid.IntRange(0, 4).Draw(t, "split") == 0 {
			id := fmt.Sprintf("e%d", i)
			p.Edges = append(p.Edges, pattern.Edge{ID: id, Name: id, Knot: i, Finish: &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 10}})
			p.Marks = append(p.Marks, pattern.Mark{ID: "on-" + id, Kind: pattern.MarkNotch, Edge: id, At: 0.5})
		}
	}
	p.Marks = append(p.Marks, pattern.Mark{ID: "hole", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: 3, Y: 4}}})
	return p
}

// begins returns where each edge begins.
func begins(p pattern.Piece) map[string]geometry.Point {
	out := map[string]geometry.Point{}
	for _, e := range p.Edges {
		out[e.ID] = p.Knots[e.Knot].At
	}
	return out
}

// nothingLost holds what carrying over promises whatever the outline is.
func nothingLost(t *rapid.T, before, after pattern.Piece) {
	all := func(p pattern.Piece) map[string]*pattern.Finish {
		out := map[string]*pattern.Finish{}
		for _, e := range append(slices.Clone(p.Edges), p.LostEdges...) {
			out[e.ID] = e.Finish
		}
		return out
	}
	if was, is := all(before), all(after); !maps.Equal(was, is) {
		t.Fatalf("edges %v became %v", was, is)
	}
	if len(after.Marks) != len(before.Marks) {
		t.Fatalf("%d marks became %d", len(before.Marks), len(after.Marks))
	}
	for i, m := range after.Marks {
		if was := before.Marks[i]; m.ID != was.ID || m.At != was.At || m.Edge != was.Edge || !slices.Equal(m.Points, was.Points) {
			t.Fatalf("mark %+v became %+v", was, m)
		}
		if gone := m.Edge != "" && after.Edge(m.Edge) < 0; gone != (m.Detached != "") {
			t.Fatalf("mark %s: edge gone: %v, detached: %q", m.ID, gone, m.Detached)
		}
	}
	if err := after.ValidateParts(); err != nil {
		t.Fatal(err)
	}
}

// However many knots are dragged, edges stay on theirs as long as one knot, or the
// look of the whole, stays.
func TestEdgesStayOnDraggedKnots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawBlob(t)
		knots := slices.Clone(p.Knots)
		by := geometry.Vec{X: rapid.Float64Range(-400, 400).Draw(t, "x"), Y: rapid.Float64Range(-400, 400).Draw(t, "y")}
		for i := range knots {
			if rapid.Bool().Draw(t, "dragged") {
				knots[i].At = knots[i].At.Add(by)
			}
		}
		if rapid.Bool().Draw(t, "all") {
			knots = p.Knots.Map(func(q geometry.Point) geometry.Point { return q.Add(by) })
		} else {
			knots[0] = p.Knots[0]
		}
		q, findings := p.CarryOver(knots)
		nothingLost(t, p, q)
		if !slices.EqualFunc(q.Edges, p.Edges, func(a, b pattern.Edge) bool { return a == b }) || len(findings) > 0 || len(q.Knots) != len(knots) {
			t.Fatalf("edges %v became %v, with findings %v", p.Edges, q.Edges, findings)
		}
	})
}

// The same shape with knots put in, and begun at another knot, as fitting again makes
// it: every edge begins where it began.
func TestEdgesStayWhereTheShapeStays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawBlob(t)
		var knots geometry.Path
		for i, k := range p.Knots {
			knots = append(knots, k)
			if !rapid.Bool().Draw(t, "split") {
				continue
			}
			s := p.Knots.Segment(i)
			head, tail := s.Split(rapid.Float64Range(0.2, 0.8).Draw(t, "at"))
			mid := geometry.Knot{At: tail.A}
			if s.Curved {
				knots[len(knots)-1].Out, mid.In, mid.Out = &head.B, &head.C, &tail.B
				// The next knot's handle would change too; a straight end is near enough
				// for what is tested, which is where edges begin.
			}
			knots = append(knots, mid)
		}
		turn := rapid.IntRange(0, len(knots)-1).Draw(t, "first")
		knots = append(slices.Clone(knots[turn:]), knots[:turn]...)
		q, findings := p.CarryOver(knots)
		nothingLost(t, p, q)
		was, is := begins(p), begins(q)
		for id, at := range was {
			if is[id] != at {
				t.Fatalf("%s began at %v and begins at %v", id, at, is[id])
			}
		}
		if len(findings) > 0 || len(q.Knots) != len(knots) {
			t.Fatalf("findings %v, %d knots became %d", findings, len(knots), len(q.Knots))
		}
	})
}

// Traced again, with knots in other places along smooth curves: edges begin near
// where they began, at a corner where they did, and putting knots in leaves the shape
// as it is.
func TestEdgesAfterTracingAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawBlob(t)
		shake := func(q geometry.Point) geometry.Point {
			return q.Add(geometry.Vec{X: rapid.Float64Range(-0.5, 0.5).Draw(t, "x"), Y: rapid.Float64Range(-0.5, 0.5).Draw(t, "y")})
		}
		const steps = 12
		var knots geometry.Path
		for i, k := range p.Knots {
			if k.Corner {
				knots = append(knots, geometry.Knot{At: shake(k.At), Corner: true})
			}
			for j := range steps {
				s := p.Knots.Segment(i)
				if q := s.At((float64(j) + 0.5) / steps); math.Min(q.Dist(s.A), q.Dist(s.D)) > 4 { // nearer ones no tracing makes
					knots = append(knots, geometry.Knot{At: shake(q)})
				}
			}
		}
		q, _ := p.CarryOver(knots)
		nothingLost(t, p, q)
		if len(q.LostEdges) > 0 {
			t.Fatalf("lost %v", q.LostEdges)
		}
		if math.Abs(q.Knots.Area()-knots.Area()) > 1e-6*knots.Area() {
			t.Fatalf("area %g became %g", knots.Area(), q.Knots.Area())
		}
		is := begins(q)
		for _, e := range p.Edges {
			k := p.Knots[e.Knot]
			limit := 1.0
			if !k.Corner {
				limit = 1.01 + away(knots.Flatten(0.01), k.At) // chords cut the curve there
			}
			if d := is[e.ID].Dist(k.At); d > limit {
				t.Fatalf("%s begins %.2f mm from where it began", e.ID, d)
			}
			if k.Corner && !q.Knots[q.Edges[q.Edge(e.ID)].Knot].Corner {
				t.Fatalf("%s began at a corner and does not now", e.ID)
			}
		}
	})
}

// away returns the distance of a point from a ring.
func away(ring geometry.Polyline, q geometry.Point) float64 {
	least := math.Inf(1)
	for i, a := range ring {
		d := ring[(i+1)%len(ring)].Sub(a)
		t := math.Min(math.Max(q.Sub(a).Dot(d)/math.Max(d.Dot(d), 1e-12), 0), 1)
		least = math.Min(least, q.Dist(a.Add(d.Scale(t))))
	}
	return least
}

// Any outline may come: nothing is lost, and the result has sound edges.
func TestCarryOverToAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawBlob(t)
		n := rapid.IntRange(1, 20).Draw(t, "n")
		var knots geometry.Path
		for range n {
			xy := func() *geometry.Point {
				return &geometry.Point{X: rapid.Float64Range(-900, 900).Draw(t, "x"), Y: rapid.Float64Range(-900, 900).Draw(t, "y")}
			}
			k := geometry.Knot{At: *xy(), Corner: rapid.Bool().Draw(t, "corner")}
			if rapid.Bool().Draw(t, "curved") {
				k.In, k.Out = xy(), xy()
			}
			knots = append(knots, k)
		}
		q, findings := p.CarryOver(knots)
		nothingLost(t, p, q)
		reported := 0
		for _, f := range findings {
			if f.Code == pattern.CodeEdgeLost {
				reported++
			}
		}
		if reported != len(q.LostEdges) {
			t.Fatalf("%d edges lost, %d reported", len(q.LostEdges), reported)
		}
		again, more := q.CarryOver(q.Knots)
		nothingLost(t, q, again)
		if len(more) > 0 || !slices.Equal(again.Edges, q.Edges) {
			t.Fatalf("carried over to the same outline: %v, %v", again.Edges, more)
		}
	})
}

// A corner is deleted: the edge that began there begins on the line that closed the
// gap, and the smooth start of another stays.
func TestDeletedKnot(t *testing.T) {
	p := pattern.Piece{ID: "p", Name: "Panel", Knots: corners(pt(0, 0), pt(300, 0), pt(300, 400), pt(0, 400))}
	p.Edges = []pattern.Edge{{ID: "a", Name: "hem", Knot: 0}, {ID: "b", Name: "side", Knot: 1}, {ID: "c", Name: "top", Knot: 2}, {ID: "d", Name: "fold", Knot: 3}}
	q, findings := p.CarryOver(corners(pt(0, 0), pt(300, 0), pt(0, 400)))
	if len(q.Edges) != 4 || len(q.LostEdges) > 0 || len(q.Knots) != 4 || codes(findings) != pattern.CodeEdgeMoved {
		t.Fatalf("edges %v, lost %v, findings %v", q.Edges, q.LostEdges, findings)
	}
	at := q.Knots[q.Edges[2].Knot].At
	if d := math.Abs(at.X/300 + at.Y/400 - 1); d > 1e-4 {
		t.Errorf("top begins at %v, off the line that closed the gap", at)
	}
}

func TestKnotsFewerThanEdges(t *testing.T) {
	p := pattern.Piece{ID: "p", Name: "Panel", Knots: corners(pt(0, 0), pt(300, 0), pt(300, 400), pt(0, 400))}
	p.Edges = pattern.NewEdges(p.Knots)
	q, _ := p.CarryOver(corners(pt(5, 5)))
	if len(q.Edges)+len(q.LostEdges) != 4 || len(q.Edges) == 0 {
		t.Errorf("edges %v, lost %v", q.Edges, q.LostEdges)
	}
}
