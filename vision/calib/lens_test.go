package calib

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

// A photographed chessboard of 9 x 6 inner corners, 25 mm apart.
const (
	boardAcross, boardDown = 9, 6
	boardMM                = 25.0
	// statedPx is what the solver is told of a corner: what such operators
	// commonly reach.
	statedPx = 0.1
	// boardPx is how well OpenCV's corner refinement found a corner of these
	// photos, each coordinate: a full calibration of them, which comes with them,
	// leaves residuals of 0.2 px (median of the photos' root mean squares of both
	// coordinates together).
	boardPx = 0.14
)

// figures is how far an independent prototype of the same idea was off on these
// photos, all of them: from ... to.
var figures = struct{ scalePct, p50, p95 float64 }{0.4, 0.39, 0.70}

// square is the square of the board whose upper left corner is (col, row), as a
// target whose place is not known.
func square(px []vision.Pixel, col, row int) (t target) {
	for i, d := range [4][2]int{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
		at := [4]geometry.Point{{X: -0.5, Y: 0.5}, {X: 0.5, Y: 0.5}, {X: 0.5, Y: -0.5}, {X: -0.5, Y: -0.5}}[i]
		t.points = append(t.points, known{
			at: geometry.Point{X: at.X * boardMM, Y: at.Y * boardMM},
			px: px[(row+d[1])*boardAcross+col+d[0]], sigma: statedPx,
		})
	}
	return t
}

// solveBoard finds camera and plane from the board's four corner squares alone.
func solveBoard(t *testing.T, px []vision.Pixel) *Calibration {
	t.Helper()
	p := &vision.Photo{Width: 640, Height: 480, FocalPx: 550}
	all := []target{square(px, 0, 0), square(px, 7, 0), square(px, 7, 4), square(px, 0, 4)}
	pr := newProblem(p, all, Options{})
	pr.sigma[parF] = 0.05
	best, ok := pr.solve()
	if !ok {
		t.Fatal("no solution")
	}
	k := best.dropLoose()
	c, ok := k.calibration(nil, Options{ThicknessMM: -1}.filled())
	if !ok {
		t.Fatal("no covariance")
	}
	return c
}

// grid returns the board's corners on the plane as measured, as they are in
// truth, and which were not used.
func grid(px []vision.Pixel, c *Calibration) (got, want []geometry.Point, unused []bool) {
	for i, q := range px {
		p, _ := c.Camera.Plane(q, 0)
		col, row := i%boardAcross, i/boardAcross
		got = append(got, p)
		want = append(want, geometry.Point{X: float64(col) * boardMM, Y: float64(-row) * boardMM})
		unused = append(unused, (col == 2 || col == 3 || col == 4 || col == 5 || col == 6) || row == 2 || row == 3)
	}
	return got, want, unused
}

// scaleOf returns the scale of the best similarity from want to got.
func scaleOf(got, want []geometry.Point) float64 {
	a, b := mean(got), mean(want)
	fit, _ := rigidFit(want, got)
	var num, den float64
	for i := range got {
		u := want[i].Sub(b)
		p := fit.Apply(want[i])
		v := got[i].Sub(a)
		num += v.Dot(p.Sub(a))
		den += u.Dot(u)
	}
	return num / den
}

// Photographs through a real lens with strong barrel distortion, whose middle lies
// 23 px from that of the picture: what four scattered squares say of the whole
// board must be right, and as unsure as stated.
func TestARealLens(t *testing.T) {
	data, err := os.ReadFile("../../testdata/lens/corners.json")
	if err != nil {
		t.Fatal(err)
	}
	var photos map[string][][2]float64
	if err := json.Unmarshal(data, &photos); err != nil || len(photos) != 13 {
		t.Fatalf("%v, %d photos", err, len(photos))
	}
	names := make([]string, 0, len(photos))
	for n := range photos {
		names = append(names, n)
	}
	slices.Sort(names)
	covered, total := 0, 0
	for _, name := range names {
		var px []vision.Pixel
		for _, q := range photos[name] {
			px = append(px, vision.Pixel{X: q[0], Y: q[1]})
		}
		c := solveBoard(t, px)
		got, want, unused := grid(px, c)
		scale := 100 * (scaleOf(got, want) - 1)
		fit, _ := rigidFit(got, want)
		var off []float64
		in, of := 0, 0
		for i := range got {
			e := fit.Apply(got[i]).Dist(want[i])
			off = append(off, e)
			if unused[i] {
				of++
				// Two axes of normal errors lie within 2.45 sigma in 95 of 100;
				// the corner itself is read to boardPx.
				sigma := math.Hypot(c.PointSigma(got[i]), boardPx/c.PxPerMM(got[i]))
				if e <= 2.45*sigma {
					in++
				}
			}
		}
		slices.Sort(off)
		p50, p95 := off[len(off)/2], off[len(off)*95/100]
		t.Logf("%s: scale %+.2f %% (stated %.2f), p50 %.2f mm, p95 %.2f mm, %d of %d covered; f %.0f k1 %.3f k2 %.3f c %+.1f %+.1f", name, scale, c.ScaleUncertaintyPct, p50, p95, in, of,
			c.Camera.F, c.Camera.K1, c.Camera.K2, c.Camera.Cx-319.5, c.Camera.Cy-239.5)
		if math.Abs(scale) > figures.scalePct || p50 > figures.p50 || p95 > figures.p95 {
			t.Errorf("%s: worse than a plain prototype", name)
		}
		covered, total = covered+in, total+of
	}
	t.Logf("covered %d of %d", covered, total)
	if share := float64(covered) / float64(total); share < 0.9 {
		t.Errorf("the stated uncertainty covers %.0f %% of the corners", 100*share)
	}
}
