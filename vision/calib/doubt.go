package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/vision"
)

// doubtParams are the quantities whose doubt moves points of the cloth's face:
// the camera's parameters and the thickness.
const doubtParams = camParams + 1

// gradient is the derivative of a plane point, seen at a fixed pixel, by the
// doubtful quantities: one row each for x and y.
type gradient [2][doubtParams]float64

// doubt is the covariance of a solution.
type doubt struct {
	// plus and minus are the camera with one parameter moved by halfStep.
	plus, minus [camParams]vision.Camera
	cov         [doubtParams][doubtParams]float64
	// align is the rigid motion (x, y, turn about centre) that each quantity
	// causes over the middle of the photo, on average.
	align  [3][doubtParams]float64
	centre geometry.Point
}

// newDoubt returns the covariance of a solution: the inverse normal matrix, with
// the observations' part scaled by how much worse than stated they fit, never
// better. heightSigmaMM is the doubt of how far the cloth's face lies above the
// targets: of the thickness, and of targets that may be lifted. The print's ratio of scales is taken to be as expected: the doubt of
// the print is stated apart.
func (st start) newDoubt(heightSigmaMM float64) (*doubt, bool) {
	pr := st.problem
	d := &doubt{}
	v := pr.pack(st.state)
	for k := range camParams {
		at := v[k]
		v[k] = at + halfStep(k)
		d.plus[k] = pr.camera(v)
		v[k] = at - halfStep(k)
		d.minus[k] = pr.camera(v)
		v[k] = at
	}
	eq := pr.equations(v)
	inv, ok := inverse(eq.all)
	if !ok {
		return nil, false
	}
	excess := st.excess(inv)
	middle := mat.NewDense(pr.size(), pr.size(), nil)
	middle.Scale(excess, eq.meat)
	for k, s := range pr.expected() {
		if s > 0 && k != parRatio {
			middle.Set(k, k, middle.At(k, k)+1/(s*s))
		}
	}
	var half, cov mat.Dense
	half.Mul(inv, middle)
	cov.Mul(&half, inv)
	for i := range camParams {
		for j := range camParams {
			d.cov[i][j] = cov.At(i, j)
		}
	}
	d.cov[camParams][camParams] = heightSigmaMM * heightSigmaMM
	return d, true
}

// excess returns the variance of the saddle points' residuals over what was
// stated, at least 1. What they had to give to fit the parameters is the trace
// of the inverse normal matrix times their own part of it.
func (st start) excess(inv *mat.SymDense) float64 {
	chi2, _, n := st.problem.misfit(st.state)
	own := *st.problem
	own.obs = nil
	for _, o := range st.problem.obs {
		if own.counts(&o) {
			own.obs = append(own.obs, o)
		}
	}
	var share mat.Dense
	share.Mul(inv, own.equations(own.pack(st.state)).data)
	return max(1, chi2/max(2, float64(2*n)-mat.Trace(&share)))
}

// gradient returns how the doubtful quantities move the point of the cloth's
// face that is now at p.
func (c *Calibration) gradient(p geometry.Point) (g gradient, ok bool) {
	const h = 0.1
	a, ok1 := c.ToImage(p.Add(geometry.Vec{X: h}))
	b, ok2 := c.ToImage(p.Add(geometry.Vec{X: -h}))
	e, ok3 := c.ToImage(p.Add(geometry.Vec{Y: h}))
	f, ok4 := c.ToImage(p.Add(geometry.Vec{Y: -h}))
	xx, xy, yx, yy := (a.X-b.X)/(2*h), (e.X-f.X)/(2*h), (a.Y-b.Y)/(2*h), (e.Y-f.Y)/(2*h)
	det := xx*yy - xy*yx
	if !ok1 || !ok2 || !ok3 || !ok4 || math.Abs(det) < 1e-12 {
		return g, false
	}
	for k := range doubtParams {
		q, r, width := vision.Pixel{}, vision.Pixel{}, 2*h
		if k == camParams {
			q, _ = c.Camera.Project(p, c.ThicknessMM+h)
			r, _ = c.Camera.Project(p, c.ThicknessMM-h)
		} else {
			q, _ = c.doubt.plus[k].Project(p, c.ThicknessMM)
			r, _ = c.doubt.minus[k].Project(p, c.ThicknessMM)
			width = 2 * halfStep(k)
		}
		du, dv := (q.X-r.X)/width, (q.Y-r.Y)/width
		g[0][k], g[1][k] = -(yy*du-xy*dv)/det, -(xx*dv-yx*du)/det
	}
	return g, true
}

