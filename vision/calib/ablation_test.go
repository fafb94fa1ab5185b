//go:build ablation

package calib

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

var photos = flag.String("photos", "../../testdata/photos", "folders of photos with truth, separated by commas")

// photoTruth is what the ablation reads of a truth file.
type photoTruth struct {
	Image         string
	Expect        string
	Width, Height int
	Turned        int `json:"exif_orientation"`
	Camera        struct {
		Fx, Cx, Cy, K1, K2, P1, P2 float64
		R                          [3][3]float64
		T                          [3]float64
	}
	ClothMM float64 `json:"cloth_top_z_mm"`
	Pieces  []struct {
		Name    string
		Outline geometry.Polyline `json:"outline_mm"`
		ClothMM *float64          `json:"cloth_top_z_mm"`
	}
}

// see returns where the true camera sees the true outline of piece i, in the
// upright photo.
func (tr *photoTruth) see(i int) (px []vision.Pixel) {
	k := tr.Camera
	eye := vision.Camera{F: k.Fx, Cx: k.Cx, Cy: k.Cy, K1: k.K1, K2: k.K2, P1: k.P1, P2: k.P2, T: k.T}
	for i := range 9 {
		eye.R[i] = k.R[i/3][i%3]
	}
	z := tr.ClothMM
	if h := tr.Pieces[i].ClothMM; h != nil {
		z = *h
	}
	w, h := float64(tr.Width-1), float64(tr.Height-1)
	for _, p := range tr.Pieces[i].Outline {
		q, _ := eye.Project(p, z)
		switch tr.Turned {
		case 3:
			q = vision.Pixel{X: w - q.X, Y: h - q.Y}
		case 6:
			q = vision.Pixel{X: h - q.Y, Y: q.X}
		case 8:
			q = vision.Pixel{X: q.Y, Y: w - q.X}
		}
		px = append(px, q)
	}
	return px
}

// way is one way of getting from pixels to millimetres.
type way struct {
	name string
	open func(p *vision.Photo, dets []card.Detection) (func(vision.Pixel) geometry.Point, error)
}

var ways = []way{
	{"joint solve, saddles", func(p *vision.Photo, dets []card.Detection) (func(vision.Pixel) geometry.Point, error) {
		c, _, err := Solve(p, dets, Options{})
		return c.plain(), err
	}},
	{"joint solve, tag corners", func(p *vision.Photo, dets []card.Detection) (func(vision.Pixel) geometry.Point, error) {
		var all []target
		for _, d := range dets {
			all = append(all, cornersOnly(d))
		}
		c, _, err := newProblem(p, all, Options{}).calibrate(p, dets, Options{}.filled())
		return c.plain(), err
	}},
	{"one card, its saddles", func(_ *vision.Photo, dets []card.Detection) (func(vision.Pixel) geometry.Point, error) {
		return oneCard(dets, func(d card.Detection) [4]card.Observed { return d.Saddles }, card.SaddlePoint)
	}},
	{"one card, its tag", func(_ *vision.Photo, dets []card.Detection) (func(vision.Pixel) geometry.Point, error) {
		return oneCard(dets, func(d card.Detection) [4]card.Observed { return d.Tag }, card.TagCorner)
	}},
}

func (c *Calibration) plain() func(vision.Pixel) geometry.Point {
	return func(px vision.Pixel) geometry.Point {
		p, _ := c.ToPlane(px)
		return p
	}
}

// cornersOnly is a card as it is without saddle points: the tag's corners, taken as
// they are seen.
func cornersOnly(d card.Detection) (t target) {
	for k, o := range d.Tag {
		if o.SigmaPx > 0 {
			t.points = append(t.points, known{card.TagCorner(k), o.At, max(o.SigmaPx, minSigmaPx), vision.Pixel{}})
		}
	}
	return t
}

// oneCard maps by the homography of the card that is largest in the photo.
func oneCard(dets []card.Detection, seen func(card.Detection) [4]card.Observed, at func(int) geometry.Point) (func(vision.Pixel) geometry.Point, error) {
	var h card.Homography
	size := 0.0
	for _, d := range dets {
		var from []geometry.Point
		var to []vision.Pixel
		for k, o := range seen(d) {
			if o.SigmaPx > 0 {
				from, to = append(from, at(k)), append(to, o.At)
			}
		}
		if len(to) < 4 {
			continue
		}
		if s := math.Hypot(to[0].X-to[2].X, to[0].Y-to[2].Y); s > size {
			if g, ok := card.FitHomography(from, to); ok {
				h, size = g, s
			}
		}
	}
	if size == 0 {
		return nil, fmt.Errorf("no whole card")
	}
	var inv mat.Dense
	if err := inv.Inverse(mat.NewDense(3, 3, append(slices.Clone(h[:]), 1))); err != nil {
		return nil, err
	}
	return func(q vision.Pixel) geometry.Point {
		var v mat.VecDense
		v.MulVec(&inv, mat.NewVecDense(3, []float64{q.X, q.Y, 1}))
		return geometry.Point{X: v.AtVec(0) / v.AtVec(2), Y: v.AtVec(1) / v.AtVec(2)}
	}, nil
}

// figure gathers what one way did to all pieces.
type figure struct{ p95, scale []float64 }

// TestAblation prints what each way of calibrating does to a true edge that is found
// in the photo without any error: 95 % of it after rigid alignment, and scale.
func TestAblation(t *testing.T) {
	all := map[string]*figure{}
	for _, w := range ways {
		all[w.name] = &figure{}
	}
	for _, dir := range strings.Split(*photos, ",") {
		files, err := filepath.Glob(filepath.Join(dir, "*.json"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			var tr photoTruth
			text, err := os.ReadFile(file)
			if err == nil {
				err = json.Unmarshal(text, &tr)
			}
			if err != nil {
				t.Fatal(file, err)
			}
			if tr.Expect == "trace" {
				tr.measure(t, dir, all)
			}
		}
	}
	for _, w := range ways {
		f := all[w.name]
		slices.Sort(f.p95)
		slices.Sort(f.scale)
		if n := len(f.p95); n > 0 {
			t.Logf("%-26s %3d pieces: p95 in the middle %.2f, at most %.2f mm; scale in the middle %.3f, at most %.3f %%", w.name, n, f.p95[n/2], f.p95[n-1], f.scale[n/2], f.scale[n-1])
		}
	}
}

// measure adds what all ways make of one photo.
func (tr *photoTruth) measure(t *testing.T, dir string, all map[string]*figure) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, tr.Image))
	if err != nil {
		t.Fatal(err)
	}
	p, err := vision.Decode(t.Context(), data, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	dets, err := card.Detect(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range ways {
		toPlane, err := w.open(p, dets)
		if err != nil {
			t.Logf("%-34s %-26s %v", tr.Image, w.name, err)
			continue
		}
		for i := range tr.Pieces {
			var got []geometry.Point
			for _, px := range tr.see(i) {
				got = append(got, toPlane(px))
			}
			want := []geometry.Point(tr.Pieces[i].Outline)
			fit, _ := rigidFit(got, want)
			var off []float64
			for k := range got {
				off = append(off, fit.Apply(got[k]).Dist(want[k]))
			}
			slices.Sort(off)
			p95, scale := off[len(off)*95/100], 100*(scaleOf(got, want)-1)
			t.Logf("%-34s %-16s %-26s p95 %6.2f mm  scale %+7.3f %%", tr.Image, tr.Pieces[i].Name, w.name, p95, scale)
			f := all[w.name]
			f.p95, f.scale = append(f.p95, p95), append(f.scale, math.Abs(scale))
		}
	}
}
