package apart

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"time"

	"secondcut/api"
	"secondcut/api/drawing"
	"secondcut/api/jobs"
	"secondcut/vision"
)

// ErrNotOpen says that a child was asked about a photo before it had opened one.
var ErrNotOpen = errors.New("no photo is open")

// Serve answers the parent's requests until in ends. ended, which may be nil, is
// called as soon as that happens, also in the midst of a request: the command
// ends the process there.
func Serve(ctx context.Context, in io.Reader, out io.Writer, tracer jobs.Tracer, ended func()) error {
	c := &child{tracer: tracer, out: bufio.NewWriterSize(out, 1<<16)}
	asked := make(chan asked)
	failed := make(chan error, 1)
	go func() {
		failed <- readRequests(in, asked)
		if ended != nil {
			ended()
		}
	}()
	rest := time.NewTimer(restAfter)
	defer rest.Stop()
	for {
		select {
		case a := <-asked:
			if err := c.answer(ctx, a); err != nil {
				return err
			}
			rest.Reset(restAfter)
		case <-rest.C:
			debug.FreeOSMemory() // a photo that waits for strokes keeps only itself
		case err := <-failed:
			return err
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// restAfter is how long a child has nothing to do before it gives back the memory
// that it does not need.
const restAfter = time.Second

// asked is a request with its picture.
type asked struct {
	request
	picture []byte
}

func readRequests(in io.Reader, out chan<- asked) error {
	r := bufio.NewReaderSize(in, 1<<16)
	for {
		var a asked
		var err error
		if a.picture, err = readFrame(r, &a.request); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		out <- a
	}
}

// child is the process's state: the photo that is open and what was traced last.
type child struct {
	tracer  jobs.Tracer
	out     *bufio.Writer
	session jobs.Session
	last    *vision.Trace
}

func (c *child) answer(ctx context.Context, a asked) error {
	re, picture, err := c.do(ctx, a)
	if err != nil {
		re = reply{Failed: err.Error()}
		if r, ok := errors.AsType[*vision.Refusal](err); ok {
			re = reply{Refused: r}
		}
	}
	if err := writeFrame(c.out, re, picture); err != nil {
		return err
	}
	return c.out.Flush()
}

// do answers one request. A panic is an error like any other: the parent closes
// the child after one.
func (c *child) do(ctx context.Context, a asked) (re reply, picture []byte, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	switch a.Ask {
	case askOpen:
		c.session, c.last = nil, nil
		c.session, err = c.tracer.Open(ctx, a.picture, c.step, jobs.TraceOptions{Print: a.Print, References: a.References})
	case askTrace:
		if c.session == nil {
			return re, nil, ErrNotOpen
		}
		re.Trace, err = c.session.Trace(ctx, a.Strokes, c.step)
		c.last = re.Trace
	case askBackdrop:
		if c.session == nil {
			return re, nil, ErrNotOpen
		}
		var t *vision.Trace
		if a.Traced {
			t = c.last
		}
		var plane api.Plane
		plane, picture, err = c.session.Backdrop(ctx, t)
		re.Plane = &plane
	case askStrip:
		picture, err = vision.StripMetadata(ctx, a.picture, a.Limits)
	case askPreview:
		picture, err = vision.Preview(ctx, a.picture, a.Limits, a.Longest)
	case askDraw:
		picture, err = drawing.Drawer{}.Draw(ctx, a.picture, a.Export)
	case askForget:
		c.session, c.last = nil, nil
	default:
		err = fmt.Errorf("unknown request %q", a.Ask)
	}
	if err != nil {
		return reply{}, nil, err
	}
	return re, picture, nil
}

// step tells the parent how far the work has come. That it cannot is noticed
// with the answer.
func (c *child) step(s api.Step) {
	if writeFrame(c.out, reply{Step: &s}, nil) == nil {
		_ = c.out.Flush()
	}
}
