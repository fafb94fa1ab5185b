package rest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
)

// event is one server-sent event (HTML Living Standard, section 9.2). Each holds
// the whole state, so a client that missed some needs only the newest: that is
// how a stream is resumed.
type event struct {
	id   int64
	name string
	data any
	last bool
}

// stream sends the events that next returns whenever the record with this id has
// changed. It is also asked at every heartbeat, for changes that another process
// made.
type stream struct {
	s    *service
	req  *http.Request
	id   string
	seen int64 // the last id that the client has
	next func(ctx context.Context) (event, error)
}

const heartbeat = 15 * time.Second

type eventsInput struct {
	ID          string `path:"id" maxLength:"64"`
	LastEventID int64  `header:"Last-Event-ID" doc:"The last event that was received."`
}

func (s *service) jobEvents(h huma.API) {
	o := eventOp("/jobs/{id}/events", "job-events",
		"Follow a job: events step, done, refused, failed and cancelled carry the job; the last four end the stream")
	route(s, h, o, func(ctx context.Context, in *eventsInput) (*huma.StreamResponse, error) {
		next := func(ctx context.Context) (event, error) {
			j, err := s.Store.Job(ctx, in.ID)
			if err != nil {
				return event{}, err
			}
			name := string(j.Status)
			if !j.Status.Final() {
				name = "step"
			}
			return event{j.Sequence, name, j, j.Status.Final()}, nil
		}
		return s.follow(ctx, in, next)
	})
}

type changed struct {
	Version int64 `json:"version"`
}

func (s *service) garmentEvents(h huma.API) {
	o := eventOp("/garments/{id}/events", "garment-events", "Follow a garment: event changed carries its new version")
	route(s, h, o, func(ctx context.Context, in *eventsInput) (*huma.StreamResponse, error) {
		next := func(ctx context.Context) (event, error) {
			g, err := s.Store.Garment(ctx, in.ID)
			if err != nil {
				return event{}, err
			}
			return event{g.Version, "changed", changed{g.Version}, false}, nil
		}
		return s.follow(ctx, in, next)
	})
}

func eventOp(path, id, summary string) huma.Operation {
	o := op("GET", path, id, summary, 200, 404)
	o.Responses = map[string]*huma.Response{"200": {Description: "Server-sent events", Content: map[string]*huma.MediaType{
		"text/event-stream": {Schema: &huma.Schema{Type: "string"}},
	}}}
	return o
}

// follow answers with a problem where the record does not exist, else with the
// stream.
func (s *service) follow(ctx context.Context, in *eventsInput, next func(context.Context) (event, error)) (*huma.StreamResponse, error) {
	if _, err := next(ctx); err != nil {
		return nil, err
	}
	return &huma.StreamResponse{Body: func(h huma.Context) {
		c := humagin.Unwrap(h)
		st := stream{s, c.Request, in.ID, in.LastEventID, next}
		c.Header("Content-Type", "text/event-stream")
		c.Header("Cache-Control", "no-store")
		c.Status(http.StatusOK)
		// A stream may stay open for hours.
		_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Time{})
		st.run(c.Request.Context(), c.Writer)
	}}, nil
}

func (st stream) run(ctx context.Context, w interface {
	http.ResponseWriter
	http.Flusher
},
) {
	woken, stop := st.s.Store.Watch(st.id)
	defer stop()
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		e, err := st.next(ctx)
		if err != nil || !st.s.still(st.req) {
			return // deleted, the client has gone, or is not let in any more
		}
		if e.id > st.seen || e.last {
			if e.write(w) != nil || e.last {
				w.Flush()
				return
			}
			st.seen = e.id
		}
		w.Flush()
		select {
		case <-woken:
		case <-beat.C:
			// A comment shows whether the client is still there.
			if _, err := fmt.Fprint(w, ": \n\n"); err != nil {
				return
			}
		case <-ctx.Done():
			return
		case <-st.s.Done:
			return
		}
	}
}

func (e event) write(w http.ResponseWriter) error {
	data, err := json.Marshal(e.data)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "id: %d\nevent: %s\ndata: %s\n\n", e.id, e.name, data)
	return err
}
