package rest

import (
	"context"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
)

type trashList struct {
	Body struct {
		Items []api.Trashed `json:"items" nullable:"false"`
		Next  string        `json:"next,omitempty" doc:"The cursor of the next page; absent on the last."`
	}
}

type trashedAnswer struct {
	Body *api.Trashed
}

func (s *service) trashRoutes(h huma.API) {
	route(s, h, op("GET", "/trash", "list-trash", "List what was deleted in the last seven days, last deleted first", 200, 400), s.listTrash)
	route(s, h, op("POST", "/trash/{id}/restore", "restore-trash", "Bring back what was deleted", 200, 404), s.restoreTrash)
	route(s, h, op("DELETE", "/trash/{id}", "delete-trash", "Delete an entry of the trash for good", 204, 404), func(ctx context.Context, in *byID) (*none, error) {
		return &none{}, s.Store.EmptyTrash(ctx, in.ID)
	})
	route(s, h, op("DELETE", "/trash", "empty-trash", "Delete all that is in the trash for good", 204), func(ctx context.Context, _ *struct{}) (*none, error) {
		return &none{}, s.Store.EmptyTrash(ctx, "")
	})
}

func (s *service) listTrash(ctx context.Context, in *pageInput) (*trashList, error) {
	page, err := in.page()
	if err != nil {
		return nil, err
	}
	items, err := s.Store.Trash(ctx, page)
	if err != nil {
		return nil, err
	}
	out := &trashList{}
	out.Body.Items, out.Body.Next = cut(in, items, func(t api.Trashed) (time.Time, string) { return t.DeletedAt, t.ID })
	return out, nil
}

func (s *service) restoreTrash(ctx context.Context, in *byID) (*trashedAnswer, error) {
	t, left, err := s.Store.Restore(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	for _, j := range left {
		if err := s.enqueue(ctx, &j); err != nil {
			return nil, err
		}
	}
	return &trashedAnswer{t}, nil
}
