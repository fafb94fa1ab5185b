package calib

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// The parameters that all targets share. After them come three (x, y, turn) for
// each used target but the first, which is held in place to fix the plane frame,
// and then two for the size of each used reference (the logarithms of its width
// and height over what they are meant to be).
const (
	parF     = iota // logarithm of the focal length over its expected value
	parCx           // principal point from the middle of the photo, px
	parCy           //
	parK1           // radial distortion
	parK2           //
	parP1           // decentring distortion
	parP2           //
	parRx           // turn of the camera from the first guess, rotation vector, radians
	parRy           //
	parRz           //
	parTx           // move of the camera, mm
	parTy           //
	parTz           //
	parRatio        // half the logarithm of the print's scale across over that up
	parInset        // how far inside the true edges tag corners appear, px
	shared
)

// camParams are the parameters that fix the camera.
const camParams = parRatio

// Expected deviations (standard uncertainties) of the shared parameters from
// their expected values; the pose has none. They decide what the cards leave
// open. From memory, for phone cameras: most correct their pictures to within a
// few per cent at the corner, some wide-angle ones do not (at r = 0.8 from the
// middle, k1 moves a point by k1 r2, 6 % for 0.1).
const (
	sigmaHint  = 0.03   // focal length from the file, relative
	sigmaGuess = 0.35   // focal length that is usual, its logarithm
	usualMM    = 26.0   // focal length of a phone, for a diagonal of 43.27 mm
	sigmaMid   = 0.001  // principal point, per pixel of the longer side
	sigmaK1    = 0.1    // radial distortion
	sigmaK2    = 0.06   // its next term
	sigmaP     = 0.0003 // decentring
	sigmaInset = 0.5    // px: blur and the camera's tone curve eat into black
	sigmaRatio = 0.001  // feed against width: printers are 0.1 to 0.5 % off in the ratio
)

// observation is one seen point of a target.
type observation struct {
	known
	target int // its index
	slot   int // its place among the used ones
	height float64
}

// problem is what is to be solved: the observations of the used targets and
// what is expected beforehand.
type problem struct {
	targets       []target
	width, height int
	focal         float64 // expected focal length, px
	hinted        bool    // whether the file says so
	scale         [2]float64
	base          [9]float64 // rotation that parRx.. turn on from
	use           []int      // the targets used; the first one is held in place
	held          geometry.Rigid
	obs           []observation
	sigma         [shared]float64 // 0 where nothing is expected
}

// state is a guess or solution: shared parameters, every target's place and its
// size over what it is meant to be, as logarithms.
type state struct {
	shared [shared]float64
	places []geometry.Rigid // by target
	sizes  [][2]float64     // by target
}

// size is the number of parameters.
func (pr *problem) size() int { return pr.sizesAt() + 2*len(pr.references()) }

// sizesAt is where the sizes of references begin.
func (pr *problem) sizesAt() int { return shared + 3*(len(pr.use)-1) }

// owner returns the slot of the target that parameter k belongs to, and whether
// it belongs to one at all.
func (pr *problem) owner(k int) (slot int, owned bool) {
	switch at := pr.sizesAt(); {
	case k < shared:
		return 0, false
	case k < at:
		return 1 + (k-shared)/3, true
	default:
		return slices.Index(pr.use, pr.references()[(k-at)/2]), true
	}
}

// expected returns how far each parameter is expected to lie from 0, as standard
// uncertainties; 0 where nothing is expected.
func (pr *problem) expected() []float64 {
	out := append(make([]float64, 0, pr.size()), pr.sigma[:]...)
	out = append(out, make([]float64, pr.sizesAt()-shared)...)
	for _, d := range pr.references() {
		s := pr.targets[d].reference.sigma()
		out = append(out, s[0], s[1])
	}
	return out
}

// pack returns the parameter vector of s.
func (pr *problem) pack(s state) []float64 {
	v := append(make([]float64, 0, pr.size()), s.shared[:]...)
	for _, d := range pr.use[1:] {
		p := s.places[d]
		v = append(v, p.Move.X, p.Move.Y, p.Turn)
	}
	for _, d := range pr.references() {
		v = append(v, s.sizes[d][0], s.sizes[d][1])
	}
	return v
}

