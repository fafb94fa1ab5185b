package rest

import (
	"context"
	"net/http"
	"runtime"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
	"secondcut/geometry/lay"
)

func (s *service) layingRoutes(h huma.API) {
	run := eventOp("/garments/{id}/lay", "lay-garment",
		"Look for a short layout: events plan carry the best so far, done ends the stream with the last. It ends with the request. Nothing is kept")
	run.Method, run.Errors = "POST", []int{400, 404, 422, 503}
	route(s, h, run, s.layGarment)
	widths := eventOp("/garments/{id}/lay/widths", "lay-widths",
		"What a garment takes of cloth of other widths: an event width for each, then done")
	widths.Method, widths.Errors = "POST", []int{400, 404, 422, 503}
	route(s, h, widths, s.layWidths)
}

// layers is how many layouts are looked for at a time, each on one processor.
func layers() int { return max(1, runtime.NumCPU()) }

const (
	// layPatience is how long an asker waits for a turn: a page that asks anew has just
	// given up its turn.
	layPatience = time.Second
	// layBeat is the least time between two events of a stream.
	layBeat = 100 * time.Millisecond
)

// layTurnFor takes a turn to lay and returns what gives it back.
func (s *service) layTurnFor(ctx context.Context) (func(), error) {
	wait := time.NewTimer(layPatience)
	defer wait.Stop()
	select {
	case s.laying <- struct{}{}:
		return func() { <-s.laying }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-wait.C:
		return nil, &api.Error{
			Code: api.CodeQueueFull, RetryAfter: 5 * time.Second,
			Message: "As many layouts are being looked for as this computer can do at a time.",
			Remedy:  "Wait a few seconds and try again, or stop one of them.",
		}
	}
}

type layInput struct {
	OnCloth
	Body struct {
		Seconds float64    `json:"seconds,omitempty" minimum:"0.1" maximum:"300" default:"20" doc:"How long to look for a better layout."`
		Seed    uint64     `json:"seed,omitempty" doc:"Another number tries other random choices."`
		Fixed   []lay.Laid `json:"fixed,omitempty" nullable:"false" maxItems:"2000" doc:"Pieces that stay where they are."`
	}
}

func (s *service) layGarment(ctx context.Context, in *layInput) (*huma.StreamResponse, error) {
	if err := api.CheckLaid(in.Body.Fixed); err != nil {
		return nil, err
	}
	l, err := s.layingOf(ctx, in.OnCloth)
	if err != nil {
		return nil, err
	}
	release, err := s.layTurnFor(ctx)
	if err != nil {
		return nil, err
	}
	ctx, stop := s.untilDone(ctx)
	opt := lay.Options{Time: time.Duration(in.Body.Seconds * float64(time.Second)), Seed: in.Body.Seed, Searches: 1}
	r := newRun(func(tell func(lay.Plan)) (lay.Plan, error) {
		defer release()
		return l.task.Nest(ctx, opt, in.Body.Fixed, tell)
	})
	// A problem is answered as such as long as nothing else was.
	first, err := r.next(ctx)
	if err != nil {
		stop()
		return nil, l.nestError(err)
	}
	return &huma.StreamResponse{Body: func(h huma.Context) {
		defer stop()
		send := sender(h)
		for e := first; send(e) && !e.last; {
			e, err = r.next(ctx)
			if err != nil {
				send(event{id: e.id + 1, name: "failed", data: s.problem(ctx, l.nestError(err)), last: true})
				return
			}
		}
	}}, nil
}

type widthsInput struct {
	OnCloth
	Body struct {
		Widths  []float64 `json:"widths_mm,omitempty" nullable:"false" maxItems:"12" doc:"Left out, those that cloth is usually sold in, and the cloth's own."`
		Seconds float64   `json:"seconds,omitempty" minimum:"0.1" maximum:"30" default:"2" doc:"How long to look for a layout on each."`
	}
}

