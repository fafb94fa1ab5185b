package rest

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
	"secondcut/api/drawing"
)

// A whole garment is drawn by a job, since it may take seconds. Who asks for it by
// GET waits for the job; who wants to see how far it is, or to end it, makes it
// himself. Either way an equal one is drawn once.

func (s *service) exportRoutes(h huma.API) {
	route(s, h, fileOp("/garments/{id}/export", "export-garment", "All pieces of a garment with their finishes at true size, as one file; json is a garment file",
		"application/json", "image/svg+xml", "application/pdf", "image/vnd.dxf", "image/png"), s.exportGarment)
	add := op("POST", "/garments/{id}/exports", "add-export", "Have a garment drawn as a file, by a job; an equal one that is there still is answered with", 202, 400, 404, 422, 503, 507)
	route(s, h, add, s.addExport)
	file := fileOp("/jobs/{id}/file", "get-job-file", "The file that an export has made; it is kept for a day", "image/svg+xml", "application/pdf", "image/vnd.dxf", "image/png")
	file.Errors = append(file.Errors, 500)
	route(s, h, file, s.jobFile)
}

type exportAccepted struct {
	Location string `header:"Location" doc:"Where the job is."`
	Body     *api.Job
}

func (s *service) addExport(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body api.Export
},
) (*exportAccepted, error) {
	if err := drawing.Check(in.Body); err != nil {
		return nil, err
	}
	j, err := s.exportJob(ctx, in.ID, in.Body)
	if err != nil {
		return nil, err
	}
	return &exportAccepted{Base + "/jobs/" + j.ID, j}, nil
}

// exportJob returns the job that draws a garment as it is now.
func (s *service) exportJob(ctx context.Context, garmentID string, e api.Export) (*api.Job, error) {
	source, err := s.sourceOf(ctx, garmentID, e)
	if err != nil {
		return nil, err
	}
	if err := s.hasRoom(ctx, int64(len(source)), 0); err != nil {
		return nil, err
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\n%+v\n%s", s.Build, e, source))
	j, err := s.Store.AddExport(ctx, api.NewExport{GarmentID: garmentID, Export: e, Source: source, Digest: fmt.Sprintf("%x", sum), Most: cmp.Or(s.Room.Exports, 100)})
	if err != nil {
		return nil, err
	}
	return j, s.enqueue(ctx, j)
}

// sourceOf returns what an export is drawn of.
func (s *service) sourceOf(ctx context.Context, garmentID string, e api.Export) ([]byte, error) {
	if e.OfWork() {
		m, err := s.makingOf(ctx, garmentID, e.Unit)
		if err != nil {
			return nil, err
		}
		return drawing.WorkSource(m)
	}
	g, all, err := s.piecesOf(ctx, garmentID)
	if err != nil {
		return nil, err
	}
	return drawing.Source(api.Compose(g, all))
}

func (s *service) exportGarment(ctx context.Context, in *exportInput) (*huma.StreamResponse, error) {
	if in.Format == "json" {
		return s.garmentFile(ctx, &byID{in.ID})
	}
	e, err := in.export()
	if err != nil {
		return nil, err
	}
	return s.fileWaitedFor(ctx, in.ID, e)
}

// fileWaitedFor answers with what an export makes when that is done.
func (s *service) fileWaitedFor(ctx context.Context, garmentID string, e api.Export) (*huma.StreamResponse, error) {
	j, err := s.exportJob(ctx, garmentID, e)
	if err != nil {
		return nil, err
	}
	if j, err = s.ended(ctx, j.ID); err != nil {
		return nil, err
	}
	return s.fileOfJob(ctx, j)
}

// longestWait is how long a request waits for its file.
const longestWait = 2 * time.Minute

// ended waits until a job has ended.
func (s *service) ended(ctx context.Context, id string) (*api.Job, error) {
	woken, stop := s.Store.Watch(id)
	defer stop()
	beat := time.NewTicker(heartbeat) // for changes that another process made
	defer beat.Stop()
	late := time.After(longestWait)
	for {
		j, err := s.Store.Job(ctx, id)
		if err != nil || j.Status.Final() {
			return j, err
		}
		select {
		case <-woken:
		case <-beat.C:
		case <-late:
			return nil, &api.Error{
				Code: api.CodeUnavailable, RetryAfter: 10 * time.Second,
				Message: "The file has not been drawn yet.", Remedy: "Ask for it again in a moment; what is done until then is kept.",
			}
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-s.Done:
			return nil, api.Unavailable(nil)
		}
	}
}

func (s *service) jobFile(ctx context.Context, in *byID) (*huma.StreamResponse, error) {
	j, err := s.Store.Job(ctx, in.ID)
	if api.CodeOf(err) == api.CodeNotFound {
		return nil, &api.Error{Code: api.CodeNotFound, Message: "This file is not kept any more.", Remedy: "Ask for it again; files are kept for a day, while their garment is there."}
	}
	if err != nil {
		return nil, err
	}
	return s.fileOfJob(ctx, j)
}

// fileWords follow the garment's name in the name of a file.
var fileWords = map[api.What]string{api.WhatMaking: " making sheet", api.WhatSet: " whole set"}

// fileOfJob answers with what an export has made.
func (s *service) fileOfJob(ctx context.Context, j *api.Job) (*huma.StreamResponse, error) {
	switch {
	case j.Export == nil || j.Refusal == nil && j.Status != api.JobDone:
		return nil, &api.Error{Code: api.CodeNotReady, Message: "This job has made no file.", Remedy: "Wait until it is done, or ask for the file again."}
	case j.Status == api.JobRefused:
		return nil, j.Refusal
	case j.Status == api.JobCancelled:
		return nil, &api.Error{Code: api.CodeNotReady, Message: j.Refusal.Message, Remedy: j.Refusal.Remedy}
	case j.Status == api.JobFailed:
		return nil, &api.Error{Code: api.CodeInternal, Message: j.Refusal.Message, Remedy: j.Refusal.Remedy}
	}
	g, err := s.Store.Garment(ctx, j.GarmentID)
	if err != nil {
		return nil, err
	}
	data, err := s.Store.ExportFile(ctx, j.ID)
	if err != nil {
		return nil, err
	}
	return &huma.StreamResponse{Body: func(h huma.Context) {
		c := humagin.Unwrap(h)
		c.Header("Content-Type", exportTypes[j.Export.Format])
		c.Header("Content-Disposition", attachment(g.Name+fileWords[j.Export.What], j.Export.Format))
		c.Header("Cache-Control", "private, no-cache")
		c.Header("ETag", contentTag(data))
		http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(data)) // a phone may go on where it was cut off
	}}, nil
}
