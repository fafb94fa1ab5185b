package outline

import (
	"context"
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/segment"
)

// ErrContour says that a contour is too short, too large or has too few finite
// points to follow.
var ErrContour = errors.New("outline: the contour is too small or too large to follow")

// A contour shorter than leastMM cannot hold two sides of an edge; one longer
// than mostMM is no outline of a piece.
const leastMM, mostMM = 20.0, 40_000.0

// Options steers Trace; the zero value is the normal choice.
type Options struct {
	// SpacingMM is the distance of the samples along the edge, in mm, 0.25 to 2;
	// 0 means 0.5.
	SpacingMM float64
}

// spacing returns SpacingMM within its range.
func (o Options) spacing() float64 {
	if !(o.SpacingMM > 0) {
		return 0.5
	}
	return math.Min(math.Max(o.SpacingMM, 0.25), 2)
}

// Trace finds the edge of the cloth near a contour. The samples are a closed
// ring in the plane frame, in mm at the height of the cloth's face, about
// SpacingMM apart and in the contour's direction; the cloth must lie on the
// contour's left. A contour that is off by less than 4 mm is put right, beyond
// that in steps as far as the colours lead.
//
// A sample is Weak where both sides look alike, where a path more than a
// millimetre away fits nearly as well, where the contour's doubt is high, and
// where the photo does not show the place. Errors: ErrContour, and that of ctx.
func Trace(ctx context.Context, p *vision.Photo, cal *calib.Calibration, contour segment.Contour, opt Options) ([]fit.Sample, error) {
	return trace(ctx, p, cal, newInk(cal.Cards), contour.Points, contour.Doubt, opt)
}

// trace is Trace for any camera.
func trace(ctx context.Context, p *vision.Photo, view projector, cards ink, points geometry.Polyline, doubt []float64, opt Options) ([]fit.Sample, error) {
	ring, doubt := finite(points, doubt)
	cells, ok := newRegion(ring)
	if len(p.BGR) != 3*p.Width*p.Height {
		return nil, fmt.Errorf("outline: the photo has %d bytes, not those of %d x %d pixels", len(p.BGR), p.Width, p.Height)
	}
	if length := ring.Length(); !ok || len(ring) < 3 || !(length >= leastMM && length <= mostMM) {
		return nil, ErrContour
	}
	t := tracer{photo: p, view: view, cards: cards, cells: cells}
	t.mmPerPx = t.pixelSize(ring)
	first, err := t.coarse(ctx, ring)
	if err != nil {
		return nil, err
	}
	return t.fine(ctx, first, doubtful(first.base, ring, doubt), opt.spacing())
}

// finite leaves out points that are not finite numbers, and those on top of the
// point before.
func finite(points geometry.Polyline, doubt []float64) (geometry.Polyline, []float64) {
	ring := make(geometry.Polyline, 0, len(points))
	var d []float64
	for i, p := range points {
		if !p.IsFinite() || len(ring) > 0 && p == ring[len(ring)-1] {
			continue
		}
		ring = append(ring, p)
		if i < len(doubt) {
			d = append(d, doubt[i])
		}
	}
	return ring, d
}

// tracer is what both passes share.
type tracer struct {
	photo   *vision.Photo
	view    projector
	cards   ink
	cells   *region
	mmPerPx float64
}

// pixelSize returns the median size of a pixel on the cloth along the ring, in
// mm, at most 2; 0.25 where the photo shows none of it.
func (t *tracer) pixelSize(ring geometry.Polyline) float64 {
	var sizes []float64
	for i := 0; i < len(ring); i += max(1, len(ring)/50) {
		a, ok1 := t.view.ToImage(ring[i])
		b, ok2 := t.view.ToImage(ring[i].Add(geometry.Vec{X: 0.7, Y: 0.7}))
		if d := math.Hypot(a.X-b.X, a.Y-b.Y); ok1 && ok2 && d > 0 {
			sizes = append(sizes, 1/d)
		}
	}
	if len(sizes) == 0 {
		return 0.25
	}
	return math.Min(median(sizes), 2)
}

// found is the path of one pass: offsets from a base, and how much dearer the
// next best path is at each.
type found struct {
	base
	offset []float64
	rival  []float32
}

// Limits of evidence below which a sample is Weak, so that the edge may lie
// somewhere else altogether; tuned on rendered photos. That a soft edge is placed
// less well is no such weakness: its sigma says so.
const (
	leastRival    = 6.0 // mm nats: cost of the best path that is over 1 mm away
	leastContrast = 1.5 // distance of both sides in standard deviations of a pixel
	mostDoubt     = 0.6 // doubt of the contour
	mostSigmaMM   = 1.5 // uncertainty of a single sample: beyond it the profile shows no edge
	rivalApartMM  = 1.0
	unseenSigmaMM = 1.0 // of a sample whose profile could not be placed
)

// doubtful maps the doubt of the contour's points to the base: true where it is
// high at the nearest point by arc length.
func doubtful(b base, ring geometry.Polyline, doubt []float64) []bool {
	out := make([]bool, len(b.at))
	if len(doubt) != len(ring) {
		return out
	}
	from := sources(ring, len(b.at))
	for i := range out {
		out[i] = doubt[from[i]] > mostDoubt
	}
	return out
}
