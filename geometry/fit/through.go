package fit

import "secondcut/geometry"

// Through returns the fewest cubics that stay within tol mm of a course of close points
// (mm) and run on into each other, along the unit directions that stand beside the points.
// It begins and ends at the first and the last point. There are two points at least, and
// as many directions.
func Through(points []geometry.Point, directions []geometry.Vec, tol float64) []geometry.Segment {
	var c course
	for i, p := range points {
		c.add(p, directions[i])
	}
	at := c.split(tol)
	out := make([]geometry.Segment, len(at)-1)
	for k := range out {
		out[k], _ = c.bezier(at[k], at[k+1])
	}
	return out
}
