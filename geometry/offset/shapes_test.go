package offset_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// corners returns a closed path of straight lines.
func corners(xy ...float64) geometry.Path {
	var p geometry.Path
	for i := 0; i < len(xy); i += 2 {
		p = append(p, geometry.Knot{At: pt(xy[i], xy[i+1]), Corner: true})
	}
	return p
}

// closed returns the path of segments that follow each other.
func closed(segs ...geometry.Segment) geometry.Path {
	p := make(geometry.Path, len(segs))
	for i, s := range segs {
		p[i].At, p[i].Corner = s.A, true
		if s.Curved {
			b, c := s.B, s.C
			p[i].Out = &b
			p[(i+1)%len(segs)].In = &c
		}
	}
	return p
}

func straight(x0, y0, x1, y1 float64) geometry.Segment {
	a, b := pt(x0, y0), pt(x1, y1)
	return geometry.Segment{A: a, B: a, C: b, D: b}
}

// arcs returns cubics for the elliptic arc round c from angle a0 to a1 in n
// parts.
func arcs(c geometry.Point, rx, ry, a0, a1 float64, n int) []geometry.Segment {
	at := func(a float64) geometry.Point { return pt(c.X+rx*math.Cos(a), c.Y+ry*math.Sin(a)) }
	var out []geometry.Segment
	h := (a1 - a0) / float64(n)
	k := 4.0 / 3 * math.Tan(h/4)
	for i := range n {
		a, b := a0+h*float64(i), a0+h*float64(i+1)
		p, q := at(a), at(b)
		out = append(out, geometry.Segment{
			A: p, B: pt(p.X-k*rx*math.Sin(a), p.Y+k*ry*math.Cos(a)),
			C: pt(q.X+k*rx*math.Sin(b), q.Y-k*ry*math.Cos(b)), D: q, Curved: true,
		})
	}
	return out
}

// each returns one edge for every knot, all with the same width.
func each(p geometry.Path, mm float64, join offset.Join) []offset.Edge {
	var out []offset.Edge
	for i := range p {
		out = append(out, offset.Edge{Knot: i, StartMM: mm, EndMM: mm, Corner: join})
	}
	return out
}

func cutLine(t testing.TB, p geometry.Path, edges []offset.Edge) offset.Result {
	t.Helper()
	r, err := offset.CutLine(p, edges, offset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// near fails when got differs from want by more than tol.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.5f, want %.5f (within %g)", what, got, want, tol)
	}
}

// blob returns a closed path of n smooth cubics round the origin: radius 150 mm
// with waves of the given depth (mm). It may have concave parts.
func blob(r *rand.Rand, n int, depth float64) geometry.Path {
	var amp, phase [4]float64
	for k := range amp {
		amp[k], phase[k] = depth*(r.Float64()-0.5), r.Float64()*2*math.Pi
	}
	at := func(a float64) (geometry.Point, geometry.Vec) {
		rad, d := 150.0, 0.0
		for k := range amp {
			w := float64(k + 2)
			rad += amp[k] * math.Cos(w*a+phase[k])
			d -= amp[k] * w * math.Sin(w*a+phase[k])
		}
		s, c := math.Sincos(a)
		return pt(rad*c, rad*s), geometry.Vec{X: d*c - rad*s, Y: d*s + rad*c}
	}
	var segs []geometry.Segment
	for i := range n {
		a, b := 2*math.Pi*float64(i)/float64(n), 2*math.Pi*float64(i+1)/float64(n)
		p, u := at(a)
		q, v := at(b)
		h := (b - a) / 3
		segs = append(segs, geometry.Segment{A: p, B: p.Add(u.Scale(h)), C: q.Add(v.Scale(-h)), D: q, Curved: true})
	}
	for i := range segs { // exact closure
		segs[i].D = segs[(i+1)%n].A
	}
	return closed(segs...)
}

// show writes a path in the notation of SVG, to be pasted and looked at.
func show(p geometry.Path) string {
	out := fmt.Sprintf("M%v,%v", p[0].At.X, p[0].At.Y)
	for _, s := range p.Segments() {
		if s.Curved {
			out += fmt.Sprintf(" C%v,%v %v,%v %v,%v", s.B.X, s.B.Y, s.C.X, s.C.Y, s.D.X, s.D.Y)
		} else {
			out += fmt.Sprintf(" L%v,%v", s.D.X, s.D.Y)
		}
	}
	return out
}
