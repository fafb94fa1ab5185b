package pattern

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// Codes of the findings of carrying edges and marks over to another outline.
const (
	// CodeEdgeLost: an edge has no place on the outline any more.
	CodeEdgeLost = "edge-lost"
	// CodeEdgeMoved: an edge begins somewhere else than before.
	CodeEdgeMoved = "edge-moved"
)

// Judgements of carrying over, tuned on nothing but the demo garment.
const (
	// cornerPull is what a millimetre to a corner counts beside one to any other
	// point, for an edge that began at a corner.
	cornerPull = 0.2
	// knotGainMM is how much further away a knot may be than the nearest point
	// before a knot is put in there.
	knotGainMM = 1.0
	// movedMM is from where on a new place is reported.
	movedMM = 10.0
)

// CarryOver returns the piece with another outline, as dragging, fitting or tracing
// again makes it, and its edges and marks on it. Where knots can be told to be the
// same ones, edges stay on them, however far they were moved; else an edge begins at
// the knot nearest to where it began, a corner where it was one, and where there is
// none near, a knot is put into the outline, which does not change its shape. Marks
// on edges keep edge and fraction; marks inside stay. An edge that finds no place is
// kept among the LostEdges and its marks are detached, and both are reported. The
// outline is in the frame of p.Knots and is not validated; it has a knot at least.
func (p Piece) CarryOver(knots geometry.Path) (Piece, []geometry.Finding) {
	out := p
	if len(p.Edges) == 0 || len(p.Knots) == 0 {
		out.Knots, out.Edges = knots, NewEdges(knots)
		return out.attach(nil)
	}
	places := rehang(p, knots)
	out.Knots, out.Edges, out.LostEdges = knots, nil, slices.Clone(p.LostEdges)
	var findings []geometry.Finding
	cuts := putIn(&out.Knots, places)
	for i, e := range p.Edges {
		was := p.Knots[e.Knot].At
		if !places[i].found {
			e.Knot = 0
			out.LostEdges = append(out.LostEdges, e)
			findings = append(findings, lostEdge(p, e))
			continue
		}
		e.Knot = cuts[i]
		out.Edges = append(out.Edges, e)
		if now := out.Knots[e.Knot].At; !places[i].same && was.Dist(now) > movedMM {
			findings = append(findings, geometry.Finding{
				Code: CodeEdgeMoved, Severity: geometry.SeverityInfo, Piece: p.ID, Amount: was.Dist(now), Limit: movedMM,
				Message: fmt.Sprintf("%s: %s now begins %.0f mm from where it began.", p.Name, e.Name, was.Dist(now)),
				Remedy:  "Look whether it begins where it should.",
			})
		}
	}
	slices.SortStableFunc(out.Edges, func(a, b Edge) int { return a.Knot - b.Knot })
	return out.attach(findings)
}

// Refit returns the piece with another outline and edges that were drawn on it:
// marks on an edge that is still there stay on it, those inside stay where they are,
// and one whose edge is gone is kept, detached, and reported. It fails with
// ErrInvalid when the result is no piece.
func (p Piece) Refit(knots geometry.Path, edges []Edge) (Piece, []geometry.Finding, error) {
	out := p
	out.Knots, out.Edges = knots, slices.Clone(edges)
	out.LostEdges = slices.DeleteFunc(slices.Clone(p.LostEdges), func(e Edge) bool { return out.Edge(e.ID) >= 0 })
	out, findings := out.attach(nil)
	return out, findings, out.check("")
}

// attach detaches marks whose edge is gone and hangs back those whose edge is there
// again.
func (p Piece) attach(findings []geometry.Finding) (Piece, []geometry.Finding) {
	p.Marks = slices.Clone(p.Marks)
	for i := range p.Marks {
		m := &p.Marks[i]
		switch lost := m.Edge != "" && p.Edge(m.Edge) < 0; {
		case lost && m.Detached == "":
			m.Detached = fmt.Sprintf("its edge %q is gone", m.Edge)
			findings = append(findings, detached(p, *m))
		case !lost && m.Edge != "":
			m.Detached = ""
		}
	}
	return p, findings
}

