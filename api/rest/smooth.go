package rest

import (
	"context"
	"errors"
	"math"

	"secondcut/api"
	"secondcut/api/refit"
	"secondcut/geometry"
	"secondcut/vision"
)

type smoothInput struct {
	ID   string `path:"id" maxLength:"64"`
	Body struct {
		Smooth float64 `json:"smooth" minimum:"-1" maximum:"1" doc:"-1 follows the cloth closely, 0 is as traced, 1 as simple as can be."`
		JobID  string  `json:"job_id,omitempty" maxLength:"64" doc:"The retrace that the outline came from; left out, the trace of the photo."`
	}
}

type smoothAnswer struct {
	Body smoothed
}

// smoothed is an outline for the person to look at and save, as an edit takes it.
type smoothed struct {
	Knots         geometry.Path      `json:"knots" nullable:"false"`
	Holes         []geometry.Path    `json:"holes" nullable:"false"`
	UncertaintyMM float64            `json:"uncertainty_mm"`
	FrayMM        float64            `json:"fray_mm"`
	Findings      []geometry.Finding `json:"findings" nullable:"false"`
}

// smoothPiece draws the piece's outline anew from the raw edge that its trace kept.
// Nothing is saved.
func (s *service) smoothPiece(ctx context.Context, in *smoothInput) (*smoothAnswer, error) {
	piece, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	trace, err := s.keptTrace(ctx, piece, in.Body.JobID)
	if err != nil {
		return nil, err
	}
	of, ok := nearest(trace, piece.Knots)
	if !ok {
		return nil, notKept(refit.ErrNotKept)
	}
	out, err := refit.Piece(of, in.Body.Smooth)
	if err != nil {
		return nil, notKept(err)
	}
	return &smoothAnswer{smoothed(out)}, nil
}

// keptTrace returns the trace of a piece's photo: that of a job, or the first one; nil
// where there is none.
func (s *service) keptTrace(ctx context.Context, piece *api.Piece, jobID string) (*vision.Trace, error) {
	if jobID != "" {
		j, err := s.Store.Job(ctx, jobID)
		if err == nil && j.PhotoID != piece.PhotoID {
			err = api.NotFound("job")
		}
		if err != nil {
			return nil, err
		}
		return j.Trace, nil
	}
	if piece.PhotoID == "" {
		return nil, nil
	}
	photo, err := s.Store.Photo(ctx, piece.PhotoID)
	if err != nil {
		return nil, err
	}
	return photo.Trace, nil
}

// nearest returns the traced piece whose bounds are nearest to an outline's.
func nearest(t *vision.Trace, knots geometry.Path) (best vision.TracedPiece, ok bool) {
	if t == nil {
		return best, false
	}
	lo, hi := knots.Flatten(1).Bounds()
	least := math.Inf(1)
	for _, p := range t.Pieces {
		l, h := p.Outline.Bounds()
		if d := l.Dist(lo) + h.Dist(hi); d < least {
			best, ok, least = p, true, d
		}
	}
	return best, ok
}

// notKept is the answer where no raw edge can be fitted.
func notKept(cause error) error {
	e := &api.Error{
		Code: api.CodeNotReady, Cause: cause,
		Message: "The edge of this piece as the photo shows it was not kept.",
		Remedy:  "Trace its photo again; then it can be made smoother.",
	}
	if !errors.Is(cause, refit.ErrNotKept) {
		e.Message = "The edge of this piece cannot be drawn anew."
	}
	return e
}