func (s *service) layWidths(ctx context.Context, in *widthsInput) (*huma.StreamResponse, error) {
	l, err := s.layingOf(ctx, in.OnCloth)
	if err != nil {
		return nil, err
	}
	widths := in.Body.Widths
	if len(widths) == 0 {
		widths = append(lay.UsualWidths(), l.task.Cloth.WidthMM)
		slices.Sort(widths)
		widths = slices.Compact(widths)
	}
	release, err := s.layTurnFor(ctx)
	if err != nil {
		return nil, err
	}
	ctx, stop := s.untilDone(ctx)
	opt := lay.Options{Time: time.Duration(in.Body.Seconds * float64(time.Second)), Searches: 1}
	rows := make(chan lay.WidthRow, len(widths)) // so that a search never waits for a client
	var failed error
	go func() {
		defer close(rows)
		defer release()
		_, failed = lay.Widths(ctx, l.garment, in.Cloth, l.task.Cloth, widths, opt, func(r lay.WidthRow) { rows <- r })
	}()
	return &huma.StreamResponse{Body: func(h huma.Context) {
		defer stop()
		send, n := sender(h), int64(0)
		for r := range rows {
			if n++; !send(event{id: n, name: "width", data: l.charted(r)}) {
				return
			}
		}
		if failed != nil {
			send(event{id: n + 1, name: "failed", data: s.problem(ctx, l.nestError(failed))})
			return
		}
		send(event{id: n + 1, name: "done", data: struct{}{}})
	}}, nil
}

// widthRow is a row of the table of widths, with what a published conversion chart makes
// of the kept layout in that width: a rough check.
type widthRow struct {
	lay.WidthRow
	ChartMM float64 `json:"chart_mm,omitempty"`
}

// charted adds what the chart says: nothing where a piece is wider than the cloth, for
// which it was not made, nor of a layout that cannot be cut or lies on a remnant.
func (l laying) charted(r lay.WidthRow) widthRow {
	out := widthRow{WidthRow: r}
	c := l.task.Cloth
	if r.Why != "" || r.WidthMM == c.WidthMM || c.Remnant != nil || len(l.kept) == 0 || len(l.task.Check(l.kept)) > 0 {
		return out
	}
	if mm, ok := lay.ByChart(l.task.Placed(l.kept).NeedMM, c.WidthMM, r.WidthMM); ok {
		out.ChartMM = mm
	}
	return out
}

// untilDone is a context that ends with the service as well.
func (s *service) untilDone(ctx context.Context) (context.Context, func()) {
	ctx, stop := context.WithCancel(ctx)
	go func() {
		select {
		case <-s.Done:
			stop()
		case <-ctx.Done():
		}
	}()
	return ctx, stop
}

// run is a search that goes on beside the stream that tells of it.
type run struct {
	better chan lay.Plan // holds the newest plan that was not fetched
	ended  chan struct{}
	plan   lay.Plan // when it has ended
	err    error
	sent   int64
}

func newRun(search func(tell func(lay.Plan)) (lay.Plan, error)) *run {
	r := &run{better: make(chan lay.Plan, 1), ended: make(chan struct{})}
	go func() {
		defer close(r.ended)
		r.plan, r.err = search(func(p lay.Plan) {
			select {
			case <-r.better: // nobody has seen it, and this one is better
			default:
			}
			r.better <- p
		})
	}()
	return r
}

// next waits for a better plan or the end.
func (r *run) next(ctx context.Context) (event, error) {
	if r.sent > 0 { // better ones come in bursts
		select {
		case <-time.After(layBeat):
		case <-r.ended:
		}
	}
	r.sent++
	select {
	case p := <-r.better:
		return event{id: r.sent, name: "plan", data: p}, nil
	case <-r.ended:
		return event{id: r.sent, name: "done", data: r.plan, last: true}, r.err
	case <-ctx.Done():
		return event{}, ctx.Err()
	}
}

// sender begins a stream of events and returns what sends one; false when the client has
// gone.
func sender(h huma.Context) func(event) bool {
	c := humagin.Unwrap(h)
	c.Header("Content-Type", "text/event-stream")
	c.Header("Cache-Control", "no-store")
	c.Status(http.StatusOK)
	_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Time{})
	return func(e event) bool {
		if err := e.write(c.Writer); err != nil {
			return false
		}
		c.Writer.Flush()
		return c.Request.Context().Err() == nil
	}
}