func lostEdge(p Piece, e Edge) geometry.Finding {
	return geometry.Finding{
		Code: CodeEdgeLost, Severity: geometry.SeverityWarning, Piece: p.ID,
		Message: fmt.Sprintf("%s: the edge %q has no place on the outline any more.", p.Name, e.Name),
		Remedy:  "Say where it runs now, or remove it; its finish is kept until then.",
	}
}

// place is where an edge may begin on an outline: at parameter t of a segment.
type place struct {
	found   bool
	same    bool // the very knot at which it began
	segment int
	t       float64
	cost    float64
}

func (q place) pos() float64 { return float64(q.segment) + q.t }

// rehang returns where each edge of the piece begins on another outline.
func rehang(p Piece, knots geometry.Path) []place {
	sure := sameKnots(p.Knots, knots)
	choice := make([][]place, len(p.Edges))
	for i, e := range p.Edges {
		if j := sure(e.Knot); j >= 0 {
			choice[i] = []place{{found: true, same: true, segment: j}}
			continue
		}
		choice[i] = nearPlaces(p.Knots[e.Knot], knots)
	}
	return inOrder(choice, float64(len(knots)))
}

// sameKnots returns a function from the index of an old knot to that of the same
// knot on the new outline, or -1. Knots are the same where both outlines begin or end
// with knots in the same places, and one by one where their number did not change and
// some stayed or all moved about alike. Of a stretch between knots that stayed, the
// corners are the same ones when it has as many as before.
func sameKnots(old, now geometry.Path) func(int) int {
	n, m := len(old), len(now)
	head, tail := 0, 0
	for head < min(n, m) && old[head].At == now[head].At {
		head++
	}
	for tail < min(n, m)-head && old[n-1-tail].At == now[m-1-tail].At {
		tail++
	}
	if n == m && (head+tail > 0 || movedAlike(old, now)) {
		return func(i int) int { return i }
	}
	was, is := cornersOf(old, head, n-tail), cornersOf(now, head, m-tail)
	return func(i int) int {
		switch c := slices.Index(was, i); {
		case i < head:
			return i
		case i >= n-tail:
			return i - n + m
		case head+tail > 0 && c >= 0 && len(was) == len(is):
			return is[c]
		}
		return -1
	}
}

// cornersOf returns the indexes of the corners among some knots.
func cornersOf(knots geometry.Path, from, to int) []int {
	var out []int
	for i := from; i < to; i++ {
		if knots[i].Corner {
			out = append(out, i)
		}
	}
	return out
}

// movedAlike reports whether the knots of two outlines of as many knots differ, but
// for a common move, by less than a quarter of the way to a neighbour.
func movedAlike(old, now geometry.Path) bool {
	var move geometry.Vec
	n := float64(len(old))
	for i := range old {
		move = move.Add(now[i].At.Sub(old[i].At).Scale(1 / n))
	}
	var off, step float64
	for i := range old {
		off += math.Pow(now[i].At.Sub(old[i].At).Add(move.Scale(-1)).Len(), 2) / n
		step += old[i].At.Dist(old[(i+1)%len(old)].At) / n
	}
	return math.Sqrt(off) < step/4
}

// nearPlaces returns the best few places for an edge that began at a knot, cheapest
// first: knots, and the nearest points of the nearest segments.
func nearPlaces(k geometry.Knot, knots geometry.Path) []place {
	var at, on []place
	for j, q := range knots {
		d := k.At.Dist(q.At)
		if k.Corner && q.Corner {
			d *= cornerPull
		}
		at = append(at, place{found: true, segment: j, cost: d})
		t, d := nearestOn(knots.Segment(j), k.At, 8)
		on = append(on, place{found: true, segment: j, t: t, cost: d})
	}
	byCost := func(a, b place) int { return cmp.Compare(a.cost, b.cost) }
	slices.SortStableFunc(at, byCost)
	slices.SortStableFunc(on, byCost)
	out := slices.Clone(at[:min(len(at), 5)])
	for _, q := range on[:min(len(on), 3)] {
		q.t, q.cost = nearestOn(knots.Segment(q.segment), k.At, 64)
		if q.cost += knotGainMM; q.t > 1e-3 && q.t < 1-1e-3 {
			out = append(out, q)
		}
	}
	slices.SortStableFunc(out, byCost)
	return out
}

