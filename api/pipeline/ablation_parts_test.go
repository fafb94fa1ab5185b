//go:build ablation

package pipeline

import (
	"context"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
	"secondcut/vision/segment"
)

// Variants returns the outer outlines as they are with parts of the work left out,
// by name, in the order of the pieces. Trace must have been called.
func (s *Session) Variants(ctx context.Context) (map[string][]geometry.Polyline, error) {
	out := map[string][]geometry.Polyline{}
	for _, e := range s.raw {
		var ring geometry.Polyline
		for _, q := range e.outer.samples {
			ring = append(ring, q.At)
		}
		out["global path, raw"] = append(out["global path, raw"], ring)
	}
	regions, _, err := segment.Cloth(ctx, s.plane, s.cal, segment.Options{})
	if err != nil {
		return nil, err
	}
	for _, r := range regions {
		out["coarse mask"] = append(out["coarse mask"], r.Outer.Points)
		ring := s.steepest(r.Outer.Points)
		out["steepest on each normal, raw"] = append(out["steepest on each normal, raw"], ring)
		var samples []fit.Sample
		for _, p := range ring {
			samples = append(samples, fit.Sample{At: p, SigmaMM: 0.2})
		}
		clean, err := fit.Edge(samples, fit.Options{})
		if err != nil {
			return nil, err
		}
		out["steepest on each normal, clean edge"] = append(out["steepest on each normal, clean edge"], clean.Path.Flatten(flattenMM))
	}
	return out, nil
}

// steepest returns for each point of a coarse contour where the colour changes most
// within 6 mm along the normal.
func (s *Session) steepest(c geometry.Polyline) (ring geometry.Polyline) {
	const reach, step, half, spacing = 6.0, 0.1, 0.3, 0.5
	var pts geometry.Polyline
	for i, a := range c {
		b := c[(i+1)%len(c)]
		n := max(1, int(a.Dist(b)/spacing))
		for k := range n {
			pts = append(pts, a.Lerp(b, float64(k)/float64(n)))
		}
	}
	const smooth = 10 // points to each side for the direction
	for i, p := range pts {
		n := pts[(i+smooth)%len(pts)].Sub(pts[(i-smooth+len(pts))%len(pts)]).Unit().Perp()
		best, at := -1.0, p
		for d := -reach; d <= reach; d += step {
			in, out := s.colour(p.Add(n.Scale(d+half))), s.colour(p.Add(n.Scale(d-half)))
			change := math.Hypot(math.Hypot(in[0]-out[0], in[1]-out[1]), in[2]-out[2])
			if change > best {
				best, at = change, p.Add(n.Scale(d))
			}
		}
		ring = append(ring, at)
	}
	return ring
}

// colour returns that of the photo at a point of the cloth's face, bilinear.
func (s *Session) colour(p geometry.Point) (c [3]float64) {
	px, ok := s.cal.ToImage(p)
	if !ok || !inside(s.photo, px) {
		return c
	}
	x, y := int(px.X), int(px.Y)
	u, v := px.X-float64(x), px.Y-float64(y)
	for k := range 3 {
		at := func(i, j int) float64 { return float64(s.photo.BGR[3*((y+j)*s.photo.Width+x+i)+k]) }
		c[k] = (at(0, 0)*(1-u)+at(1, 0)*u)*(1-v) + (at(0, 1)*(1-u)+at(1, 1)*u)*v
	}
	return c
}

func inside(p *vision.Photo, px vision.Pixel) bool {
	return px.X >= 0 && px.Y >= 0 && px.X < float64(p.Width-1) && px.Y < float64(p.Height-1)
}
