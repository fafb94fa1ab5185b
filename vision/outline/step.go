package outline

import "math"

// step is a blurred step of height 1 and standard deviation 1, tabulated: its
// value falls from 1 to 0, and slope is how fast. Between entries both are
// interpolated, right to 1e-5.
type step struct{ value, slope [2*stepCells + 2]float64 }

// The table reaches stepReach standard deviations to either side.
const (
	stepReach = 3.0
	stepCells = 192
)

var unitStep = newStep()

func newStep() *step {
	s := new(step)
	for i := range s.value {
		u := stepPlace(i)
		s.value[i] = 0.5 * math.Erfc(u/math.Sqrt2)
		s.slope[i] = math.Exp(-u*u/2) / math.Sqrt(2*math.Pi)
	}
	return s
}

// stepPlace returns the place of an entry of the table, in standard deviations.
func stepPlace(i int) float64 { return (float64(i)/stepCells - 1) * stepReach }

// at returns value and slope at u standard deviations; beyond the table, those of
// its end.
func (s *step) at(u float64) (value, slope float64) {
	f := (u/stepReach + 1) * stepCells
	f = min(max(f, 0), 2*stepCells)
	i := int(f)
	f -= float64(i)
	return s.value[i] + (s.value[i+1]-s.value[i])*f, s.slope[i] + (s.slope[i+1]-s.slope[i])*f
}
