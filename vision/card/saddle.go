package card

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/vision"
)

// What a saddle point must look like to be believed. Tuned on eighteen generated
// photos and on drawn cards with noise, blur, covers and glare.
const (
	saddleReachMM   = 4.2  // half width of the window: inside the 6 mm squares, blur allowed for
	maxReachPx      = 20.0 // more pixels gain nothing: of a wider window every other one is taken, and so on
	minReachPx      = 3.5  // a smaller one does not hold a saddle
	maxShiftMM      = 2.0  // from where the tag predicts it
	maxTurn         = 0.2  // of either edge from its predicted direction, radians
	minExplained    = 0.9  // share of the window's variance that the model explains
	minContrast     = 0.25 // of the tag's contrast
	saddleNoiseGain = 1.6  // neighbouring pixels share their errors (sharpening, JPEG)
	saddleFloorPx   = 0.015
)

// saddle is a fitted saddle point.
type saddle struct {
	Observed
	blurPx float64
}

// Parameters of the model: a checker blurred by a Gaussian,
//
//	v = level + (slopeX, slopeY) c - amplitude erf(d.n1/(s1 sqrt 2)) erf(d.n2/(s2 sqrt 2)),
//
// d being the pixel's distance from the saddle point, c that from the window's
// centre, and n1, n2 the normals of its two edges, exact for edges at right
// angles. It keeps its shape under a
// half turn, and so do a tone curve and ink that spreads: neither moves it.
const (
	posX = iota
	posY
	turn1 // of the edge along the card's x axis
	turn2 // of the edge along the card's y axis
	blur1 // logarithm of the blur across each, px
	blur2
	level
	amplitude
	slopeX
	slopeY
	saddleParams
)

// fitSaddle fits the model round the card point at as predicted by h, by
// Levenberg-Marquardt. ok is false when what is there is no saddle point.
func fitSaddle(p *vision.Photo, h *Homography, at geometry.Point, tagContrast float64) (s saddle, ok bool) {
	across, up := h.axes(at)
	if across.X*up.Y-across.Y*up.X >= 0 {
		return s, false // seen from behind
	}
	scale := min(length(across), length(up))
	stride := max(1, int(saddleReachMM*scale/maxReachPx))
	reach := min(saddleReachMM*scale, maxReachPx*float64(stride))
	start := h.Apply(at)
	if !(reach >= minReachPx) {
		return s, false
	}
	q := [saddleParams]float64{posX: start.X, posY: start.Y, blur1: math.Log(0.35 * scale), blur2: math.Log(0.35 * scale)}
	q[turn1], q[turn2] = math.Atan2(across.Y, across.X), math.Atan2(up.Y, up.X)
	begin := q
	// A first fit brings the full one onto the saddle. Its window is smaller where
	// that is small, and wider, of fewer pixels, where a strong lens may have moved
	// the saddle out of it.
	wide := 0.75 * saddleReachMM * scale
	var w window
	for _, part := range [2]struct {
		reach  float64
		stride int
	}{{max(wide, minReachPx), max(1, int(math.Ceil(wide/maxReachPx*1.5)))}, {reach, stride}} {
		if w, ok = cut(p, vision.Pixel{X: q[posX], Y: q[posY]}, part.reach, part.stride); !ok {
			return s, false
		}
		if ok = w.solve(&q); !ok {
			return s, false
		}
		if math.Hypot(q[posX]-start.X, q[posY]-start.Y) > maxShiftMM*scale {
			return s, false
		}
	}
	switch {
	case q[amplitude] < minContrast*tagContrast/2, w.last.rss > (1-minExplained)*w.variance,
		math.Abs(math.Remainder(q[turn1]-begin[turn1], 2*math.Pi)) > maxTurn,
		math.Abs(math.Remainder(q[turn2]-begin[turn2], 2*math.Pi)) > maxTurn:
		return s, false
	}
	sigma, ok := w.sigma()
	if !ok || sigma > reach/4 {
		return s, false
	}
	s.At = vision.Pixel{X: q[posX], Y: q[posY]}
	s.SigmaPx = math.Hypot(saddleNoiseGain*sigma, saddleFloorPx)
	s.blurPx = math.Exp(max(q[blur1], q[blur2]))
	return s, true
}

// window is a round cut-out of the photo.
type window struct {
	x, y, pix []float64
	centre    vision.Pixel
	variance  float64 // sum of squared deviations from the mean
	last      equations
}

// cut takes every stride-th pixel, both ways, within reach of centre; ok is false when the photo ends
// there.
func cut(p *vision.Photo, centre vision.Pixel, reach float64, stride int) (w window, ok bool) {
	x0, x1 := int(math.Ceil(centre.X-reach)), int(math.Floor(centre.X+reach))
	y0, y1 := int(math.Ceil(centre.Y-reach)), int(math.Floor(centre.Y+reach))
	if x0 < 0 || y0 < 0 || x1 >= p.Width || y1 >= p.Height {
		return w, false
	}
	w.centre = centre
	var sum, sum2 float64
	for y := y0; y <= y1; y += stride {
		for x := x0; x <= x1; x += stride {
			dx, dy := float64(x)-centre.X, float64(y)-centre.Y
			if dx*dx+dy*dy > reach*reach {
				continue
			}
			v := grey(p, x, y)
			w.x, w.y, w.pix = append(w.x, float64(x)), append(w.y, float64(y)), append(w.pix, v)
			sum, sum2 = sum+v, sum2+v*v
		}
	}
	w.variance = sum2 - sum*sum/float64(len(w.pix))
	return w, len(w.pix) > 2*saddleParams
}

