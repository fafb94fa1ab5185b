package card

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/vision"
)

// Homography maps the card frame (mm) to pixels as a plane seen by a lens
// without distortion: (H0 x + H1 y + H2, H3 x + H4 y + H5) / (H6 x + H7 y + 1).
// Over one card a lens hardly differs from that.
type Homography [8]float64

// FitHomography returns the homography that takes the four or more points from
// onto to with the least squares of the linear form (direct linear transform;
// Hartley and Zisserman, Multiple View Geometry, 2nd ed. 2004, section 4.1). ok
// is false when the points do not fix one.
func FitHomography(from []geometry.Point, to []vision.Pixel) (h Homography, ok bool) {
	if len(from) < 4 || len(from) != len(to) {
		return h, false
	}
	// Pixels are taken from their mean and both are scaled to about 1, so that
	// the system is well conditioned.
	var cx, cy float64
	for _, q := range to {
		cx, cy = cx+q.X/float64(len(to)), cy+q.Y/float64(len(to))
	}
	const mm, px = 1.0 / 40, 1.0 / 100
	a, b := mat.NewDense(2*len(from), 8, nil), mat.NewVecDense(2*len(from), nil)
	for i, p := range from {
		x, y := p.X*mm, p.Y*mm
		u, v := (to[i].X-cx)*px, (to[i].Y-cy)*px
		a.SetRow(2*i, []float64{x, y, 1, 0, 0, 0, -u * x, -u * y})
		a.SetRow(2*i+1, []float64{0, 0, 0, x, y, 1, -v * x, -v * y})
		b.SetVec(2*i, u)
		b.SetVec(2*i+1, v)
	}
	var s mat.VecDense
	if err := s.SolveVec(a, b); err != nil {
		return h, false
	}
	for i := range 3 {
		w := [3]float64{s.AtVec(6) * mm, s.AtVec(7) * mm, 1}[i]
		unit := [3]float64{mm, mm, 1}[i]
		u, v := s.AtVec(i)*unit/px+cx*w, s.AtVec(3+i)*unit/px+cy*w
		h[i], h[3+i] = u, v
		if i < 2 {
			h[6+i] = w
		}
	}
	for _, v := range h {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return h, false
		}
	}
	return h, true
}

// Apply returns the pixel of the card point p. It is meaningless beyond the
// horizon, which never crosses a card that could be read.
func (h *Homography) Apply(p geometry.Point) vision.Pixel {
	w := h[6]*p.X + h[7]*p.Y + 1
	return vision.Pixel{X: (h[0]*p.X + h[1]*p.Y + h[2]) / w, Y: (h[3]*p.X + h[4]*p.Y + h[5]) / w}
}

// axes returns the pixel displacement of one millimetre across and up at p.
func (h *Homography) axes(p geometry.Point) (across, up vision.Pixel) {
	q, w := h.Apply(p), h[6]*p.X+h[7]*p.Y+1
	across = vision.Pixel{X: (h[0] - h[6]*q.X) / w, Y: (h[3] - h[6]*q.Y) / w}
	up = vision.Pixel{X: (h[1] - h[7]*q.X) / w, Y: (h[4] - h[7]*q.Y) / w}
	return
}

// length returns the length of a pixel displacement.
func length(d vision.Pixel) float64 { return math.Hypot(d.X, d.Y) }
