// Package pipeline runs the steps from a photo to clean outlines, in order, for
// the server and the command line alike. This file is the table of contents:
//
//	read       vision.Decode       photo, upright; px
//	cards      card.Detect         scale cards; px
//	calibrate  calib.Solve         camera and plane; px <-> mm
//	rectify    calib.Rectify       the plane from above, about 1 px/mm
//	segment    segment.Cloth       where cloth is; mm
//	trace      outline.Trace       its edge in the original pixels; mm
//	fit        fit.Edge            the clean path; mm
//
// [Open] does what depends on the photo alone, [Session.Trace] what strokes can
// change, so that a second run after a stroke is quick, and [Session.Refit] what
// the slider "how smooth" can.
package pipeline

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/card"
	"secondcut/vision/segment"
)

// Step says which part of the work is about to begin.
type Step struct {
	// Name is one of read, cards, calibrate, rectify, segment, trace, fit.
	Name string
	// Index counts from 1 to Count.
	Index, Count int
	// Text says it in plain words.
	Text string
}

// steps are the names and plain words of the steps, in order.
var steps = [...]Step{
	{"read", 1, 7, "Reading the photo"},
	{"cards", 2, 7, "Looking for the scale cards"},
	{"calibrate", 3, 7, "Working out camera and scale"},
	{"rectify", 4, 7, "Straightening the picture"},
	{"segment", 5, 7, "Finding the cloth"},
	{"trace", 6, 7, "Following its edge"},
	{"fit", 7, 7, "Drawing the clean outline"},
}

const (
	stepRead = iota
	stepCards
	stepCalibrate
	stepRectify
	stepSegment
	stepTrace
	stepFit
)

// Options are what the person may say about a photo. The zero value is usable.
type Options struct {
	// Limits bound the file; see vision.Limits.
	Limits vision.Limits
	// Calib holds print scale and cloth thickness.
	Calib calib.Options
}

// coarsePxPerMM is the resolution at which cloth is looked for: the edge itself
// is found in the photo, so that this need not be finer than a few threads.
const coarsePxPerMM = 1.0

// Session is a photo that has been read and measured and can be traced, again
// after each stroke. It is not safe for use by two goroutines at once.
type Session struct {
	photo    *vision.Photo
	cal      *calib.Calibration
	plane    *calib.Plane
	picture  *segment.Picture // the plane, looked at; from the first Trace on
	findings []geometry.Finding
	raw      []edges       // of the last Trace, for Refit and the next Trace
	traced   *vision.Trace // what the last Trace found before the fit
}

// Open reads a photo, finds its scale cards and solves for camera and plane. It
// calls progress (which may be nil) as each step begins. A photo that cannot be
// used is a *vision.Refusal.
func Open(ctx context.Context, data []byte, opt Options, progress func(Step)) (*Session, error) {
	go segment.Prepare() // while one core reads the photo, the other loads the network
	report(progress, stepRead)
	photo, err := vision.Decode(ctx, data, opt.Limits)
	if err != nil {
		return nil, err
	}
	report(progress, stepCards)
	cards, err := card.Detect(ctx, photo)
	if err != nil {
		return nil, fmt.Errorf("find cards: %w", err)
	}
	report(progress, stepCalibrate)
	cal, findings, err := calib.Solve(photo, cards, opt.Calib)
	if err != nil {
		return nil, err
	}
	report(progress, stepRectify)
	plane, err := cal.Rectify(ctx, photo, coarsePxPerMM, calib.RectifyOptions{})
	if err != nil {
		return nil, fmt.Errorf("rectify: %w", err)
	}
	return &Session{photo: photo, cal: cal, plane: plane, findings: findings}, nil
}

// Trace finds the cloth, follows its edge and fits the clean outline, obeying
// strokes where the person gave some. It calls progress (which may be nil) as
// each step begins. A photo that cannot be traced is a *vision.Refusal. A second
// call uses again what the strokes leave as it was: a piece that they do not change
// keeps its outline, and one that they change a little its grain.
func (s *Session) Trace(ctx context.Context, strokes []segment.Stroke, progress func(Step)) (*vision.Trace, error) {
	report(progress, stepSegment)
	if s.picture == nil {
		picture, err := segment.Read(s.plane, segment.Options{})
		if err != nil {
			return nil, err
		}
		s.picture = picture
	}
	regions, found, err := s.picture.Cloth(ctx, s.cal, strokes)
	if err != nil {
		return nil, err
	}
	t := &vision.Trace{
		Format:      vision.TraceFormat,
		Pieces:      []vision.TracedPiece{},
		Calibration: s.cal.Report(),
		Findings:    append(append([]geometry.Finding{}, s.findings...), found...),
	}
	report(progress, stepTrace)
	edges, err := s.follow(ctx, regions)
	if err != nil {
		return nil, err
	}
	report(progress, stepFit)
	s.raw, s.traced = edges, t
	out, err := s.Refit(ctx, 0)
	if err != nil {
		return nil, err
	}
	return out, s.findStitches(ctx, out)
}

// ErrNotTraced says that Refit was called before Trace.
var ErrNotTraced = errors.New("there is no outline to smooth yet: trace the photo first")

// Refit fits the edges that the last Trace followed once more, as smooth as said
// (fit.Options: -1 follows the cloth closely, 0 is normal, 1 as simple as can be).
// It needs no look at the photo.
func (s *Session) Refit(ctx context.Context, smooth float64) (*vision.Trace, error) {
	if s.traced == nil {
		return nil, ErrNotTraced
	}
	pieces, found, err := s.fit(ctx, s.raw, fit.Options{Smooth: smooth})
	if err != nil {
		return nil, err
	}
	t := *s.traced
	t.Pieces, t.Findings = pieces, append(slices.Clone(t.Findings), found...)
	return &t, nil
}

func report(progress func(Step), i int) {
	if progress != nil {
		progress(steps[i])
	}
}
