package interchange

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

const (
	// onMM is how near a point must lie to a line to be on it.
	onMM = 0.5
	// evenMM is by how much the distance of a sewing line may change along an edge for it
	// to be one allowance.
	evenMM = 0.2
	// samples of an edge.
	samples = 24
)

// foldEdge returns the edge along which the line that a half is mirrored about lies: a
// straight edge between the ends of the line; -1 where there is none.
func (in *intake) foldEdge(l Line) int {
	n := len(l.Points)
	if n < 2 {
		return -1
	}
	a, b := in.to(l.Points[0]), in.to(l.Points[n-1])
	u := b.Sub(a).Unit()
	off := func(p geometry.Point) bool { return math.Abs(u.Cross(p.Sub(a))) > onMM }
	best, length := -1, onMM
	for k := range in.piece.Edges {
		line := in.piece.EdgeChain(k)
		if slices.ContainsFunc(line, func(s geometry.Segment) bool { return off(s.A) || off(s.At(0.5)) || off(s.D) }) {
			continue
		}
		if d := line[0].A.Dist(line[len(line)-1].D); d > length {
			best, length = k, d
		}
	}
	return best
}

// folds puts the edges on the fold that a half is mirrored about. The cloth is folded
// there, so nothing lies outside.
func (in *intake) folds(q Piece) {
	for _, l := range q.Lines {
		if l.Kind != LineMirror {
			continue
		}
		k := in.foldEdge(l)
		if k < 0 {
			in.say(CodeLeft, in.piece.Name+": the line that it is mirrored about is no straight edge, and became a fold line.", "Straighten the edge, and put it on the fold.")
			continue
		}
		in.piece.Edges[k].OldAllowance = &pattern.OldAllowance{Is: pattern.OldNone}
		in.piece.Edges[k].Finish = &pattern.Finish{Kind: pattern.FinishFold}
	}
}

// allowances measures how far the sewing line lies inside each edge.
func (in *intake) allowances(sew geometry.Path) {
	var uneven []string
	ring := sew.Flatten(0.01)
	for k := range in.piece.Edges {
		e := &in.piece.Edges[k]
		if e.OldAllowance != nil {
			continue
		}
		switch mm, even := inside(in.piece.EdgeChain(k), ring); {
		case !even || mm > pattern.MaxWidthMM:
			uneven = append(uneven, e.Name)
		case mm < 0.05:
			e.OldAllowance = &pattern.OldAllowance{Is: pattern.OldNone}
		default:
			e.OldAllowance = &pattern.OldAllowance{Is: pattern.OldLength, MM: math.Round(mm*100) / 100}
		}
	}
	if len(uneven) > 0 {
		in.say(CodeAllowance, fmt.Sprintf("%s: the sewing line does not run at one distance from %s, so the old allowance there is not known.", in.piece.Name, strings.Join(uneven, ", ")),
			"Say how wide it is under Edges, or split the edge where it changes.")
	}
}

// inside returns how far a ring runs from an edge, in mm, and whether it does so at one
// distance. What lies near the ends, where the next edge's allowance takes part, does not
// count.
func inside(line []geometry.Segment, ring geometry.Polyline) (mm float64, even bool) {
	var all []float64
	var at []geometry.Point
	for i := range samples {
		p := pointAt(line, (float64(i)+0.5)/samples)
		all, at = append(all, ring.Dist(p)), append(at, p)
	}
	sorted := slices.Clone(all)
	slices.Sort(sorted)
	mm = sorted[len(sorted)/2]
	first, last := line[0].A, line[len(line)-1].D
	kept, off := 0, 0
	for i, d := range all {
		if math.Min(at[i].Dist(first), at[i].Dist(last)) < 2*mm {
			continue
		}
		kept++
		if math.Abs(d-mm) > evenMM {
			off++
		}
	}
	return mm, kept > 0 && off == 0
}

// pointAt returns the point at a fraction of the length of a chain.
func pointAt(line []geometry.Segment, fraction float64) geometry.Point {
	i, t := geometry.ChainAt(line, fraction)
	return line[i].At(t)
}
