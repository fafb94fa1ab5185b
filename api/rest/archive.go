package rest

import (
	"context"
	"io"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
)

const (
	archivePath = "/archive"
	// archiveTime is how long an archive may be on its way.
	archiveTime = 6 * time.Hour
)

type importAnswer struct {
	Body api.Imported
}

type requestBody struct{}

func (s *service) archiveRoutes(h huma.API) {
	out := op("GET", archivePath, "export-all", "All that is kept, as one archive; for this machine itself", 200, 403)
	out.Responses = map[string]*huma.Response{"200": {Description: "The archive", Content: map[string]*huma.MediaType{"application/x-tar": {}}}}
	out.Middlewares = huma.Middlewares{s.ownOnly}
	route(s, h, out, s.exportAll)
	in := op("POST", archivePath, "import-all", "Add what an archive holds; garments that are here already stay as they are. For this machine itself", 200, 400, 403, 413, 507)
	in.RequestBody = &huma.RequestBody{Content: map[string]*huma.MediaType{"application/x-tar": {}}}
	in.Middlewares = huma.Middlewares{s.ownOnly, s.streamBody}
	route(s, h, in, s.importAll)
}

// ownOnly lets requests through that come from this machine, or from an owner where
// there are accounts.
func (s *service) ownOnly(h huma.Context, next func(huma.Context)) {
	c := humagin.Unwrap(h)
	if who := callerOf(c.Request.Context()); who != nil && who.takesOut {
		next(h)
		return
	}
	s.refuse(c, &api.Error{
		Code: api.CodeForbidden, Message: "All that is kept is handed to the computer itself only.",
		Remedy: "Open Secondcut's page on the computer that it runs on.",
	})
}

// streamBody hands a body that does not fit into memory to the handler.
func (s *service) streamBody(h huma.Context, next func(huma.Context)) {
	c := humagin.Unwrap(h)
	_ = http.NewResponseController(c.Writer).SetReadDeadline(time.Now().Add(archiveTime))
	next(huma.WithValue(h, requestBody{}, io.Reader(http.MaxBytesReader(c.Writer, c.Request.Body, s.Room.archive()))))
}

func (s *service) exportAll(context.Context, *struct{}) (*huma.StreamResponse, error) {
	return &huma.StreamResponse{Body: func(h huma.Context) {
		c := humagin.Unwrap(h)
		c.Header("Content-Type", "application/x-tar")
		c.Header("Content-Disposition", attachment("secondcut", "tar"))
		_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Now().Add(archiveTime))
		lost, err := s.Store.Export(c.Request.Context(), c.Writer)
		if err != nil && !c.Writer.Written() {
			c.Writer.Header().Del("Content-Disposition")
			s.refuse(c, err)
			return
		}
		if err != nil || len(lost) > 0 {
			// An archive that breaks off has no end.json, and is not taken in.
			s.log.WarnContext(c.Request.Context(), "archive", "request", requestID(c.Request.Context()), "lost", len(lost), "error", err)
		}
	}}, nil
}

func (s *service) importAll(ctx context.Context, _ *struct{}) (*importAnswer, error) {
	body, _ := ctx.Value(requestBody{}).(io.Reader)
	got, err := s.Store.Import(ctx, body)
	if err != nil {
		return nil, err
	}
	for _, j := range got.Jobs {
		if err := s.enqueue(ctx, &j); err != nil {
			return nil, err
		}
	}
	return &importAnswer{got}, nil
}
