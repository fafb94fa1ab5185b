package segment

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision/calib"
)

// The two kinds of strokes.
const (
	StrokeCloth    = "cloth"
	StrokeNotCloth = "not-cloth"
)

// Stroke is a line that the person drew over what is, or is not, cloth. What it
// covers is taken as said, whatever the picture shows.
type Stroke struct {
	// Kind is StrokeCloth or StrokeNotCloth; a stroke of another kind is ignored.
	Kind string `json:"kind"`
	// WidthMM is the width of the line in mm. Default 5, at most 200.
	WidthMM float64 `json:"width_mm"`
	// Points are the line's corners in plane mm; one point makes a dot.
	Points []geometry.Point `json:"points_mm"`
}

const (
	strokeWidth    = 5.0
	strokeWidthMax = 200.0
)

// value returns +1 for cloth, -1 for not cloth, 0 for neither.
func (st *Stroke) value() int8 {
	switch st.Kind {
	case StrokeCloth:
		return 1
	case StrokeNotCloth:
		return -1
	}
	return 0
}

// cover calls set for each square of a width x height grid, side plane pixels to
// the square, whose centre the stroke covers, and for those along its middle
// line however thin it is.
func (st *Stroke) cover(pl *calib.Plane, side float64, width, height int, set func(i int, v int8)) {
	v := st.value()
	if v == 0 {
		return
	}
	mm := st.WidthMM
	if !(mm > 0) {
		mm = strokeWidth
	}
	r := math.Max(min(mm, strokeWidthMax)*pl.PxPerMM/side/2, 0.71)
	for k, p := range st.Points {
		q := st.Points[max(0, k-1)]
		if !p.IsFinite() || !q.IsFinite() {
			continue
		}
		a, b := square(pl, q, side), square(pl, p, side)
		x0, x1 := clip(min(a.X, b.X)-r, width), clip(max(a.X, b.X)+r+1, width)
		y0, y1 := clip(min(a.Y, b.Y)-r, height), clip(max(a.Y, b.Y)+r+1, height)
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				if toSegment(geometry.Point{X: float64(x), Y: float64(y)}, a, b) <= r {
					set(y*width+x, v)
				}
			}
		}
	}
}

// square returns a plane point in units of grid squares, centres at integers.
func square(pl *calib.Plane, p geometry.Point, side float64) geometry.Point {
	x, y := pl.Pixel(p)
	return geometry.Point{X: (x+0.5)/side - 0.5, Y: (y+0.5)/side - 0.5}
}

// clip brings a coordinate into 0..size.
func clip(v float64, size int) int { return int(min(max(v, 0), float64(size))) }

// toSegment returns the distance of p from the segment a-b.
func toSegment(p, a, b geometry.Point) float64 {
	d := b.Sub(a)
	t := 0.0
	if l := d.Dot(d); l > 0 {
		t = min(max(p.Sub(a).Dot(d)/l, 0), 1)
	}
	return p.Dist(a.Lerp(b, t))
}
