package main

import (
	"context"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/api/pipeline"
	"secondcut/vision"
	"secondcut/vision/segment"
)

// tracer lets the service's queue run the pipeline.
type tracer struct{}

// Open reads a photo, its cards and its scale.
func (tracer) Open(ctx context.Context, data []byte, progress func(api.Step), opt jobs.TraceOptions) (jobs.Session, error) {
	var o pipeline.Options
	o.Calib.PrintScale, o.Calib.PrintScaleSigma = opt.Print.Scale()
	for _, r := range opt.References {
		o.Calib.References = append(o.Calib.References, r.Measure())
	}
	s, err := pipeline.Open(ctx, data, o, steps(progress))
	if err != nil {
		return nil, err
	}
	return session{s}, nil
}

type session struct{ s *pipeline.Session }

// Trace finds the pieces.
func (s session) Trace(ctx context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error) {
	brush := make([]segment.Stroke, len(strokes))
	for i, st := range strokes {
		brush[i] = segment.Stroke(st)
	}
	return s.s.Trace(ctx, brush, steps(progress))
}

// Backdrop draws the photo from straight above: what t is about, or all of it.
func (s session) Backdrop(ctx context.Context, t *vision.Trace) (api.Plane, []byte, error) {
	b, err := s.s.Backdrop(ctx, t)
	if err != nil {
		return api.Plane{}, nil, err
	}
	return api.Plane{PxPerMM: b.PxPerMM, Origin: b.Origin, Width: b.Width, Height: b.Height}, b.JPEG, nil
}

// Close does nothing: the collector frees what the session holds.
func (session) Close() error { return nil }

func steps(progress func(api.Step)) func(pipeline.Step) {
	return func(s pipeline.Step) { progress(api.Step(s)) }
}
