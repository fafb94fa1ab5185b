package rest

import (
	"bytes"
	"context"
	"fmt"
	"math"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/amend"
)

func (s *service) libraryRoutes(h huma.API) {
	route(s, h, op("POST", "/garments/{id}/remake", "remake-garment", "Make a garment after another one, to change its size or cloth; photos and layouts stay behind", 201, 400, 404, 422), s.remakeGarment)
	picture := fileOp("/garments/{id}/picture", "garment-picture", "All pieces of a garment as a small drawing", "image/svg+xml")
	route(s, h, picture, s.garmentPicture)
}

func (s *service) remakeGarment(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Key  string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Body struct {
		Name  string       `json:"name" maxLength:"1000" doc:"What the person calls the new garment."`
		Wants []amend.Want `json:"wants,omitempty" nullable:"false" maxItems:"50" doc:"The measures of another size; left out, the size stays."`
	}
},
) (*garmentAnswer, error) {
	g, err := s.Store.Garment(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	all, err := s.Store.Pieces(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	swatches, err := s.swatchesOf(ctx, g)
	if err != nil {
		return nil, err
	}
	n, err := api.Remake(g, all, swatches, in.Body.Name, in.Body.Wants)
	if err != nil {
		return nil, err
	}
	return answerGarment(s.Store.ImportGarment(ctx, n, creationKey(in.Key, "POST /garments/remake", in.ID, n.Name, fmt.Sprint(in.Body.Wants))))
}

func (s *service) garmentPicture(ctx context.Context, in *byID) (*huma.StreamResponse, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	var rings []geometry.Polyline
	for _, p := range api.Compose(g, all).Pieces {
		rings = append(rings, p.Knots.Flatten(pictureChord))
	}
	data := smallDrawing(rings)
	return &huma.StreamResponse{Body: func(h huma.Context) {
		sendFile(humagin.Unwrap(h), "image/svg+xml", contentTag(data), data)
	}}, nil
}

const (
	pictureShape = 4.0 / 3 // width by height
	pictureChord = 1.0     // mm: less than a pixel
	pictureGap   = 25.0    // mm between pieces
)

// smallDrawing draws outlines beside each other, in rows that fill the picture best. Its
// colour is to be seen on light and on dark.
func smallDrawing(rings []geometry.Polyline) []byte {
	best, size, scale := []geometry.Point(nil), geometry.Point{}, 0.0
	width := pictureGap
	for _, r := range rings {
		lo, hi := r.Bounds()
		width += hi.X - lo.X + pictureGap
		at, span := inRows(rings, width)
		if now := min(pictureShape/span.X, 1/span.Y); now > scale {
			best, size, scale = at, span, now
		}
	}
	w, h := max(size.X, pictureShape*size.Y), max(size.Y, size.X/pictureShape)
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="160" height="120" viewBox="%.0f %.0f %.0f %.0f"><path fill="#4f9c93" d="`, (size.X-w)/2, (size.Y-h)/2, w, h)
	for i, r := range rings {
		for j, q := range r {
			// y runs down in the drawing.
			fmt.Fprintf(&b, "%c%.0f %.0f", "ML"[min(j, 1)], best[i].X+q.X, best[i].Y-q.Y)
		}
		b.WriteByte('Z')
	}
	b.WriteString(`"/></svg>`)
	return b.Bytes()
}

// inRows returns where the origins of outlines lie in rows no wider than said, y down,
// and the size of all.
func inRows(rings []geometry.Polyline, wide float64) (at []geometry.Point, span geometry.Point) {
	x, y, row := pictureGap, pictureGap, 0.0
	for _, r := range rings {
		lo, hi := r.Bounds()
		w, h := hi.X-lo.X, hi.Y-lo.Y
		if x > pictureGap && x+w+pictureGap > wide+1e-6 {
			x, y, row = pictureGap, y+row+pictureGap, 0
		}
		at = append(at, geometry.Point{X: x - lo.X, Y: y + hi.Y})
		x, row = x+w+pictureGap, math.Max(row, h)
		span.X = math.Max(span.X, x)
	}
	span.Y = y + row + pictureGap
	return at, span
}
