package outline

import "math"

// step is a blurred step of height 1 and standard deviation 1, tabulated: its
// value falls from 1 to 0. Between entries it is interpolated, right to 1e-5.
type step [2*stepCells + 2]float64

// The table reaches stepReach standard deviations to either side.
const (
	stepReach = 5.0
	stepCells = 320
)

var unitStep = newStep()

func newStep() *step {
	s := new(step)
	for i := range s {
		u := (float64(i)/stepCells - 1) * stepReach
		s[i] = 0.5 * math.Erfc(u/math.Sqrt2)
	}
	return s
}

// at returns the value at u standard deviations.
func (s *step) at(u float64) float64 {
	f := (u/stepReach + 1) * stepCells
	f = min(max(f, 0), 2*stepCells)
	i := int(f)
	return s[i] + (s[i+1]-s[i])*(f-float64(i))
}
