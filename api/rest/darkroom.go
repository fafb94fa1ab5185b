package rest

import (
	"context"
	"errors"

	"secondcut/api/jobs"
	"secondcut/vision"
)

// Darkroom decodes pictures. A process apart does it without danger to the
// service.
type Darkroom interface {
	// Strip is vision.StripMetadata.
	Strip(ctx context.Context, data []byte, lim vision.Limits) ([]byte, error)
	// Preview is vision.Preview.
	Preview(ctx context.Context, data []byte, lim vision.Limits, longest int) ([]byte, error)
}

// inProcess is the Darkroom that decodes here.
type inProcess struct{}

func (inProcess) Strip(ctx context.Context, data []byte, lim vision.Limits) ([]byte, error) {
	return vision.StripMetadata(ctx, data, lim)
}

func (inProcess) Preview(ctx context.Context, data []byte, lim vision.Limits, longest int) ([]byte, error) {
	return vision.Preview(ctx, data, lim, longest)
}

// readTurn waits until a picture may be decoded; done lets the next one.
func (s *service) readTurn(ctx context.Context) (done func(), err error) {
	select {
	case s.reading <- struct{}{}:
		return func() { <-s.reading }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// strip takes the metadata off a photo. Those of a JPEG are cut out of the file
// here; other kinds have to be decoded, which the darkroom does, a few at a time.
func (s *service) strip(ctx context.Context, data []byte) ([]byte, error) {
	info, err := vision.Header(data, s.Limits)
	if err != nil {
		return nil, err
	}
	if info.Kind == "jpeg" {
		return vision.StripMetadata(ctx, data, s.Limits)
	}
	done, err := s.readTurn(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	out, err := s.room.Strip(ctx, data, s.Limits)
	return out, unreadable(err)
}

// unreadable says of a photo that brought the darkroom down that it cannot be read.
func unreadable(err error) error {
	if errors.Is(err, jobs.ErrTracerDied) {
		return vision.Refuse(vision.CodeTruncated, "The photo cannot be read: it is damaged, or takes too much memory.", "Save it as a JPEG of at most 12 megapixels, or take it again.")
	}
	return err
}
