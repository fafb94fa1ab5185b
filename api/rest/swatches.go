package rest

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/geometry/pattern"
	"secondcut/vision"
)

// The photo of a cloth is sent first; then the cloth is told its name, by an edit of the
// garment like any other, which can be taken back like any other.

func (s *service) swatchRoutes(h huma.API) {
	up := op("POST", "/garments/{id}/swatches", "add-swatch",
		"Keep a small photo of a cloth; the garment's cloths then refer to it by its name, else it goes after a day", 201, 400, 404, 409, 413, 415, 422, 507)
	up.MaxBodyBytes, up.BodyReadTimeout = s.Limits.FileBytes()+1, uploadTimeout
	up.RequestBody = &huma.RequestBody{}
	up.Middlewares = huma.Middlewares{s.takeTurn}
	route(s, h, up, s.addSwatch)
	up.RequestBody.Required = false
	up.RequestBody.Content = map[string]*huma.MediaType{"image/*": {}}
	route(s, h, fileOp("/garments/{id}/swatches/{name}", "get-swatch", "A photo of a cloth", "image/jpeg"), s.getSwatch)
}

type swatchAnswer struct {
	Body struct {
		Name string `json:"name" doc:"By which a cloth refers to it."`
	}
}

func (s *service) addSwatch(ctx context.Context, in *struct {
	ID          string `path:"id" maxLength:"64"`
	ContentType string `header:"Content-Type"`
	RawBody     []byte `contentType:"image/*"`
},
) (*swatchAnswer, error) {
	if err := pictureType(in.ContentType); err != nil {
		return nil, err
	}
	if err := s.hasRoom(ctx, pattern.MaxSwatchBytes, 0); err != nil {
		return nil, err
	}
	small, err := s.swatch(ctx, in.RawBody)
	if err != nil {
		return nil, err
	}
	out := &swatchAnswer{}
	out.Body.Name, err = s.Store.AddSwatch(ctx, in.ID, small)
	return out, err
}

// swatch makes a small upright picture without metadata of a photo. It is drawn anew from
// its pixels, in the darkroom, whatever it was.
func (s *service) swatch(ctx context.Context, photo []byte) ([]byte, error) {
	lim := s.Limits
	lim.MinSide = 16 // a thread or two
	if _, err := vision.Header(photo, lim); err != nil {
		return nil, err
	}
	done, err := s.readTurn(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	small, err := s.room.Preview(ctx, photo, lim, pattern.MaxSwatchPx)
	if err == nil && len(small) > pattern.MaxSwatchBytes {
		return nil, fmt.Errorf("rest: a picture of %d pixels a side took %d bytes", pattern.MaxSwatchPx, len(small))
	}
	return small, unreadable(err)
}

// ownSwatches returns the pictures of a garment file as they are kept, and the garment
// that names them so. One that is small and free of metadata stays as it is, to the byte.
func (s *service) ownSwatches(ctx context.Context, g pattern.Garment) (pattern.Garment, error) {
	kept, now := pattern.Swatches{}, map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(g.Swatches)) {
		if !slices.ContainsFunc(g.Cloths, func(c pattern.Cloth) bool { return c.Swatch == name }) {
			continue
		}
		picture := g.Swatches[name]
		small, err := s.swatch(ctx, picture)
		if err != nil {
			return g, err
		}
		if vision.Bare(picture) {
			small = picture
		}
		now[name] = pattern.SwatchName(small)
		kept[now[name]] = small
	}
	g.Cloths, g.Swatches = pattern.RenamedSwatches(g.Cloths, now), kept
	return g, nil
}

// swatchesOf returns the photos of a garment's cloths. One that is lost is left out.
func (s *service) swatchesOf(ctx context.Context, g *api.Garment) (pattern.Swatches, error) {
	all := pattern.Swatches{}
	for _, c := range g.Cloths {
		if c.Swatch == "" || all[c.Swatch] != nil {
			continue
		}
		picture, err := s.Store.Swatch(ctx, g.ID, c.Swatch)
		switch api.CodeOf(err) {
		case api.CodeNotFound, api.CodeDamaged:
			continue
		}
		if err != nil {
			return nil, err
		}
		all[c.Swatch] = picture
	}
	return all, nil
}

func (s *service) getSwatch(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Name string `path:"name" maxLength:"64"`
},
) (*huma.StreamResponse, error) {
	jpeg, err := s.Store.Swatch(ctx, in.ID, in.Name)
	if err != nil {
		return nil, err
	}
	return picture(jpeg), nil
}
