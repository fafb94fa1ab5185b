package api_test

import (
	"math"
	"testing"

	"secondcut/api"
)

func TestPrintScale(t *testing.T) {
	scale, sigma := api.Print{AcrossMM: 149.25}.Scale()
	if math.Abs(scale[0]-0.995) > 1e-12 || scale[1] != 0 || sigma[1] != 0 {
		t.Errorf("scale %v ± %v", scale, sigma)
	}
	// Half a millimetre either way, evenly: a twelfth of its square is the variance.
	if want := math.Sqrt(1.0/12) / 150; math.Abs(sigma[0]-want) > 1e-6 {
		t.Errorf("standard uncertainty %v, want %v", sigma[0], want)
	}
	if scale, sigma = (api.Print{}).Scale(); scale != [2]float64{} || sigma != [2]float64{} {
		t.Errorf("nothing measured gives %v ± %v", scale, sigma)
	}
}
