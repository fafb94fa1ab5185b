// Package refit draws the clean outline of a traced piece anew, as smooth as a
// person wants it, from the raw edges that its trace kept: without the photo, in
// tens of milliseconds.
package refit

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
)

// ErrNotKept says that the trace kept no raw edges, as those of older versions.
var ErrNotKept = errors.New("refit: the trace kept no raw edges")

// Outline is what was drawn, in plane mm.
type Outline struct {
	Knots geometry.Path
	Holes []geometry.Path
	// UncertaintyMM is never below the trace's: the camera and the light are still
	// those of the photo.
	UncertaintyMM float64
	FrayMM        float64
	Findings      []geometry.Finding
}

const (
	stepMM  = 0.5  // between samples, as the tracer takes them
	sigmaMM = 0.08 // of a kept point, which may lie 0.1 mm beside what was found
)

// Piece fits the edges of a piece with the given smoothness, -1 to 1 as in
// [fit.Options]. Errors: ErrNotKept, and those of [fit.Edge].
func Piece(p vision.TracedPiece, smooth float64) (out Outline, err error) {
	if len(p.Seen) == 0 {
		return out, ErrNotKept
	}
	out = Outline{Holes: []geometry.Path{}, UncertaintyMM: p.UncertaintyMM, Findings: []geometry.Finding{}}
	for i, e := range p.Seen {
		r, err := fit.Edge(samples(e.Points), fit.Options{Smooth: smooth})
		if err != nil {
			return out, fmt.Errorf("edge %d: %w", i, err)
		}
		if i == 0 {
			out.Knots, out.FrayMM = r.Path, math.Round(r.FrayMM*100)/100
		} else {
			out.Holes = append(out.Holes, r.Path)
		}
		out.UncertaintyMM = max(out.UncertaintyMM, math.Ceil(r.UncertaintyMM*100)/100)
		out.Findings = append(out.Findings, r.Findings...)
	}
	return out, nil
}

// samples returns points about stepMM apart along a kept edge, its own included.
func samples(ring geometry.Polyline) []fit.Sample {
	var out []fit.Sample
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		n := max(1, int(math.Round(a.Dist(b)/stepMM)))
		for k := range n {
			out = append(out, fit.Sample{At: a.Lerp(b, float64(k)/float64(n)), SigmaMM: sigmaMM})
		}
	}
	return out
}
