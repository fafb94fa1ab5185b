package rest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
)

type garmentName struct {
	Name string `json:"name" maxLength:"1000" doc:"What the person calls the garment."`
}

type garmentAnswer struct {
	ETag string `header:"ETag"`
	Body *api.Garment
}

type garmentList struct {
	Body struct {
		Items []api.GarmentSummary `json:"items" nullable:"false"`
		Next  string               `json:"next,omitempty" doc:"The cursor of the next page; absent on the last."`
	}
}

type deletedAnswer struct {
	Location string `header:"Location" doc:"The entry in the trash, from where it can be brought back."`
}

func deleted(trashID string, err error) (*deletedAnswer, error) {
	if err != nil {
		return nil, err
	}
	return &deletedAnswer{Base + "/trash/" + trashID}, nil
}

func (s *service) garmentRoutes(h huma.API) {
	route(s, h, op("GET", "/garments", "list-garments", "List garments, last changed first", 200, 400), s.listGarments)
	route(s, h, op("POST", "/garments", "create-garment", "Make an empty garment", 201, 400, 422), s.createGarment)
	route(s, h, op("GET", "/garments/{id}", "get-garment", "Get a garment with its photos and pieces", 200, 404), s.getGarment)
	route(s, h, op("PATCH", "/garments/{id}", "edit-garment", "Change name and pattern parts of a garment", 200, 400, 404, 412, 428), s.editGarment)
	route(s, h, op("DELETE", "/garments/{id}", "delete-garment", "Move a garment with its photos and pieces into the trash", 204, 404), s.deleteGarment)
	s.garmentEvents(h)
}

func (s *service) listGarments(ctx context.Context, in *pageInput) (*garmentList, error) {
	page, err := in.page()
	if err != nil {
		return nil, err
	}
	items, err := s.Store.Garments(ctx, page)
	if err != nil {
		return nil, err
	}
	out := &garmentList{}
	out.Body.Items, out.Body.Next = cut(in, items, func(g api.GarmentSummary) (time.Time, string) { return g.UpdatedAt, g.ID })
	return out, nil
}

func (s *service) createGarment(ctx context.Context, in *struct {
	Key  string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Body garmentName
},
) (*garmentAnswer, error) {
	name, err := api.CleanName(in.Body.Name)
	if err != nil {
		return nil, err
	}
	return answerGarment(s.Store.CreateGarment(ctx, name, creationKey(in.Key, "POST /garments", name)))
}

func (s *service) getGarment(ctx context.Context, in *byID) (*garmentAnswer, error) {
	return answerGarment(s.Store.Garment(ctx, in.ID))
}

func (s *service) editGarment(ctx context.Context, in *struct {
	ID      string `path:"id" maxLength:"64"`
	IfMatch string `header:"If-Match" maxLength:"100" doc:"The ETag of the version that the edit starts from; required."`
	Body    api.GarmentEdit
},
) (*garmentAnswer, error) {
	version, err := versionOf(in.IfMatch)
	if err != nil {
		return nil, err
	}
	return answerGarment(s.Store.EditGarment(ctx, in.ID, in.Body, version))
}

func (s *service) deleteGarment(ctx context.Context, in *byID) (*deletedAnswer, error) {
	g, err := s.Store.Garment(ctx, in.ID)
	if err != nil && api.CodeOf(err) != api.CodeDamaged { // one that cannot be read can be deleted
		return nil, err
	}
	entry, err := s.Store.DeleteGarment(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if g != nil {
		for _, p := range g.Photos {
			s.Queue.Forget(p.ID)
		}
	}
	return deleted(entry, nil)
}

// stop ends a job that another one replaces.
func (s *service) stop(ctx context.Context, jobID string) error {
	if _, err := s.Queue.Cancel(ctx, jobID); err != nil && api.CodeOf(err) != api.CodeNotFound {
		return err
	}
	return nil
}

func answerGarment(g *api.Garment, err error) (*garmentAnswer, error) {
	if err != nil {
		return nil, err
	}
	return &garmentAnswer{ETag(g.Version), g}, nil
}

// creationKey makes the store's key of a creation from the Idempotency-Key
// header; parts are what the request says.
func creationKey(value, scope string, parts ...string) api.Key {
	sum := sha256.New()
	for _, p := range parts {
		fmt.Fprintf(sum, "%d:%s", len(p), p)
	}
	return api.Key{Value: value, Scope: scope, Digest: hex.EncodeToString(sum.Sum(nil))}
}

// ETag returns the entity tag of a record's version.
func ETag(version int64) string { return fmt.Sprintf(`"v%d"`, version) }

// versionOf reads an If-Match header. A tag that is none of ours matches no
// version, which is what 0 says; a star matches any (RFC 9110, 13.1.1).
func versionOf(ifMatch string) (int64, error) {
	if ifMatch == "" {
		return 0, &api.Error{
			Code:    api.CodeVersionMissing,
			Message: "The change does not say which version it starts from.",
			Remedy:  "Load the page again and repeat your change.",
		}
	}
	if strings.TrimSpace(ifMatch) == "*" {
		return api.AnyVersion, nil
	}
	tag, ok := strings.CutPrefix(strings.TrimSpace(ifMatch), `"v`)
	if !ok || !strings.HasSuffix(tag, `"`) {
		return 0, nil
	}
	version, err := strconv.ParseUint(strings.TrimSuffix(tag, `"`), 10, 63)
	if err != nil {
		return 0, nil
	}
	return int64(version), nil
}