// nearestOn returns the parameter of the point of a segment nearest to q, searched at
// steps and then between them, and its distance in mm.
func nearestOn(s geometry.Segment, q geometry.Point, steps int) (t, dist float64) {
	dist = math.Inf(1)
	for i := range steps + 1 {
		u := float64(i) / float64(steps)
		if d := q.Dist(s.At(u)); d < dist {
			t, dist = u, d
		}
	}
	for h := 1 / float64(steps); h > 1e-5; h /= 2 {
		for _, u := range []float64{math.Max(t-h, 0), math.Min(t+h, 1)} {
			if d := q.Dist(s.At(u)); d < dist {
				t, dist = u, d
			}
		}
	}
	return t, dist
}

// inOrder chooses a place for each edge so that they follow one another once round an
// outline of the given number of segments, at the least cost. An edge is left out
// only where all do not fit.
func inOrder(choice [][]place, round float64) []place {
	var best []place
	least := math.Inf(1)
	for _, start := range choice[0] {
		got, cost := chain(choice, start, round)
		if cost < least {
			best, least = got, cost
		}
	}
	return best
}

// link is the cheapest way to place the edges up to one, which is at its place.
type link struct {
	off, cost  float64
	from, edge int // the link before, and the edge
	place
}

// chain places the edges after the first, which is at start (dynamic programming over
// the edges; at most three in a row are left out).
func chain(choice [][]place, start place, round float64) ([]place, float64) {
	const leftOut, reach = 1e7, 4
	links := []link{{cost: start.cost, from: -1, place: start}}
	begin := make([]int, len(choice)+1) // of the links of each edge
	begin[1] = 1
	for i := 1; i < len(choice); i++ {
		for _, q := range choice[i] {
			off := math.Mod(q.pos()-start.pos()+round, round)
			l := link{off: off, cost: math.Inf(1), from: -1, edge: i, place: q}
			for b := begin[max(i-reach, 0)]; b < begin[i]; b++ {
				before := links[b]
				if c := before.cost + q.cost + leftOut*float64(i-before.edge-1); off > before.off+1e-6 && c < l.cost {
					l.cost, l.from = c, b
				}
			}
			if l.from >= 0 {
				links = append(links, l)
			}
		}
		begin[i+1] = len(links)
	}
	last, least := 0, math.Inf(1)
	for b, l := range links {
		if c := l.cost + leftOut*float64(len(choice)-1-l.edge); c < least {
			last, least = b, c
		}
	}
	out := make([]place, len(choice))
	for b := last; b >= 0; b = links[b].from {
		out[links[b].edge] = links[b].place
	}
	return out, least
}

// putIn puts knots into an outline where places lie inside its segments, and returns
// the index of the knot of each place.
func putIn(knots *geometry.Path, places []place) []int {
	cuts := make([][]int, len(*knots)) // the places in each segment, in order
	for i, q := range places {
		if q.found {
			cuts[q.segment] = append(cuts[q.segment], i)
		}
	}
	ring, extra := slices.Clone(*knots), make([][]geometry.Knot, len(*knots))
	for j, of := range cuts {
		slices.SortFunc(of, func(a, b int) int { return cmp.Compare(places[a].t, places[b].t) })
		rest, from := ring.Segment(j), 0.0
		for _, i := range of {
			t := places[i].t
			if t == 0 {
				continue
			}
			var head geometry.Segment
			head, rest = rest.Split((t - from) / (1 - from))
			from = t
			k := geometry.Knot{At: rest.A}
			if rest.Curved {
				before := &ring[j]
				if n := len(extra[j]); n > 0 {
					before = &extra[j][n-1]
				}
				before.Out, k.In, k.Out = &head.B, &head.C, &rest.B
				ring[(j+1)%len(ring)].In = &rest.C
			}
			extra[j] = append(extra[j], k)
		}
	}
	index, out := make([]int, len(places)), geometry.Path{}
	for j, k := range ring {
		at := len(out)
		out = append(append(out, k), extra[j]...)
		for _, i := range cuts[j] {
			if places[i].t > 0 {
				at++
			}
			index[i] = at
		}
	}
	*knots = out
	return index
}
