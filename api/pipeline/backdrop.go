package pipeline

import (
	"context"
	"fmt"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// Backdrop is the photo seen from straight above, for drawing under an outline.
type Backdrop struct {
	// JPEG is the picture, Width x Height pixels.
	JPEG          []byte
	Width, Height int
	// PxPerMM is its scale, Origin the plane position in mm of the centre of its
	// top left pixel.
	PxPerMM float64
	Origin  geometry.Point
}

const (
	backdropPxPerMM   = 5.0       // finer than a 12-megapixel photo of a metre shows
	backdropMaxPixels = 8_000_000 // what phones draw without trouble
	backdropMarginMM  = 60.0      // enough to see the cards beside the cloth
	backdropQuality   = 82
)

// Backdrop draws the photo from above: all that lies within reach of the pieces
// and cards of t, or all that the photo shows well when t is nil.
func (s *Session) Backdrop(ctx context.Context, t *vision.Trace) (*Backdrop, error) {
	lo, hi := s.surroundings(t)
	pl, err := s.cal.Rectify(ctx, s.photo, backdropPxPerMM, calib.RectifyOptions{MaxPixels: backdropMaxPixels, Lo: lo, Hi: hi})
	if err != nil {
		return nil, fmt.Errorf("rectify: %w", err)
	}
	jpeg, err := vision.EncodeJPEG(&vision.Photo{Width: pl.Width, Height: pl.Height, BGR: pl.BGR}, backdropQuality)
	if err != nil {
		return nil, err
	}
	return &Backdrop{jpeg, pl.Width, pl.Height, pl.PxPerMM, pl.Origin}, nil
}

// surroundings is the upright rectangle in mm that the backdrop of t shows.
func (s *Session) surroundings(t *vision.Trace) (lo, hi geometry.Point) {
	seenLo, seenHi := s.cal.Seen()
	if t == nil {
		return seenLo, seenHi
	}
	var pts geometry.Polyline
	for _, p := range t.Pieces {
		pts = append(pts, p.Outline...)
	}
	for _, c := range t.Calibration.Cards {
		if c.Used {
			pts = append(pts, c.Centre)
		}
	}
	lo, hi = pts.Bounds()
	return geometry.Point{X: max(lo.X-backdropMarginMM, seenLo.X), Y: max(lo.Y-backdropMarginMM, seenLo.Y)},
		geometry.Point{X: min(hi.X+backdropMarginMM, seenHi.X), Y: min(hi.Y+backdropMarginMM, seenHi.Y)}
}
