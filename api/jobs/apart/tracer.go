package apart

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"sync"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/vision"
)

// Tracer has a child work on each photo. The zero value of the fields but Command
// is usable.
type Tracer struct {
	// Command makes the command of a child, which calls [Serve] on its standard
	// input and output.
	Command func() *exec.Cmd
	// Spare is how many children that have done their work are kept for the next
	// photo; each has one at a time. Default none.
	Spare int

	spares spares
}

var (
	_ jobs.Tracer = (*Tracer)(nil)
	_ jobs.Drawer = (*Tracer)(nil)
)

// Open has a child read the photo. The child is let go by Close, and ends when a
// context does during a call.
func (t *Tracer) Open(ctx context.Context, data []byte, progress func(api.Step), opt jobs.TraceOptions) (jobs.Session, error) {
	p, err := t.take()
	if err != nil {
		return nil, err
	}
	if _, _, err := p.ask(ctx, request{Ask: askOpen, Print: opt.Print, References: opt.References}, data, progress); err != nil {
		t.give(p)
		return nil, err
	}
	return &session{tracer: t, process: p}, nil
}

// Strip is vision.StripMetadata in a child.
func (t *Tracer) Strip(ctx context.Context, data []byte, lim vision.Limits) ([]byte, error) {
	return t.once(ctx, request{Ask: askStrip, Limits: lim}, data)
}

// Preview is vision.Preview in a child.
func (t *Tracer) Preview(ctx context.Context, data []byte, lim vision.Limits, longest int) ([]byte, error) {
	return t.once(ctx, request{Ask: askPreview, Limits: lim, Longest: longest}, data)
}

// Draw draws a garment in a child.
func (t *Tracer) Draw(ctx context.Context, source []byte, e api.Export) ([]byte, error) {
	return t.once(ctx, request{Ask: askDraw, Export: e}, source)
}

func (t *Tracer) once(ctx context.Context, r request, data []byte) ([]byte, error) {
	p, err := t.take()
	if err != nil {
		return nil, err
	}
	defer t.give(p)
	_, picture, err := p.ask(ctx, r, data, nil)
	return picture, err
}

// session is a photo that a child holds open.
type session struct {
	tracer  *Tracer
	process *process // nil once closed
	last    *vision.Trace
}

var errClosed = fmt.Errorf("%w: it was let go", jobs.ErrTracerDied)

func (s *session) ask(ctx context.Context, r request, progress func(api.Step)) (reply, []byte, error) {
	if s.process == nil {
		return reply{}, nil, errClosed
	}
	return s.process.ask(ctx, r, nil, progress)
}

// Close lets the child go. It may be called more than once.
func (s *session) Close() error {
	if s.process != nil {
		s.tracer.give(s.process)
		s.process, s.last = nil, nil
	}
	return nil
}

// Trace finds the pieces.
func (s *session) Trace(ctx context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error) {
	re, _, err := s.ask(ctx, request{Ask: askTrace, Strokes: strokes}, progress)
	if err == nil && re.Trace == nil {
		err = errors.New("apart: the tracer answered without a trace")
	}
	s.last = re.Trace
	return re.Trace, err
}

// Backdrop draws the photo from above: around what was traced last, which t must
// be, or all that can be seen when t is nil.
func (s *session) Backdrop(ctx context.Context, t *vision.Trace) (api.Plane, []byte, error) {
	if t != nil && t != s.last {
		return api.Plane{}, nil, errors.New("apart: a backdrop can be drawn only of what was traced last")
	}
	re, picture, err := s.ask(ctx, request{Ask: askBackdrop, Traced: t != nil}, nil)
	if err == nil && re.Plane == nil {
		err = errors.New("apart: the tracer answered without a plane")
	}
	if err != nil {
		return api.Plane{}, nil, err
	}
	return *re.Plane, picture, nil
}

// process is a running child.
type process struct {
	cmd    *exec.Cmd
	in     io.WriteCloser
	out    *bufio.Reader
	said   *words
	closed sync.Once
	ended  error
	photos int  // that it has had
	born   int  // how many had broken down before it was started
	spoilt bool // an answer was missing, or says that something went wrong inside
}

func (t *Tracer) start() (*process, error) {
	p := &process{cmd: t.Command(), said: &words{}}
	p.cmd.Stderr = p.said
	var err error
	if p.in, err = p.cmd.StdinPipe(); err != nil {
		return nil, fmt.Errorf("apart: %w", err)
	}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		return nil, fmt.Errorf("apart: %w", err)
	}
	p.out = bufio.NewReaderSize(out, 1<<16)
	if err := p.cmd.Start(); err != nil {
		return nil, fmt.Errorf("apart: starting a tracer: %w", err)
	}
	return p, nil
}

// ask sends a request and waits for its answer; when ctx ends first, the child is
// killed. A child that dies over it is an error of [jobs.ErrTracerDied].
func (p *process) ask(ctx context.Context, r request, picture []byte, progress func(api.Step)) (reply, []byte, error) {
	stop := context.AfterFunc(ctx, func() { _ = p.cmd.Process.Kill() })
	defer stop()
	// A child that dies early takes in no more; why is found when it is read from.
	werr := writeFrame(p.in, r, picture)
	for {
		var re reply
		got, err := readFrame(p.out, &re)
		if err != nil {
			return reply{}, nil, p.died(ctx, errors.Join(err, werr))
		}
		switch {
		case re.Step != nil:
			if progress != nil {
				progress(*re.Step)
			}
			continue
		case re.Refused != nil:
			return reply{}, nil, re.Refused
		case re.Failed != "":
			p.spoilt = true
			return reply{}, nil, errors.New(re.Failed)
		}
		return re, got, nil
	}
}

// died says why a child answers no more.
func (p *process) died(ctx context.Context, err error) error {
	p.spoilt = true
	_ = p.Close()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	how := "it sent what could not be read"
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		how = fmt.Sprint(p.ended)
	}
	return fmt.Errorf("%w: %s (%w); it last said: %s", jobs.ErrTracerDied, how, err, cmp.Or(p.said.String(), "nothing"))
}

// Close ends the child, if it has not ended yet. It may be called more than once.
func (p *process) Close() error {
	p.closed.Do(func() {
		_ = p.in.Close()
		_ = p.cmd.Process.Kill()
		p.ended = p.cmd.Wait()
	})
	return nil
}

// words keeps the beginning and the end of what is written to it: the one is
// where the runtime says why it gives up, the other where C++ does.
type words struct {
	mu          sync.Mutex
	first, last []byte
}

// maxWords is how much is kept of the beginning and of the end.
const maxWords = 1 << 10

// Write keeps what is first or last.
func (w *words) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	n := min(len(b), maxWords-len(w.first))
	w.first = append(w.first, b[:n]...)
	w.last = append(w.last, b[n:]...)
	if over := len(w.last) - maxWords; over > 0 {
		w.last = append(w.last[:0], w.last[over:]...)
	}
	return len(b), nil
}

// String returns what was kept.
func (w *words) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return strings.TrimSpace(string(w.first) + string(w.last))
}
