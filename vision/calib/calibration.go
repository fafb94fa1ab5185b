// Package calib finds the camera and the plane of a photo from its scale cards,
// in one solve, and converts between pixels and millimetres. It is the only
// place that knows both frames.
//
// What comes before in the flow is card (cards found in the photo); what comes
// after is segment, which looks at the plane from straight above ([Plane]), and
// outline, which measures in the photo through the [Calibration].
package calib

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
)

// Calibration is the camera in front of the plane that one photo showed, with
// what is known of its doubt. Cards lie on the plane (height 0); the cloth's
// upper face lies ThicknessMM above it, so that cloth looks larger than it is
// unless it is measured at that height. A literal with Camera, Width and Height
// works for everything but the stated uncertainties, which only [Solve] knows.
type Calibration struct {
	// Camera is the solved camera, in true millimetres.
	Camera vision.Camera
	// Width and Height of the photo in pixels.
	Width, Height int
	// ThicknessMM is the height of the cloth's upper face above the cards, mm.
	ThicknessMM float64
	// Cards are the cards found, used or not, by number.
	Cards []vision.CardReport
	// RMSPx is the root mean square reprojection error in pixels of the saddle
	// points that were used.
	RMSPx float64
	// ScaleUncertaintyPct and PrintUncertaintyPct are standard uncertainties of
	// lengths in per cent: of the solve over the middle of the photo (with the
	// doubt of a reference's size), and of the printed cards' size, 0 where no
	// card was used.
	ScaleUncertaintyPct, PrintUncertaintyPct float64

	things []thing // what was pointed out as reference
	doubt  *doubt  // nil when not solved
}

// thing is a reference and where it lies on the plane.
type thing struct {
	shape *shape
	place geometry.Rigid
}

// ToPlane returns the point of the cloth's upper face that is seen at px, in
// true millimetres of the plane frame. ok is false where the line of sight
// misses it.
func (c *Calibration) ToPlane(px vision.Pixel) (p geometry.Point, ok bool) {
	return c.Camera.Plane(px, c.ThicknessMM)
}

// ToImage returns the pixel at which the point p of the cloth's upper face
// appears; it undoes ToPlane. ok is false when p is behind the camera or beyond
// the lens model; the pixel may lie outside the photo.
func (c *Calibration) ToImage(p geometry.Point) (px vision.Pixel, ok bool) {
	return c.project(p, c.ThicknessMM)
}

// project is Camera.Project that refuses points beyond the radius where the
// radial polynomial turns back: they would fall onto the pixels of others.
func (c *Calibration) project(p geometry.Point, z float64) (vision.Pixel, bool) {
	cam := &c.Camera
	x := cam.R[0]*p.X + cam.R[1]*p.Y + cam.R[2]*z + cam.T[0]
	y := cam.R[3]*p.X + cam.R[4]*p.Y + cam.R[5]*z + cam.T[1]
	w := cam.R[6]*p.X + cam.R[7]*p.Y + cam.R[8]*z + cam.T[2]
	if w <= 0 || (x*x+y*y)/(w*w) > foldRadius2(cam.K1, cam.K2) {
		return vision.Pixel{}, false
	}
	return cam.Project(p, z)
}

// foldRadius2 returns the squared normalised radius at which r(1+k1 r2+k2 r4)
// first stops growing; infinite when it never does.
func foldRadius2(k1, k2 float64) float64 {
	d := 9*k1*k1 - 20*k2
	switch {
	case k1 >= 0 && k2 >= 0, k2 > 0 && d < 0:
		return math.Inf(1)
	case k2 == 0:
		return -1 / (3 * k1)
	}
	// The smaller positive root of 1 + 3 k1 s + 5 k2 s2, in the form that loses
	// no digits.
	return 2 / (-3*k1 + math.Sqrt(d))
}

// PxPerMM returns how many pixels a millimetre of the cloth's face takes at p
// (the root of the area scale); 0 where p is not seen.
func (c *Calibration) PxPerMM(p geometry.Point) float64 {
	const h = 0.5
	var e [4]vision.Pixel
	for i, v := range [4]geometry.Vec{{X: h}, {X: -h}, {Y: h}, {Y: -h}} {
		px, ok := c.ToImage(p.Add(v))
		if !ok {
			return 0
		}
		e[i] = px
	}
	ux, uy := e[0].X-e[1].X, e[0].Y-e[1].Y
	vx, vy := e[2].X-e[3].X, e[2].Y-e[3].Y
	return math.Sqrt(math.Abs(ux*vy - uy*vx))
}

// ObliqueDeg returns the angle in degrees between the line of sight to p and
// the plane's normal: 0 when p is seen from straight above.
func (c *Calibration) ObliqueDeg(p geometry.Point) float64 {
	o := c.Camera.Centre()
	return math.Atan2(math.Hypot(p.X-o[0], p.Y-o[1]), o[2]-c.ThicknessMM) * 180 / math.Pi
}

// Report returns the calibration as it is written to files.
func (c *Calibration) Report() vision.Calibration {
	return vision.Calibration{
		Cards: c.Cards, ScaleUncertaintyPct: c.ScaleUncertaintyPct,
		PrintUncertaintyPct: c.PrintUncertaintyPct, RMSPx: c.RMSPx, Camera: c.Camera,
	}
}
