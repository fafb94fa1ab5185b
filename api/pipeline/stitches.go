package pipeline

import (
	"context"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/stitches"
)

// findStitches looks for rows of old stitch holes inside the outlines of t and adds
// them there. They are kept for Refit, which moves an edge by less than a row's
// own doubt.
func (s *Session) findStitches(ctx context.Context, t *vision.Trace) error {
	for i := range t.Pieces {
		if s.raw[i].searched {
			continue
		}
		rows, err := stitches.Rows(ctx, s.photo, s.cal, t.Pieces[i].Knots)
		if err != nil {
			return fmt.Errorf("look for old stitches: %w", err)
		}
		for k := range rows {
			r := &rows[k]
			r.DistanceMM, r.SpacingMM, r.Sure = rounded(r.DistanceMM), rounded(r.SpacingMM), rounded(r.Sure)
		}
		s.raw[i].searched, s.raw[i].stitches, t.Pieces[i].StitchRows = true, rows, rows
		t.Findings = append(t.Findings, stitchFindings(rows)...)
	}
	return nil
}

// rounded returns a figure to a hundredth, as it is written.
func rounded(v float64) float64 { return math.Round(v*100) / 100 }

func stitchFindings(rows []vision.StitchRow) (out []geometry.Finding) {
	for _, r := range rows {
		out = append(out, stitches.Finding(r))
	}
	return out
}
