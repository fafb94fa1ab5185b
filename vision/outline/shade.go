package outline

import "math"

// An edge of cloth as the photo draws it is a sum of shapes, each in the colour
// of the cloth or of the ground, all about the place of the edge: cloth up to
// there, darker where it is rounded; ground from there on, darker next to the
// cloth. How the darkness ends is not known: a sum of two that fade from the edge
// on, as under a wide sky, and two that are even and then end, as behind a lamp's
// light, comes close to any law.
const (
	clothFlat = iota
	clothRound
	groundFlat
	groundNear
	groundMid
	groundEven
	groundWide
	shapes
)

// fade are the lengths in mm over which darkness fades or after which it ends;
// those that end do so with a standard deviation of a third of it.
var fade = weights{clothRound: 0.4, groundNear: 0.4, groundMid: 1.1, groundEven: 1.1, groundWide: 2.4}

// usual and unusual are the mean and the standard deviation of the weight of each
// shape. A wall of cloth takes half of the light of a wide sky from the ground at
// its foot and nothing of a lamp's on its bright side. Set on rendered photos.
var (
	usual   = weights{1, 0.15, 1, 0.12, 0.1, 0.02, 0.02}
	unusual = weights{0.05, 0.12, 0.12, 0.12, 0.12, 0.12, 0.12}
)

// weights are those of the shapes of one edge.
type weights [shapes]float64

// shapeTable holds the shapes for one blur at equal steps about the edge.
type shapeTable struct {
	step, reach float64
	value       [shapes][]float64
}

// newShapeTable tabulates the shapes to reach mm on either side, blurred by blur mm.
func newShapeTable(blur, reach float64) *shapeTable {
	t := &shapeTable{step: blur / 6, reach: reach}
	n := int(2*reach/t.step) + 2
	for j := range t.value {
		t.value[j] = make([]float64, n)
	}
	for k := range n {
		x := float64(k)*t.step - reach
		on := 0.5 * math.Erfc(x/blur/math.Sqrt2)
		t.value[clothFlat][k], t.value[groundFlat][k] = on, 1-on
		t.value[clothRound][k] = -faded(-x, fade[clothRound], blur)
		for _, j := range [2]int{groundNear, groundMid} {
			t.value[j][k] = -faded(x, fade[j], blur)
		}
		for _, j := range [2]int{groundEven, groundWide} {
			soft := math.Hypot(blur, fade[j]/3)
			t.value[j][k] = on - 0.5*math.Erfc((x-fade[j])/soft/math.Sqrt2)
		}
	}
	return t
}

// faded is exp(-x/length) for x > 0, blurred by a Gaussian.
func faded(x, length, blur float64) float64 {
	r := blur / length
	u := (r - x/blur) / math.Sqrt2
	if u > 5 { // erfc(u) is about exp(-u*u)/(u*sqrt(pi))
		return 0.5 * math.Exp(-x*x/(2*blur*blur)) / (u * math.Sqrt(math.Pi))
	}
	return 0.5 * math.Exp(r*r/2-x/length) * math.Erfc(u)
}

// at returns all shapes x mm beyond the edge.
func (t *shapeTable) at(x float64) (v weights) {
	f := (x + t.reach) / t.step
	n := len(t.value[0])
	f = min(max(f, 0), float64(n)-1.001)
	i := int(f)
	f -= float64(i)
	for j := range v {
		v[j] = t.value[j][i] + (t.value[j][i+1]-t.value[j][i])*f
	}
	return v
}

// curves adds the shapes up by their weights: the shares of the cloth's colour
// and of the ground's, at the table's steps.
func (t *shapeTable) curves(w *weights) (cloth, ground []float64) {
	n := len(t.value[0])
	cloth, ground = make([]float64, n), make([]float64, n)
	for k := range n {
		cloth[k] = w[clothFlat]*t.value[clothFlat][k] + w[clothRound]*t.value[clothRound][k]
		for j := groundFlat; j < shapes; j++ {
			ground[k] += w[j] * t.value[j][k]
		}
	}
	return cloth, ground
}
