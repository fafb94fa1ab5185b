package pipeline

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
	"secondcut/vision/outline"
	"secondcut/vision/segment"
)

// flattenMM is the chord error of the outlines that are sent, well below the
// 0.05 mm that they promise.
const flattenMM = 0.02

// edges are the raw edges of one piece, and what was seen inside them.
type edges struct {
	region   segment.Region // that they were followed along
	outer    ring
	holes    []ring
	grain    *geometry.Grain
	stitches []vision.StitchRow
	searched bool // for stitches
	normal   *cleaned
}

// ring is one raw edge with the reasons for doubt that the search for cloth had.
type ring struct {
	samples []fit.Sample
	raw     *fit.Raw
	why     func(geometry.Point) string
}

// follow finds the edges of all regions in the original pixels, and meanwhile their
// grain. What the Trace before found of the same piece is kept.
func (s *Session) follow(ctx context.Context, regions []segment.Region) ([]edges, error) {
	out := make([]edges, len(regions))
	known := make([]kept, len(regions))
	for i, r := range regions {
		out[i], known[i] = former(s.raw, r)
	}
	errs := make([]error, 2)
	var both sync.WaitGroup
	both.Go(func() {
		for i, r := range regions {
			if known[i] >= keptGrain {
				continue
			}
			if out[i].grain, errs[0] = s.grain(ctx, r); errs[0] != nil {
				return
			}
		}
	})
	both.Go(func() {
		for i, r := range regions {
			if known[i] == keptAll {
				continue
			}
			if out[i].outer, out[i].holes, errs[1] = s.rings(ctx, r); errs[1] != nil {
				return
			}
		}
	})
	both.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return out, nil
}

// rings follows the edges of one region.
func (s *Session) rings(ctx context.Context, r segment.Region) (outer ring, holes []ring, err error) {
	if outer, err = s.ring(ctx, r.Outer); err != nil {
		return outer, nil, err
	}
	for _, h := range r.Holes {
		hole, err := s.ring(ctx, h)
		if err != nil {
			return outer, nil, err
		}
		holes = append(holes, hole)
	}
	return outer, holes, nil
}

func (s *Session) ring(ctx context.Context, c segment.Contour) (ring, error) {
	samples, err := outline.Trace(ctx, s.photo, s.cal, c, outline.Options{})
	if err != nil {
		return ring{}, fmt.Errorf("follow edge: %w", err)
	}
	raw, err := fit.Prepare(samples)
	if err != nil {
		return ring{}, fmt.Errorf("fit edge: %w", err)
	}
	return ring{samples, raw, reasonNear(c)}, nil
}

// fit turns raw edges into pieces.
func (s *Session) fit(ctx context.Context, all []edges, opt fit.Options) ([]vision.TracedPiece, []geometry.Finding, error) {
	pieces, findings := []vision.TracedPiece{}, []geometry.Finding{}
	for i := range all {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		e := &all[i]
		p, found, err := s.clean(e, opt)
		if err != nil {
			return nil, nil, err
		}
		p.Grain, p.StitchRows = e.grain, e.stitches
		pieces = append(pieces, p)
		findings = append(append(findings, found...), stitchFindings(e.stitches)...)
	}
	return pieces, findings, nil
}

// cleaned is what a piece's edges are fitted to, as smooth as normal.
type cleaned struct {
	piece    vision.TracedPiece
	findings []geometry.Finding
}

// clean fits the edges of a piece. That of normal smoothness is kept with them.
func (s *Session) clean(e *edges, opt fit.Options) (vision.TracedPiece, []geometry.Finding, error) {
	normal := opt == fit.Options{}
	if normal && e.normal != nil {
		return e.normal.piece, e.normal.findings, nil
	}
	outer, err := e.outer.raw.Fit(opt)
	if err != nil {
		return vision.TracedPiece{}, nil, fmt.Errorf("fit outline: %w", err)
	}
	p := vision.TracedPiece{
		Outline:       outer.Path.Flatten(flattenMM),
		Corners:       append([]geometry.Point{}, outer.Path.Corners()...),
		Knots:         outer.Path,
		Holes:         []geometry.Polyline{},
		HoleKnots:     []geometry.Path{},
		UncertaintyMM: s.uncertainty(outer),
		FrayMM:        outer.FrayMM,
		Unsure:        unsure(e.outer),
		NotchCuts:     notchCuts(outer),
		Seen:          []vision.SeenEdge{s.seen(e.outer, outer)},
	}
	findings := slices.Concat(outer.Findings, s.cal.PieceFindings(s.photo, p.Outline))
	for _, h := range e.holes {
		hole, err := h.raw.Fit(opt)
		if err != nil {
			return p, nil, fmt.Errorf("fit hole: %w", err)
		}
		p.Holes = append(p.Holes, hole.Path.Flatten(flattenMM))
		p.HoleKnots = append(p.HoleKnots, hole.Path)
		p.NotchCuts = append(p.NotchCuts, notchCuts(hole)...)
		p.Seen = append(p.Seen, s.seen(h, hole))
		p.UncertaintyMM = math.Max(p.UncertaintyMM, s.uncertainty(hole))
		p.Unsure = append(p.Unsure, unsure(h)...)
		findings = append(findings, hole.Findings...)
	}
	p.UncertaintyMM = ceil(p.UncertaintyMM)
	p.FrayMM = math.Round(p.FrayMM*100) / 100
	if normal {
		e.normal = &cleaned{p, findings}
	}
	return p, findings, nil
}

// notchCuts returns those of a fitted ring as they are written, to a hundredth.
func notchCuts(r fit.Result) (out []geometry.NotchCut) {
	for _, n := range r.Notches {
		n.DepthMM, n.WidthMM, n.Sure = rounded(n.DepthMM), rounded(n.WidthMM), rounded(n.Sure)
		out = append(out, n)
	}
	return out
}

// gauss95 is the half-width of the central 95 % of a normal distribution, in
// standard deviations.
const gauss95 = 1.959964

// uncertainty joins what the edge and what the camera leave open, as
// independent errors: mm, 95 %.
func (s *Session) uncertainty(r fit.Result) float64 {
	var worst float64
	for _, k := range r.Path {
		worst = math.Max(worst, s.cal.PointSigma(k.At))
	}
	return math.Hypot(r.UncertaintyMM, gauss95*worst)
}
