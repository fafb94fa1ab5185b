package pipeline

import (
	"context"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision/segment"
	"secondcut/vision/weave"
)

// eitherSure caps the certainty of a grain that may as well lie across: a plain
// weave does not tell warp from weft, and an arrow along the weft, printed as
// sure, would spoil the cloth.
const eitherSure = 0.5

// grain reads the direction of weave or stripes inside a region; nil where none
// shows.
func (s *Session) grain(ctx context.Context, r segment.Region) (*geometry.Grain, error) {
	var holes []geometry.Path
	for _, h := range r.Holes {
		holes = append(holes, straight(h.Points))
	}
	got, ok, err := weave.Read(ctx, s.photo, s.cal, straight(r.Outer.Points), holes)
	if err != nil {
		return nil, fmt.Errorf("read grain: %w", err)
	}
	if !ok {
		return nil, nil
	}
	return offered(got), nil
}

// offered returns a reading as it is offered, to a tenth of a degree.
func offered(got weave.Reading) *geometry.Grain {
	g := got.Grain
	if got.Either {
		g.Sure = min(g.Sure, eitherSure)
	}
	// 179.96 degrees is nearest to 180, which is written 0.
	g.Deg, g.Sure = math.Mod(math.Round(g.Deg*10)/10, 180), math.Round(g.Sure*100)/100
	return &g
}

// straight returns a ring as a path of lines, thinned: grain is read well inside
// the edge.
func straight(ring geometry.Polyline) geometry.Path {
	const every = 4
	var out geometry.Path
	for i := 0; i < len(ring); i += every {
		out = append(out, geometry.Knot{At: ring[i], Corner: true})
	}
	return out
}
