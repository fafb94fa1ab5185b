package synth

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
)

// View says from where a camera looks at the plane.
type View struct {
	// Target is the plane point in the middle of the photo.
	Target geometry.Point
	// Distance from the camera to the target, mm.
	Distance float64
	// TiltDeg from straight down, and the direction into which the camera then
	// looks, counter-clockwise from +x.
	TiltDeg, TowardDeg float64
	// TurnDeg of the photo's right about the line of sight, from the plane's +x.
	TurnDeg float64
}

// LookDown returns a camera without distortion at view v, for a photo of width x
// height pixels, with focal length in pixels and the principal point in the
// middle.
func LookDown(width, height int, focalPx float64, v View) vision.Camera {
	sinT, cosT := math.Sincos(rad(v.TiltDeg))
	sinA, cosA := math.Sincos(rad(v.TowardDeg))
	f := vec3{sinT * cosA, sinT * sinA, -cosT}
	sinR, cosR := math.Sincos(rad(v.TurnDeg))
	r := vec3{cosR, sinR, 0}
	r = r.sub(f.scale(r.dot(f))).unit()
	d := f.cross(r)
	centre := vec3{v.Target.X, v.Target.Y, 0}.sub(f.scale(v.Distance))
	return vision.Camera{
		F: focalPx, Cx: float64(width-1) / 2, Cy: float64(height-1) / 2,
		R: [9]float64{r[0], r[1], r[2], d[0], d[1], d[2], f[0], f[1], f[2]},
		T: [3]float64{-r.dot(centre), -d.dot(centre), -f.dot(centre)},
	}
}

type vec3 [3]float64

func (a vec3) dot(b vec3) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec3) scale(s float64) vec3 { return vec3{a[0] * s, a[1] * s, a[2] * s} }
func (a vec3) sub(b vec3) vec3      { return vec3{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a vec3) unit() vec3           { return a.scale(1 / math.Sqrt(a.dot(a))) }
func (a vec3) cross(b vec3) vec3 {
	return vec3{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

func rad(deg float64) float64 { return deg * math.Pi / 180 }
