package jobs

import (
	"context"
	"errors"
	"reflect"

	"secondcut/api"
	"secondcut/vision"
)

// ErrTracerDied says that the process died which was at work on a photo.
var ErrTracerDied = errors.New("the tracer died")

// Tracer reads photos. A photo that cannot be traced is a *vision.Refusal.
type Tracer interface {
	// Open does what depends on the photo alone.
	Open(ctx context.Context, data []byte, progress func(api.Step), opt TraceOptions) (Session, error)
}

// Drawer draws garments as files.
type Drawer interface {
	// Draw draws a source as package drawing writes it. What cannot be drawn is a
	// *vision.Refusal.
	Draw(ctx context.Context, source []byte, e api.Export) ([]byte, error)
}

// TraceOptions say what is known beside the photo. The zero value is usable.
type TraceOptions struct {
	// Print is what the rulers of the printed card sheet measure, in mm. Default
	// not measured.
	Print api.Print
	// References are things of known size in the photo. Default none.
	References []api.Reference
}

// same reports whether two photos would be opened alike.
func (o TraceOptions) same(with TraceOptions) bool { return reflect.DeepEqual(o, with) }

// Session is a photo that has been read; it is used by one goroutine at a time.
type Session interface {
	// Trace does what strokes can change.
	Trace(ctx context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error)
	// Backdrop draws the photo from straight above, as JPEG: the surroundings of
	// what was traced, or all that can be seen when t is nil.
	Backdrop(ctx context.Context, t *vision.Trace) (api.Plane, []byte, error)
	// Close lets go of the photo. It may be called more than once.
	Close() error
}
