package interchange

import (
	"math"

	"secondcut/geometry"
)

const (
	// deepMM is the longest line that may be a notch.
	deepMM = 20.0
	// touchMM is how near to each other lines must lie to touch.
	touchMM = 0.1
	// armMM is the longest line of the cross of a drill hole.
	armMM = 12.0
)

// sortMarks tells notches and drill holes from other lines drawn on a piece.
func sortMarks(q *Piece, all []Ring) {
	ring := q.Cut.Flatten(0.01)
	lines := make([][]geometry.Point, len(all))
	for i, r := range all {
		lines[i] = r.points()
	}
	used := make([]bool, len(all))
	for i, l := range lines {
		if used[i] || !all[i].Open {
			continue
		}
		if j := crossing(lines, used, i); j >= 0 {
			used[i], used[j] = true, true
			q.Drills = append(q.Drills, l[0].Lerp(l[1], 0.5))
			continue
		}
		n, ok := notchOf(ring, l)
		if !ok {
			continue
		}
		used[i] = true
		if j := bar(lines, used, n.At.Add(towards(n.Turn).Scale(n.DepthMM))); n.Shape == NotchSlit && j >= 0 {
			n.Shape, used[j] = NotchT, true
		}
		q.Notches = append(q.Notches, n)
	}
	for i, l := range lines {
		if !used[i] {
			q.Lines = append(q.Lines, Line{LineInternal, l})
		}
	}
}

// notchOf reads a short line that begins on the cut line, or a wedge that stands on it.
func notchOf(ring geometry.Polyline, l []geometry.Point) (Notch, bool) {
	on := func(p geometry.Point) bool { return ring.Dist(p) < touchMM }
	last := len(l) - 1
	var at, tip geometry.Point
	shape := NotchSlit
	switch {
	case last == 1 && on(l[0]) != on(l[1]):
		at, tip = l[0], l[1]
		if on(tip) {
			at, tip = tip, at
		}
	case last == 2 && on(l[0]) && on(l[2]) && !on(l[1]):
		at, tip, shape = l[0].Lerp(l[2], 0.5), l[1], NotchV
	default:
		return Notch{}, false
	}
	run := tip.Sub(at)
	return Notch{At: at, Turn: math.Atan2(run.Y, run.X), DepthMM: run.Len(), Shape: shape}, run.Len() <= deepMM
}

// crossing returns the line that crosses another at right angles in the middle of both.
func crossing(lines [][]geometry.Point, used []bool, i int) int {
	a := lines[i]
	if len(a) != 2 || a[0].Dist(a[1]) > armMM {
		return -1
	}
	for j, b := range lines {
		if j != i && !used[j] && len(b) == 2 && b[0].Dist(b[1]) <= armMM && a[0].Lerp(a[1], 0.5).Dist(b[0].Lerp(b[1], 0.5)) < touchMM &&
			math.Abs(a[1].Sub(a[0]).Unit().Dot(b[1].Sub(b[0]).Unit())) < 0.05 {
			return j
		}
	}
	return -1
}

// bar returns the short line whose middle is the end of a notch.
func bar(lines [][]geometry.Point, used []bool, tip geometry.Point) int {
	for j, b := range lines {
		if !used[j] && len(b) == 2 && b[0].Dist(b[1]) <= armMM && b[0].Lerp(b[1], 0.5).Dist(tip) < touchMM {
			return j
		}
	}
	return -1
}
