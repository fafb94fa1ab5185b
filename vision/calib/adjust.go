package calib

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// huber is the constant of Huber's loss in sigmas: 95 % efficient under normal
// errors (Huber, Robust Statistics, 1981).
const huber = 1.345

// equations are the normal equations of a problem at one parameter vector.
type equations struct {
	data *mat.SymDense // of the observations alone
	meat *mat.SymDense // the same with squared weights: the variance of grad
	all  *mat.SymDense // with what is expected beforehand
	grad *mat.VecDense
}

// loss returns Huber's loss of a point's residual and its weight. Both
// coordinates share the weight, so that the axes have no part in it.
func loss(r [2]float64) (rho, weight float64) {
	s2 := (r[0]*r[0] + r[1]*r[1]) / 2
	if s2 <= huber*huber {
		return s2, 1
	}
	s := math.Sqrt(s2)
	return huber * (2*s - huber), huber / s
}

// cost returns the robust loss of all observations and expectations; infinite
// where a point falls behind the camera.
func (pr *problem) cost(v []float64) (c float64) {
	cam, at := pr.camera(v), pr.points(v)
	for i := range pr.obs {
		r, ok := pr.obs[i].residual(&cam, at[i], v[parInset])
		if !ok {
			return math.Inf(1)
		}
		rho, _ := loss(r)
		c += rho
	}
	for k, s := range pr.expected() {
		if s > 0 {
			c += v[k] * v[k] / (2 * s * s)
		}
	}
	if math.IsNaN(c) {
		return math.Inf(1)
	}
	return c
}

// halfStep is the half width of the central difference for a shared parameter.
func halfStep(k int) float64 {
	switch k {
	case parCx, parCy:
		return 1e-2
	case parTx, parTy, parTz:
		return 1e-3
	}
	return 1e-5
}

// equations returns the normal equations at v, weighted by the loss.
func (pr *problem) equations(v []float64) equations {
	n := pr.size()
	rows := pr.jacobian(v)
	data, meat, grad := make([]float64, n*n), make([]float64, n*n), make([]float64, n)
	cam, at := pr.camera(v), pr.points(v)
	for i := range pr.obs {
		r, _ := pr.obs[i].residual(&cam, at[i], v[parInset])
		_, w := loss(r)
		for k := range 2 {
			row := rows[2*i+k]
			for a, ja := range row {
				if ja == 0 {
					continue
				}
				grad[a] -= w * ja * r[k]
				for b := a; b < n; b++ {
					data[a*n+b] += w * ja * row[b]
					meat[a*n+b] += w * w * ja * row[b]
				}
			}
		}
	}
	eq := equations{data: mat.NewSymDense(n, data), meat: mat.NewSymDense(n, meat), all: mat.NewSymDense(n, nil), grad: mat.NewVecDense(n, grad)}
	eq.all.CopySym(eq.data)
	for k, s := range pr.expected() {
		if s > 0 {
			eq.all.SetSym(k, k, eq.all.At(k, k)+1/(s*s))
			grad[k] -= v[k] / (s * s)
		}
	}
	return eq
}

// jacobian returns the derivatives of the residuals, two rows an observation, by
// central differences. A target's place and size move its own points only.
func (pr *problem) jacobian(v []float64) [][]float64 {
	n := pr.size()
	rows, all := make([][]float64, 2*len(pr.obs)), make([]float64, 2*len(pr.obs)*n)
	for i := range rows {
		rows[i] = all[i*n : (i+1)*n]
	}
	w, still := append([]float64(nil), v...), pr.points(v)
	for k := range n {
		own, owned := pr.owner(k)
		h := 1e-3
		switch {
		case !owned:
			h = halfStep(k)
		case k >= pr.sizesAt() || (k-shared)%3 == 2:
			h = 1e-5
		}
		for _, sign := range [2]float64{1, -1} {
			w[k] = v[k] + sign*h
			cam, at := pr.camera(w), still
			if k == parRatio || owned {
				at = pr.points(w)
			}
			for i := range pr.obs {
				o := &pr.obs[i]
				if owned && o.slot != own {
					continue
				}
				r, _ := o.residual(&cam, at[i], w[parInset])
				rows[2*i][k] += sign * r[0] / (2 * h)
				rows[2*i+1][k] += sign * r[1] / (2 * h)
			}
		}
		w[k] = v[k]
	}
	return rows
}

