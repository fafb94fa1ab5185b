package rest

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
)

type jobAnswer struct {
	Body *api.Job
}

func (s *service) jobRoutes(h huma.API) {
	route(s, h, op("GET", "/jobs/{id}", "get-job", "Get a job", 200, 404), s.getJob)
	route(s, h, op("DELETE", "/jobs/{id}", "cancel-job", "Cancel a job", 200, 404), s.cancelJob)
	s.jobEvents(h)
}

func (s *service) getJob(ctx context.Context, in *byID) (*jobAnswer, error) {
	j, err := s.Store.Job(ctx, in.ID)
	return &jobAnswer{j}, err
}

func (s *service) cancelJob(ctx context.Context, in *byID) (*jobAnswer, error) {
	j, err := s.Queue.Cancel(ctx, in.ID)
	return &jobAnswer{j}, err
}
