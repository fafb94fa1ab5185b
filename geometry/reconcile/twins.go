package reconcile

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/twin"
)

const (
	twinMM  = 0.05 // the pattern that twins were cut by is one: their moves end alike
	cutMM   = 0.5  // by what two cuts by hand may differ before they count as not alike
	farMM   = 40.0 // beyond this nothing lies opposite
	besides = 5.0  // how far beside the end of an edge a place may lie and still be on it, mm
	// How far off the pose of a twin may be: anything that can happen.
	poseMM, poseTurn = 20.0, 0.1
)

// opposite is the place of a field that lies opposite a point.
type opposite struct {
	at     geometry.Point
	normal geometry.Vec
	nodes  [2]int
	part   float64 // of the way from the first node to the second
}

// twinRows returns the conditions that twins are alike, one for each node of a that has
// something opposite on b. The three unknowns from pose on are a small move of a and a
// turn about middle.
func (s *solver) twinRows(t twin.Twin, a, b, pose int) []row {
	fa, fb := s.fields[a], s.fields[b]
	origin := t.ToB(geometry.Point{})
	middle := t.ToB(centre(fa.path))
	var out []row
	for i, n := range fa.nodes {
		at := t.ToB(n.at)
		normal := t.ToB(geometry.Point(n.normal)).Sub(origin)
		o, ok := fb.opposite(at, normal, fa.corner(n.knot))
		if !ok {
			continue
		}
		off := o.normal.Dot(o.at.Sub(at))
		if math.Abs(off) > farMM {
			continue
		}
		r := row{want: off, sd: twinMM, spare: cutMM}
		r.add(s.first[a]+i, normal.Dot(o.normal))
		r.add(s.first[b]+o.nodes[0], -(1 - o.part))
		if o.part > 0 {
			r.add(s.first[b]+o.nodes[1], -o.part)
		}
		r.add(pose, o.normal.X)
		r.add(pose+1, o.normal.Y)
		r.add(pose+2, at.Sub(middle).Cross(o.normal))
		out = append(out, r.compact())
	}
	return out
}

// opposite returns what lies opposite a point of a twin whose normal is given: for a
// corner the end of the edge of the nearest corner that looks the same way.
func (f *field) opposite(p geometry.Point, normal geometry.Vec, corner bool) (opposite, bool) {
	const alike = 0.7
	var best opposite
	least := farMM
	if corner {
		for i, n := range f.nodes {
			if d := n.at.Dist(p); d < least && f.corner(n.knot) && n.normal.Dot(normal) > alike {
				best, least = opposite{n.at, n.normal, [2]int{i, i}, 0}, d
			}
		}
		return best, least < farMM
	}
	for j := range f.path {
		s := f.path.Segment(j)
		if s.A.Dist(p) > least+s.A.Dist(s.D)*2 && s.D.Dist(p) > least+s.A.Dist(s.D)*2 {
			continue
		}
		const parts = 12
		for i := range parts {
			t0, t1 := float64(i)/parts, float64(i+1)/parts
			a, b := s.At(t0), s.At(t1)
			along := b.Sub(a)
			u := math.Min(math.Max(p.Sub(a).Dot(along)/math.Max(along.Dot(along), 1e-12), 0), 1)
			at := a.Lerp(b, u)
			out := geometry.Vec{X: along.Y, Y: -along.X}.Unit()
			if d := at.Dist(p); d < least && out.Dot(normal) > alike && math.Abs(along.Unit().Dot(p.Sub(at))) < besides {
				best, least = opposite{at, out, f.ends[j], t0 + (t1-t0)*u}, d
			}
		}
	}
	return best, least < farMM
}

func centre(p geometry.Path) geometry.Point {
	var sum geometry.Vec
	for _, k := range p {
		sum = sum.Add(geometry.Vec(k.At))
	}
	return geometry.Point(sum.Scale(1 / float64(len(p))))
}
