package offset

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// CodeNarrow is the code of the finding that an edge lost some of its width at a tight
// bend.
const CodeNarrow = "allowance-narrow"

// Edges that bend more tightly than they are wide, those beside them, and wide ones are
// looked at again when all is drawn: elsewhere the line was never seen to come too
// near, on thousands of random shapes from 80 mm on.
const (
	lookFrom   = 40.0 // mm of width
	narrowMM   = 0.05 // what is missing before it is said
	chordMM    = 0.01 // how true the edge is taken for it
	maxLooking = 4e6  // comparisons; an edge with more is looked at in fewer places
)

// narrowed reports edges whose own part of the cut line comes nearer to them than
// their width.
func (w *work) narrowed(ring chain) []geometry.Finding {
	var out []geometry.Finding
	n := len(w.edges)
	for i, e := range w.edges {
		least := math.Min(e.StartMM, e.EndMM)
		tight := e.tight || w.edges[(i+n-1)%n].tight || w.edges[(i+1)%n].tight
		if least == 0 || least < lookFrom && !tight {
			continue
		}
		missing, where := shortest(ring, i, chords(e.stitch), least)
		if missing > narrowMM {
			out = append(out, geometry.Finding{
				Code: CodeNarrow, Severity: geometry.SeverityWarning, Where: &where, Amount: least - missing, Limit: least,
				Message: fmt.Sprintf("edge %q bends too tightly for %.1f mm: the cut line comes as near as %.1f mm", e.name(i), least, least-missing),
				Remedy:  "give the edge a narrower finish, or ease the bend",
			})
		}
	}
	return out
}

// shortest returns how much of a width is missing at most on the parts of a ring that
// belong to an edge, and where.
func shortest(ring chain, edge int, stitch []geometry.Point, width float64) (missing float64, where geometry.Point) {
	var own chain
	for _, s := range ring {
		if s.edge == edge {
			own = append(own, s)
		}
	}
	const most = 8
	steps := min(max(int(maxLooking/float64(len(own)*len(stitch)+1)), 1), most)
	for _, s := range own {
		for k := range steps + 1 {
			q := s.seg.At(float64(k) / float64(steps))
			if d := toChain(stitch, q); width-d > missing {
				missing, where = width-d, q
			}
		}
	}
	return missing, where
}

// chords returns points on a chain with chords within chordMM of it.
func chords(line []geometry.Segment) []geometry.Point {
	var out []geometry.Point
	for _, s := range line {
		n := 1
		if s.Curved {
			bend := math.Max(s.A.Lerp(s.C, 0.5).Dist(s.B), s.B.Lerp(s.D, 0.5).Dist(s.C))
			n = min(max(int(math.Ceil(math.Sqrt(1.5*bend/chordMM))), 1), 200)
		}
		for k := range n {
			out = append(out, s.At(float64(k)/float64(n)))
		}
	}
	return append(out, line[len(line)-1].D)
}

// toChain returns the distance of q from straight lines through points.
func toChain(pts []geometry.Point, q geometry.Point) float64 {
	least := math.Inf(1)
	for i := range len(pts) - 1 {
		a, v := pts[i], pts[i+1].Sub(pts[i])
		t := 0.0
		if l := v.Dot(v); l > 0 {
			t = math.Min(math.Max(q.Sub(a).Dot(v)/l, 0), 1)
		}
		d := q.Sub(a.Add(v.Scale(t)))
		least = math.Min(least, d.Dot(d))
	}
	return math.Sqrt(least)
}
