package vision

import (
	"math"

	"secondcut/geometry"
)

// Project returns the pixel on which the point (p.X, p.Y, z) mm of the plane
// frame falls. ok is false when the point lies behind the camera.
func (c *Camera) Project(p geometry.Point, z float64) (px Pixel, ok bool) {
	x := c.R[0]*p.X + c.R[1]*p.Y + c.R[2]*z + c.T[0]
	y := c.R[3]*p.X + c.R[4]*p.Y + c.R[5]*z + c.T[1]
	w := c.R[6]*p.X + c.R[7]*p.Y + c.R[8]*z + c.T[2]
	if w <= 1e-9 {
		return Pixel{}, false
	}
	u, v := c.distort(x/w, y/w)
	return Pixel{c.F*u + c.Cx, c.F*v + c.Cy}, true
}

// Plane returns the point at height z mm above the plane that is seen at px. ok
// is false when the line of sight does not meet that height in front of the
// camera, or the lens model cannot be undone there.
func (c *Camera) Plane(px Pixel, z float64) (p geometry.Point, ok bool) {
	u, v, ok := c.undistort((px.X-c.Cx)/c.F, (px.Y-c.Cy)/c.F)
	if !ok {
		return geometry.Point{}, false
	}
	// Line of sight in the plane frame: centre + s * R' (u, v, 1).
	dx := c.R[0]*u + c.R[3]*v + c.R[6]
	dy := c.R[1]*u + c.R[4]*v + c.R[7]
	dz := c.R[2]*u + c.R[5]*v + c.R[8]
	o := c.Centre()
	s := (z - o[2]) / dz
	if math.Abs(dz) < 1e-12 || s <= 0 {
		return geometry.Point{}, false
	}
	return geometry.Point{X: o[0] + s*dx, Y: o[1] + s*dy}, true
}

// Centre returns the position of the camera in the plane frame, in mm; its third
// coordinate is the height above the plane.
func (c *Camera) Centre() [3]float64 {
	var o [3]float64
	for i := range o {
		o[i] = -(c.R[i]*c.T[0] + c.R[3+i]*c.T[1] + c.R[6+i]*c.T[2])
	}
	return o
}

// distort applies the Brown-Conrady lens to normalised image coordinates.
func (c *Camera) distort(x, y float64) (u, v float64) {
	r2 := x*x + y*y
	k := 1 + r2*(c.K1+r2*c.K2)
	return x*k + 2*c.P1*x*y + c.P2*(r2+2*x*x), y*k + c.P1*(r2+2*y*y) + 2*c.P2*x*y
}

// undistort inverts distort by Newton's method. ok is false beyond the radius
// where the radial polynomial turns back, since no point of the scene maps
// there.
func (c *Camera) undistort(u, v float64) (x, y float64, ok bool) {
	x, y = u, v
	for range 20 {
		du, dv := c.distort(x, y)
		ex, ey := du-u, dv-v
		r2 := x*x + y*y
		k, dk := 1+r2*(c.K1+r2*c.K2), 2*(c.K1+2*c.K2*r2)
		a := k + dk*x*x + 2*c.P1*y + 6*c.P2*x
		b := dk*x*y + 2*c.P1*x + 2*c.P2*y
		d := k + dk*y*y + 6*c.P1*y + 2*c.P2*x
		det := a*d - b*b
		if det <= 0.05 {
			return 0, 0, false
		}
		sx, sy := (d*ex-b*ey)/det, (a*ey-b*ex)/det
		x, y = x-sx, y-sy
		if sx*sx+sy*sy < 1e-24 {
			return x, y, true
		}
	}
	du, dv := c.distort(x, y)
	return x, y, math.Hypot(du-u, dv-v) < 1e-9
}
