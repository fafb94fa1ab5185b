package calib

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// view is how one card alone says the plane lies, in camera coordinates: its
// centre and its normal towards the camera.
type view struct{ centre, normal [3]float64 }

// guess returns starting points for focal length f: the plane as the cards' own
// homographies have it, and, since one small card seen from afar fits a plane
// tilted the other way nearly as well, that plane mirrored about the line of
// sight (Collins and Bartoli, IJCV 109, 2014, on the two poses of a plane).
func (pr *problem) guess(f float64) []start {
	var views []view
	for _, d := range pr.use {
		if v, ok := pr.view(pr.targets[d], f); ok {
			views = append(views, v)
		}
	}
	if len(views) == 0 {
		return nil
	}
	var n, c [3]float64
	for k := range 3 {
		var ns, cs []float64
		for _, v := range views {
			ns, cs = append(ns, v.normal[k]), append(cs, v.centre[k])
		}
		n[k], c[k] = median(ns), median(cs)
	}
	n = unit(n)
	// The plane's distance along the normal, from all cards.
	var ds []float64
	for _, v := range views {
		ds = append(ds, dot(n, v.centre))
	}
	sight := unit(c)
	k := 2 * dot(n, sight)
	mirrored := [3]float64{k*sight[0] - n[0], k*sight[1] - n[1], k*sight[2] - n[2]}
	var out []start
	for _, normal := range [][3]float64{n, mirrored} {
		d := median(ds) / dot(n, sight) * dot(normal, sight)
		if st, ok := pr.lay(f, normal, d); ok {
			out = append(out, st)
		}
	}
	return out
}

// view returns how a target lies if the focal length is f and the lens has no
// distortion (Zhang, IEEE TPAMI 22, 2000, section 3.1).
func (pr *problem) view(t target, f float64) (v view, ok bool) {
	var from []geometry.Point
	var to []vision.Pixel
	for _, k := range t.points {
		from = append(from, k.at)
		to = append(to, vision.Pixel{X: (k.px.X - float64(pr.width-1)/2) / f * 100, Y: (k.px.Y - float64(pr.height-1)/2) / f * 100})
	}
	h, ok := card.FitHomography(from, to)
	if !ok {
		return v, false
	}
	x := [3]float64{h[0] / 100, h[3] / 100, h[6]}
	y := [3]float64{h[1] / 100, h[4] / 100, h[7]}
	scale := math.Sqrt(dot(x, x) * dot(y, y))
	if !(scale > 0) {
		return v, false
	}
	z := 1 / math.Sqrt(scale)
	v.centre = [3]float64{h[2] / 100 * z, h[5] / 100 * z, z}
	v.normal = unit(cross(x, y))
	if dot(v.normal, v.centre) > 0 {
		return v, false // seen from behind: no card
	}
	return v, !math.IsNaN(v.normal[0] + v.centre[0])
}

// start is a problem with its first guess.
type start struct {
	problem *problem
	state   state
}

// lay puts the plane frame onto the plane n X = d of camera coordinates, upright
// in the photo and with its origin amid the targets, and the targets onto it.
func (pr *problem) lay(f float64, n [3]float64, d float64) (st start, ok bool) {
	x := unit([3]float64{1 - n[0]*n[0], -n[0] * n[1], -n[0] * n[2]})
	y := cross(n, x)
	q := *pr
	q.base = [9]float64{x[0], y[0], n[0], x[1], y[1], n[1], x[2], y[2], n[2]}
	s := state{places: make([]geometry.Rigid, len(q.targets)), sizes: make([][2]float64, len(q.targets))}
	s.shared[parF] = math.Log(f / q.focal)
	s.shared[parTx], s.shared[parTy], s.shared[parTz] = n[0]*d, n[1]*d, n[2]*d
	cam := q.camera(s.shared[:])
	var middle []geometry.Point
	for _, i := range q.use {
		if s.places[i], ok = settle(&cam, q.targets[i]); !ok {
			return st, false
		}
		middle = append(middle, s.places[i].Move)
	}
	m := mean(middle)
	for _, i := range q.use {
		at := &s.places[i].Move
		at.X, at.Y = at.X-m.X, at.Y-m.Y
	}
	for k := range 3 {
		s.shared[parTx+k] += m.X*x[k] + m.Y*y[k]
	}
	q.held = s.places[q.use[0]]
	return start{&q, s}, true
}

// settle returns where a camera sees a target lie on the plane.
func settle(cam *vision.Camera, t target) (geometry.Rigid, bool) {
	var from, to []geometry.Point
	for _, k := range t.points {
		p, ok := cam.Plane(k.px, t.height)
		if !ok {
			return geometry.Rigid{}, false
		}
		from, to = append(from, k.at), append(to, p)
	}
	if len(from) < 2 {
		return geometry.Rigid{}, false
	}
	r, rms := rigidFit(from, to)
	return r, !math.IsNaN(rms)
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return (s[len(s)/2] + s[(len(s)-1)/2]) / 2
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

func unit(a [3]float64) [3]float64 {
	l := math.Sqrt(dot(a, a))
	return [3]float64{a[0] / l, a[1] / l, a[2] / l}
}