// variance returns the variance of a combination of the doubtful quantities.
func (d *doubt) variance(j *[doubtParams]float64) (v float64) {
	for a, ja := range j {
		for b, jb := range j {
			v += ja * jb * d.cov[a][b]
		}
	}
	return v
}

// middle returns a grid of plane points over the middle of the photo, where the
// cloth is: three fifths of its width and height.
func (c *Calibration) middle() (pts []geometry.Point) {
	for j := range 5 {
		for i := range 5 {
			px := vision.Pixel{
				X: float64(c.Width) * (0.2 + 0.15*float64(i)),
				Y: float64(c.Height) * (0.2 + 0.15*float64(j)),
			}
			if p, ok := c.ToPlane(px); ok {
				pts = append(pts, p)
			}
		}
	}
	return pts
}

// setAlign finds the rigid motion that each doubtful quantity causes over the
// middle of the photo, so that PointSigma can leave it out: where a piece lies
// on the plane does not matter.
func (c *Calibration) setAlign() {
	d, pts := c.doubt, c.middle()
	if len(pts) == 0 {
		return
	}
	d.centre = mean(pts)
	var r2 float64
	for _, p := range pts {
		g, ok := c.gradient(p)
		if !ok {
			continue
		}
		u := p.Sub(d.centre)
		r2 += u.Dot(u)
		for k := range doubtParams {
			d.align[0][k] += g[0][k] / float64(len(pts))
			d.align[1][k] += g[1][k] / float64(len(pts))
			d.align[2][k] += u.X*g[1][k] - u.Y*g[0][k]
		}
	}
	for k := range doubtParams {
		d.align[2][k] /= max(r2, 1e-9)
	}
}

// PointSigma returns the standard uncertainty in mm, root mean square of both
// axes, of where the cloth point p lies relative to the others in the middle of
// the photo: what the calibration adds to an outline's doubt. The print's size
// is not in it. It is 0 where p is not seen, and for a calibration that was not
// solved.
func (c *Calibration) PointSigma(p geometry.Point) float64 {
	if c.doubt == nil {
		return 0
	}
	g, ok := c.gradient(p)
	if !ok {
		return 0
	}
	d := c.doubt
	u := p.Sub(d.centre)
	for k := range doubtParams {
		g[0][k] -= d.align[0][k] - u.Y*d.align[2][k]
		g[1][k] -= d.align[1][k] + u.X*d.align[2][k]
	}
	return math.Sqrt(max(0, d.variance(&g[0])+d.variance(&g[1])) / 2)
}

// LengthSigma returns the standard uncertainty in mm of the distance between two
// cloth points. The print's size is not in it. It is 0 where one is not seen,
// and for a calibration that was not solved.
func (c *Calibration) LengthSigma(a, b geometry.Point) float64 {
	if c.doubt == nil {
		return 0
	}
	ga, okA := c.gradient(a)
	gb, okB := c.gradient(b)
	if !okA || !okB {
		return 0
	}
	u := b.Sub(a).Unit()
	var j [doubtParams]float64
	for k := range j {
		j[k] = u.X*(gb[0][k]-ga[0][k]) + u.Y*(gb[1][k]-ga[1][k])
	}
	return math.Sqrt(max(0, c.doubt.variance(&j)))
}

// scalePct returns the root mean square of the relative uncertainty of lengths
// across the middle of the photo, in per cent.
func (c *Calibration) scalePct() float64 {
	pts := c.middle()
	if len(pts) < 25 {
		return 100
	}
	var sum float64
	lines := [4][2]int{{0, 24}, {4, 20}, {10, 14}, {2, 22}}
	for _, l := range lines {
		a, b := pts[l[0]], pts[l[1]]
		s := c.LengthSigma(a, b) / a.Dist(b)
		sum += s * s
	}
	return 100 * math.Sqrt(sum/float64(len(lines)))
}