// solve brings q to the least squares.
func (w *window) solve(q *[saddleParams]float64) bool {
	w.levels(q)
	var (
		damped  = mat.NewSymDense(saddleParams, nil)
		step    mat.VecDense
		chol    mat.Cholesky
		damping = 1e-2
		now     = w.equations(q)
	)
	for range 25 {
		damped.CopySym(now.normal)
		for i := range saddleParams {
			damped.SetSym(i, i, now.normal.At(i, i)*(1+damping)+1e-12)
		}
		if !chol.Factorize(damped) || chol.SolveVecTo(&step, now.grad) != nil {
			return false
		}
		next := *q
		for i := range next {
			next[i] += step.AtVec(i)
		}
		next[blur1] = max(math.Log(0.2), next[blur1])
		next[blur2] = max(math.Log(0.2), next[blur2])
		got := w.equations(&next)
		if !(got.rss < now.rss) {
			if damping *= 8; damping > 1e4 {
				break
			}
			continue
		}
		moved, gained := math.Hypot(next[posX]-q[posX], next[posY]-q[posY]), now.rss-got.rss
		*q, now, damping = next, got, damping/8
		if moved < 2e-3 && gained < 1e-3*now.rss {
			break
		}
	}
	w.last = now
	return !math.IsNaN(now.rss + q[posX] + q[posY])
}

// levels sets level and amplitude from the pixels and the predicted quadrants.
func (w *window) levels(q *[saddleParams]float64) {
	var sum, diff, n float64
	s1, c1 := math.Sincos(q[turn1])
	s2, c2 := math.Sincos(q[turn2])
	for i, v := range w.pix {
		dx, dy := w.x[i]-q[posX], w.y[i]-q[posY]
		sum, n = sum+v, n+1
		if (s1*dx-c1*dy)*(c2*dy-s2*dx) > 0 {
			diff -= v
		} else {
			diff += v
		}
	}
	q[level], q[amplitude] = sum/n, math.Max(diff/n, 1)
}

// equations are the normal equations of a window: normal step = grad.
type equations struct {
	rss    float64 // sum of squared residuals
	normal *mat.SymDense
	grad   *mat.VecDense
}

// equations returns the normal equations at q.
func (w *window) equations(q *[saddleParams]float64) (eq equations) {
	s1, c1 := math.Sincos(q[turn1])
	s2, c2 := math.Sincos(q[turn2])
	k1, k2 := math.Exp(-q[blur1])/math.Sqrt2, math.Exp(-q[blur2])/math.Sqrt2
	var jtj [saddleParams][saddleParams]float64
	var jtr, j [saddleParams]float64
	for i, v := range w.pix {
		dx, dy := w.x[i]-q[posX], w.y[i]-q[posY]
		// Up the card from edge 1, and to the right of edge 2, in blurs.
		d1, d2 := (s1*dx-c1*dy)*k1, (c2*dy-s2*dx)*k2
		e1, slope1 := blurredStep(d1)
		e2, slope2 := blurredStep(d2)
		g1, g2 := -q[amplitude]*e2*slope1, -q[amplitude]*e1*slope2
		cx, cy := w.x[i]-w.centre.X, w.y[i]-w.centre.Y
		r := v - (q[level] + q[slopeX]*cx + q[slopeY]*cy - q[amplitude]*e1*e2)
		eq.rss += r * r
		j[posX], j[posY] = g2*s2*k2-g1*s1*k1, g1*c1*k1-g2*c2*k2 // 0 far from both edges
		j[turn1], j[turn2] = g1*(c1*dx+s1*dy)*k1, -g2*(s2*dy+c2*dx)*k2
		j[blur1], j[blur2] = -g1*d1, -g2*d2
		j[level], j[amplitude] = 1, -e1*e2
		j[slopeX], j[slopeY] = cx, cy
		for a, ja := range j {
			jtr[a] += ja * r
			if ja == 0 {
				continue
			}
			row := &jtj[a]
			for b := a; b < saddleParams; b++ {
				row[b] += ja * j[b]
			}
		}
	}
	eq.normal, eq.grad = mat.NewSymDense(saddleParams, nil), mat.NewVecDense(saddleParams, jtr[:])
	for a := range j {
		for b := a; b < saddleParams; b++ {
			eq.normal.SetSym(a, b, jtj[a][b])
		}
	}
	return eq
}

// blurredStep returns erf(d) and its derivative, exact to 2e-6; most pixels lie
// far from an edge, where both are constant. The error function in terms of the
// exponential that its derivative needs anyway: Abramowitz and Stegun, Handbook
// of Mathematical Functions, 7.1.26 (error below 1.5e-7).
func blurredStep(d float64) (e, slope float64) {
	switch {
	case d > 3.3:
		return 1, 0
	case d < -3.3:
		return -1, 0
	}
	x := math.Exp(-d * d)
	t := 1 / (1 + 0.3275911*math.Abs(d))
	e = 1 - ((((1.061405429*t-1.453152027)*t+1.421413741)*t-0.284496736)*t+0.254829592)*t*x
	return math.Copysign(e, d), 2 / math.SqrtPi * x
}

// sigma returns the standard uncertainty in pixels of each coordinate of the
// solved position, from the inverse normal matrix and the residual variance.
func (w *window) sigma() (float64, bool) {
	var chol mat.Cholesky
	var cov mat.SymDense
	if !chol.Factorize(w.last.normal) || chol.InverseTo(&cov) != nil {
		return 0, false
	}
	variance := w.last.rss / float64(len(w.pix)-saddleParams)
	return math.Sqrt(variance * (cov.At(posX, posX) + cov.At(posY, posY)) / 2), true
}
