package interchange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// farMM is how far from its place on the cut line a notch may lie and still be hung on it.
const farMM = 3.0

// hung is a notch on its edge.
type hung struct {
	mark   pattern.Mark
	edge   int
	along  float64 // mm from the beginning of the edge
	length float64 // of the edge
}

// notches hangs notches on edges, at the fraction of the stitch line that they lie at;
// two or three beside each other are a double or triple one.
func (in *intake) notches(all []Notch) {
	var list []hung
	lost := 0
	for _, n := range all {
		h, ok := in.hang(n)
		if !ok {
			lost++
			depth := cmp.Or(n.DepthMM, pattern.NotchDepthMM)
			in.mark(pattern.Mark{Kind: pattern.MarkLine, Points: []geometry.Point{n.At, n.At.Add(towards(n.Turn).Scale(depth))}, Text: "notch"})
			continue
		}
		if n.Shape == NotchOther {
			in.shapes++
		}
		list = append(list, h)
	}
	for _, m := range grouped(list) {
		in.mark(m)
	}
	if lost > 0 {
		in.say(CodeLeft, fmt.Sprintf("%s: %d notches lie where none can be hung on an edge, and became short lines.", in.piece.Name, lost), "Where they matter, set a notch there and remove the line.")
	}
}

// hang finds the edge of a notch.
func (in *intake) hang(n Notch) (hung, bool) {
	at := in.to(n.At)
	best, k := math.Inf(1), -1
	for i := range in.piece.Edges {
		for _, s := range in.piece.EdgeChain(i) {
			if _, d := s.Nearest(at); d < best {
				best, k = d, i
			}
		}
	}
	if k < 0 || best > farMM {
		return hung{}, false
	}
	run := towards(n.Turn + in.piece.PlaneToPiece.Turn)
	h := hung{edge: k}
	best = math.Inf(1)
	before, dir := 0.0, geometry.Vec{}
	for _, s := range in.edges[k] {
		t, d := s.Nearest(at)
		if d < best {
			head, _ := s.Split(t)
			best, h.along, dir = d, before+head.Length(), s.Deriv(t)
		}
		before += s.Length()
	}
	h.length = before
	// Beyond the ends of the stitch line, as in the flap of a hem, a notch has no place on it.
	on := pointAt(in.edges[k], fraction(h.along, before))
	side := dir.Unit().Perp().Scale(-width(in.piece.Edges[k]))
	if on.Add(side).Dist(at) > farMM {
		return hung{}, false
	}
	shape := map[NotchShape]pattern.NotchShape{NotchV: pattern.NotchV, NotchT: pattern.NotchT}[n.Shape]
	h.mark = pattern.Mark{
		Kind: pattern.MarkNotch, Edge: in.piece.Edges[k].ID, At: fraction(h.along, before), Shape: shape,
		DepthMM: math.Min(math.Max(n.DepthMM, 0), 20), Outward: dir.Cross(run) < 0,
	}
	return h, true
}

func fraction(along, length float64) float64 {
	if length == 0 {
		return 0
	}
	return math.Min(math.Max(along/length, 0), 1)
}

// grouped makes double and triple notches of those that lie as far apart as these are
// drawn. Their order is that along the edges.
func grouped(list []hung) []pattern.Mark {
	slices.SortStableFunc(list, func(a, b hung) int {
		switch {
		case a.edge != b.edge:
			return a.edge - b.edge
		case a.along < b.along:
			return -1
		case a.along > b.along:
			return 1
		}
		return 0
	})
	var out []pattern.Mark
	for i := 0; i < len(list); {
		j := i + 1
		for j < len(list) && j-i < 3 && together(list[j-1], list[j]) {
			j++
		}
		m := list[i].mark
		if j-i > 1 {
			m.Count, m.At = j-i, fraction((list[i].along+list[j-1].along)/2, list[i].length)
		}
		out = append(out, m)
		i = j
	}
	return out
}

func together(a, b hung) bool {
	return a.edge == b.edge && a.mark.Shape == b.mark.Shape && a.mark.Outward == b.mark.Outward &&
		math.Abs(a.mark.DepthMM-b.mark.DepthMM) < 0.01 && math.Abs(b.along-a.along-pattern.NotchApartMM) < 0.02
}