// unpack writes the parameter vector into a copy of s.
func (pr *problem) unpack(v []float64, s state) state {
	places := append([]geometry.Rigid(nil), s.places...)
	for i, d := range pr.use {
		places[d] = pr.place(v, i)
	}
	sizes := append([][2]float64(nil), s.sizes...)
	for i, d := range pr.references() {
		copy(sizes[d][:], v[pr.sizesAt()+2*i:])
	}
	s.places, s.sizes = places, sizes
	copy(s.shared[:], v)
	return s
}

// place returns where the i-th used target lies.
func (pr *problem) place(v []float64, i int) geometry.Rigid {
	if i == 0 {
		return pr.held
	}
	q := v[shared+3*(i-1):]
	return geometry.Rigid{Turn: q[2], Move: geometry.Point{X: q[0], Y: q[1]}}
}

// camera returns the camera of a parameter vector.
func (pr *problem) camera(v []float64) vision.Camera {
	return vision.Camera{
		F: pr.focal * math.Exp(v[parF]), Cx: float64(pr.width-1)/2 + v[parCx], Cy: float64(pr.height-1)/2 + v[parCy],
		K1: v[parK1], K2: v[parK2], P1: v[parP1], P2: v[parP2],
		R: multiply(rotation([3]float64{v[parRx], v[parRy], v[parRz]}), pr.base),
		T: [3]float64{v[parTx], v[parTy], v[parTz]},
	}
}

// truly returns where the point at of target d is, in true millimetres of the
// target's own frame.
func (pr *problem) truly(v []float64, d int, at geometry.Point) geometry.Point {
	if pr.isReference(d) {
		i := slices.Index(pr.references(), d)
		if i < 0 {
			return at
		}
		k := pr.sizesAt() + 2*i
		return geometry.Point{X: at.X * math.Exp(v[k]), Y: at.Y * math.Exp(v[k+1])}
	}
	r := math.Exp(v[parRatio])
	return geometry.Point{X: at.X * pr.scale[0] * r, Y: at.Y * pr.scale[1] / r}
}

// points returns where the plane point of each observation lies.
func (pr *problem) points(v []float64) []geometry.Point {
	places := make([]geometry.Rigid, len(pr.use))
	for i := range places {
		places[i] = pr.place(v, i)
	}
	out := make([]geometry.Point, len(pr.obs))
	for i, o := range pr.obs {
		out[i] = places[o.slot].Apply(pr.truly(v, o.target, o.at))
	}
	return out
}

// residual returns the distance in sigmas of observation o, which lies at p on
// the plane, from where camera and inset put it; ok is false when they put it
// behind the camera.
func (o *observation) residual(cam *vision.Camera, p geometry.Point, inset float64) (r [2]float64, ok bool) {
	px, ok := cam.Project(p, o.height)
	px.X, px.Y = px.X+inset*o.inset.X, px.Y+inset*o.inset.Y
	return [2]float64{(px.X - o.px.X) / o.sigma, (px.Y - o.px.Y) / o.sigma}, ok
}

// inward returns the displacement of corner k of a tag when both edges that meet
// there move inwards by a pixel.
func inward(d card.Detection, k int) (in vision.Pixel) {
	at := d.Tag[k].At
	for _, n := range [2]int{(k + 1) % 4, (k + 3) % 4} {
		x, y := d.Tag[n].At.X-at.X, d.Tag[n].At.Y-at.Y
		if l := math.Hypot(x, y); l > 0 && d.Tag[n].SigmaPx > 0 {
			in.X, in.Y = in.X+x/l, in.Y+y/l
		}
	}
	return in
}

// rotation returns the matrix of a rotation vector (Rodrigues' formula).
func rotation(w [3]float64) [9]float64 {
	a := math.Sqrt(w[0]*w[0] + w[1]*w[1] + w[2]*w[2])
	s, c := 1.0, 0.5 // sin(a)/a and (1-cos(a))/a2 at 0
	if a > 1e-8 {
		s, c = math.Sin(a)/a, (1-math.Cos(a))/(a*a)
	}
	x, y, z := w[0], w[1], w[2]
	return [9]float64{
		1 - c*(y*y+z*z), c*x*y - s*z, c*x*z + s*y,
		c*x*y + s*z, 1 - c*(x*x+z*z), c*y*z - s*x,
		c*x*z - s*y, c*y*z + s*x, 1 - c*(x*x+y*y),
	}
}

func multiply(a, b [9]float64) (m [9]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				m[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return
}
