package calib

import (
	"math"
	"testing"
)

// The efficiency of Huber's estimator at the normal distribution is the published
// 95 % for k = 1.345 (manuals of statistics; recomputed here by quadrature):
// P(|x| < k)^2 / E[min(|x|, k)^2].
func TestHuberEfficiency(t *testing.T) {
	var inside, squares float64
	const h = 1e-3
	for x := -8.0; x <= 8; x += h {
		phi := math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * h
		if math.Abs(x) < huber {
			inside += phi
		}
		psi := math.Min(math.Abs(x), huber)
		squares += psi * psi * phi
	}
	if eff := inside * inside / squares; math.Abs(eff-0.95) > 1e-3 {
		t.Errorf("efficiency %.4f, want 0.95", eff)
	}
}
