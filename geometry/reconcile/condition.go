package reconcile

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// block is a group of unknowns that are alike before blocks are compared with each other.
type block struct {
	first, n int // unknowns
	cov      *mat.SymDense
}

// row is a condition: the sum of coefficient times unknown is to be want, within sd.
type row struct {
	at   []int
	by   []float64
	want float64
	sd   float64
	// spare is what else may set the two apart, as a standard deviation, before the
	// condition counts as broken.
	spare float64
}

func (r *row) add(i int, c float64) {
	r.at, r.by = append(r.at, i), append(r.by, c)
}

// compact returns the row with each unknown once, in order.
func (r row) compact() row {
	sum := map[int]float64{}
	for k, i := range r.at {
		sum[i] += r.by[k] // in the order of the row, so that equal rows give equal sums
	}
	r.at, r.by = slices.Sorted(maps.Keys(sum)), nil
	for _, i := range r.at {
		r.by = append(r.by, sum[i])
	}
	return r
}

// value returns the sum of a row.
func (r row) value(x []float64) float64 {
	var v float64
	for k, i := range r.at {
		v += r.by[k] * x[i]
	}
	return v
}

// within reports whether all unknowns of a row are of one block.
func (r row) within(b block) bool {
	for _, i := range r.at {
		if i < b.first || i >= b.first+b.n {
			return false
		}
	}
	return true
}

// spread returns cov times each row's coefficients, a column a row.
func (b block) spread(rows []row) *mat.Dense {
	out := mat.NewDense(b.n, max(len(rows), 1), nil)
	for c, r := range rows {
		for k, i := range r.at {
			if i < b.first || i >= b.first+b.n {
				continue
			}
			for q := range b.n {
				out.Set(q, c, out.At(q, c)+r.by[k]*b.cov.At(q, i-b.first))
			}
		}
	}
	return out
}

// gate is how many standard deviations a condition may be off before it counts less, as
// much less as it is off more (judgement).
const gate = 3.0

// softened returns a condition that weighs less where it is off by more than all that
// is uncertain explains: its pull then falls as it is off more. variance is that of its
// sum before anything is compared.
func (r row) softened(variance float64) row {
	if most := gate * gate * (variance + r.spare*r.spare + r.sd*r.sd); r.want*r.want > most {
		r.sd = math.Sqrt(r.want*r.want/(gate*gate) - variance)
	}
	return r
}

// condition returns the unknowns and the covariances of blocks after rows hold, and
// what each row presses with. Nothing is changed.
func condition(blocks []block, x []float64, rows []row) ([]float64, []block, []float64) {
	m := len(rows)
	if m == 0 {
		return append([]float64(nil), x...), blocks, nil
	}
	sum, off := mat.NewSymDense(m, nil), mat.NewVecDense(m, nil)
	spread := make([]*mat.Dense, len(blocks))
	for k, b := range blocks {
		spread[k] = b.spread(rows)
	}
	for c, r := range rows {
		off.SetVec(c, r.want-r.value(x))
		for e := c; e < m; e++ {
			var v float64
			for k, i := range r.at {
				for q, b := range blocks {
					if i >= b.first && i < b.first+b.n {
						v += r.by[k] * spread[q].At(i-b.first, e)
					}
				}
			}
			if e == c {
				v += r.sd*r.sd + 1e-9
			}
			sum.SetSym(c, e, v)
		}
	}
	var chol mat.Cholesky
	press := mat.NewVecDense(m, nil)
	if !chol.Factorize(sum) || chol.SolveVecTo(press, off) != nil {
		return append([]float64(nil), x...), blocks, make([]float64, m)
	}
	out, after := append([]float64(nil), x...), make([]block, len(blocks))
	for k, b := range blocks {
		var step mat.VecDense
		step.MulVec(spread[k], press)
		for i := range b.n {
			out[b.first+i] += step.AtVec(i)
		}
		after[k] = b.less(spread[k], &chol)
	}
	return out, after, press.RawVector().Data
}

// less returns the block with what the conditions tell taken off its covariance.
func (b block) less(spread *mat.Dense, chol *mat.Cholesky) block {
	var solved, gone mat.Dense
	if chol.SolveTo(&solved, spread.T()) != nil {
		return b
	}
	gone.Mul(spread, &solved)
	cov := mat.NewSymDense(b.n, nil)
	for i := range b.n {
		for j := i; j < b.n; j++ {
			cov.SetSym(i, j, b.cov.At(i, j)-(gone.At(i, j)+gone.At(j, i))/2)
		}
	}
	return block{b.first, b.n, cov}
}