// adjust brings s towards the least loss, in at most so many rounds, by
// Levenberg-Marquardt with Marquardt's scaling (Marquardt, SIAM J. Appl. Math.
// 11, 1963) and reweighting.
func (pr *problem) adjust(s state, rounds int) (state, float64) {
	v := pr.pack(s)
	cost := pr.cost(v)
	n := pr.size()
	damping, next := 1e-3, make([]float64, n)
	for range rounds {
		eq := pr.equations(v)
		gained := 0.0
		for ; damping < 1e10; damping *= 6 {
			chol, unit, ok := factorize(eq.all, damping)
			if !ok {
				continue
			}
			step := mat.NewVecDense(n, nil)
			for k := range n {
				step.SetVec(k, eq.grad.AtVec(k)/unit[k])
			}
			if chol.SolveVecTo(step, step) != nil {
				continue
			}
			for k := range n {
				next[k] = v[k] + step.AtVec(k)/unit[k]
			}
			if c := pr.cost(next); c < cost {
				gained, cost = cost-c, c
				copy(v, next)
				damping = max(damping/10, 1e-9)
				break
			}
		}
		if gained <= 1e-6*cost+1e-7 {
			break
		}
	}
	return pr.unpack(v, s), cost
}

// factorize returns the Cholesky factors of a matrix whose rows and columns are
// divided by unit, so that its diagonal is 1 (plus damping): parameters of
// different units would drown each other otherwise.
func factorize(a *mat.SymDense, damping float64) (chol mat.Cholesky, unit []float64, ok bool) {
	n := a.SymmetricDim()
	unit = make([]float64, n)
	for k := range n {
		if unit[k] = math.Sqrt(a.At(k, k)); !(unit[k] > 0) {
			unit[k] = 1
		}
	}
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, a.At(i, j)/(unit[i]*unit[j]))
		}
		s.SetSym(i, i, s.At(i, i)+damping+1e-14)
	}
	return chol, unit, chol.Factorize(s)
}

// inverse returns the inverse of a normal matrix.
func inverse(a *mat.SymDense) (*mat.SymDense, bool) {
	chol, unit, ok := factorize(a, 0)
	if !ok {
		return nil, false
	}
	var inv mat.SymDense
	if chol.InverseTo(&inv) != nil {
		return nil, false
	}
	for i := range unit {
		for j := i; j < len(unit); j++ {
			inv.SetSym(i, j, inv.At(i, j)/(unit[i]*unit[j]))
		}
	}
	return &inv, true
}

// misfit returns the sum of squared residuals in sigmas of the points that count
// as precise, the same in pixels, and their number.
func (pr *problem) misfit(s state) (chi2, px2 float64, count int) {
	v := pr.pack(s)
	cam, at := pr.camera(v), pr.points(v)
	for i := range pr.obs {
		o := &pr.obs[i]
		if !pr.counts(o) {
			continue
		}
		r, _ := o.residual(&cam, at[i], v[parInset])
		q := r[0]*r[0] + r[1]*r[1]
		chi2, px2, count = chi2+q, px2+q*o.sigma*o.sigma, count+1
	}
	return
}

// rescale widens the stated uncertainty of all points where the saddle points fit
// worse than it says: paper that is not quite flat, print that is not quite true.
// It goes by their median, which a bad card does not move, and returns false when
// they fit as stated.
func (pr *problem) rescale(s state) (*problem, bool) {
	v := pr.pack(s)
	cam, at := pr.camera(v), pr.points(v)
	var squares []float64
	for i := range pr.obs {
		if o := &pr.obs[i]; pr.counts(o) {
			r, _ := o.residual(&cam, at[i], v[parInset])
			squares = append(squares, r[0]*r[0]+r[1]*r[1])
		}
	}
	if len(squares) < 8 {
		return pr, false // too few to tell chance from a pattern
	}
	// The median of the squared length of a pair of standard normals, less what
	// each card's place and half a camera's worth of freedom take away.
	const median2 = 1.386
	n := float64(2 * len(squares))
	worse := median(squares) / median2 * n / max(n/4, n-float64(3*len(pr.use)+4))
	if worse < minWorse {
		return pr, false
	}
	q := *pr
	q.obs = slices.Clone(pr.obs)
	for i := range q.obs {
		q.obs[i].sigma *= math.Sqrt(worse)
	}
	return &q, true
}

// minWorse is the ratio of variances below which a misfit is taken for chance.
const minWorse = 1.7

// counts reports whether an observation tells how well all fits: the cards'
// saddle points, and what was clicked only where there is no card.
func (pr *problem) counts(o *observation) bool {
	return o.fine() && (!pr.isReference(o.target) || len(pr.references()) == len(pr.use))
}

// reduce returns the problem with only the targets in use, held where s has
// the first of them.
func (pr *problem) reduce(s state, use []int) *problem {
	q := *pr
	q.use, q.held, q.obs = use, s.places[use[0]], nil
	for _, o := range pr.obs {
		if o.slot = slices.Index(use, o.target); o.slot >= 0 {
			q.obs = append(q.obs, o)
		}
	}
	return &q
}

// without returns use with one target left out.
func without(use []int, target int) (rest []int) {
	for _, d := range use {
		if d != target {
			rest = append(rest, d)
		}
	}
	return
}
