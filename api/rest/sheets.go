package rest

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"net/http"
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
	"secondcut/vision"
	"secondcut/vision/card"
)

// download answers with a file to be saved under a name.
func download(kind, name, ext string, data []byte) *huma.StreamResponse {
	return &huma.StreamResponse{Body: func(h huma.Context) {
		h.SetHeader("Content-Disposition", attachment(name, ext))
		humagin.Unwrap(h).Data(http.StatusOK, kind, data)
	}}
}

func (s *service) sheetRoutes(h huma.API) {
	export := fileOp("/pieces/{id}/export", "export-piece", "A piece at true size, as a file",
		"application/json", "image/svg+xml", "application/pdf", "image/png")
	export.Responses["200"].Content["application/json"].Schema = h.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[vision.Trace](), true, "")
	route(s, h, export, s.exportPiece)
	route(s, h, fileOp("/garments/{id}/export", "export-garment", "All pieces of a garment at true size, as one file",
		"application/json", "image/svg+xml", "application/pdf"), s.exportGarment)
	route(s, h, fileOp("/cards.pdf", "card-sheet", "A sheet of six scale cards to print", "application/pdf"), s.cardSheet)
}

func fileOp(path, id, summary string, types ...string) huma.Operation {
	o := op("GET", path, id, summary, 200, 404, 422)
	content := map[string]*huma.MediaType{}
	for _, t := range types {
		content[t] = &huma.MediaType{} // bytes have no schema
	}
	o.Responses = map[string]*huma.Response{"200": {Description: "The file", Content: content}}
	return o
}

type exportInput struct {
	ID     string `path:"id" maxLength:"64"`
	Format string `query:"format" required:"true" enum:"json,svg,pdf,png"`
	Paper  string `query:"paper" enum:"a4,letter,a3,tabloid,one" default:"a4" doc:"Paper of a PDF; one is a single large page."`
}

// exportTypes are the media types of the forms in which a piece is exported.
var exportTypes = map[string]string{
	"json": "application/json", "svg": "image/svg+xml", "pdf": "application/pdf", "png": "image/png",
}

func (s *service) exportPiece(ctx context.Context, in *exportInput) (*huma.StreamResponse, error) {
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	photo := &api.Photo{}
	if p.PhotoID != "" {
		if photo, err = s.Store.Photo(ctx, p.PhotoID); err != nil {
			return nil, err
		}
	}
	paper, err := sheet.PaperNamed(in.Paper)
	if err != nil {
		return nil, api.Invalid("paper", "There is no such paper.", "Choose A4, Letter, A3, Tabloid or one large page.")
	}
	var b bytes.Buffer
	pieces, opt := []sheet.Piece{printed(p)}, sheet.Options{Paper: paper}
	switch in.Format {
	case "json":
		err = writeTrace(&b, p, photo)
	case "svg":
		err = sheet.SVG(&b, p.Name, pieces, opt)
	case "pdf":
		err = sheet.PDF(&b, p.Name, pieces, opt)
	case "png":
		err = sheet.PNG(&b, pieces, opt)
	}
	if err != nil {
		return nil, printError(err)
	}
	return download(exportTypes[in.Format], p.Name, in.Format, b.Bytes()), nil
}

type garmentExport struct {
	ID     string `path:"id" maxLength:"64"`
	Format string `query:"format" required:"true" enum:"json,svg,pdf" doc:"json is a garment file."`
	Paper  string `query:"paper" enum:"a4,letter,a3,tabloid,one" default:"a4" doc:"Paper of a PDF; one is a single large page."`
}

func (s *service) exportGarment(ctx context.Context, in *garmentExport) (*huma.StreamResponse, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	paper, err := sheet.PaperNamed(in.Paper)
	if err != nil {
		return nil, api.Invalid("paper", "There is no such paper.", "Choose A4, Letter, A3, Tabloid or one large page.")
	}
	var b bytes.Buffer
	opt := sheet.Options{Paper: paper}
	var pieces []sheet.Piece
	for _, p := range all {
		pieces = append(pieces, printed(p))
	}
	switch in.Format {
	case "json":
		var data []byte
		data, err = fileOf(g, all)
		b.Write(data)
	case "svg":
		err = sheet.SVG(&b, g.Name, pieces, opt)
	case "pdf":
		err = sheet.PDF(&b, g.Name, pieces, opt)
	}
	if err != nil {
		return nil, printError(err)
	}
	return download(exportTypes[in.Format], g.Name, in.Format, b.Bytes()), nil
}

// piecesOf returns a garment and all its pieces, of which there must be one at least.
func (s *service) piecesOf(ctx context.Context, garmentID string) (*api.Garment, []*api.Piece, error) {
	g, err := s.Store.Garment(ctx, garmentID)
	if err != nil {
		return nil, nil, err
	}
	all, err := s.Store.Pieces(ctx, garmentID)
	if err == nil && len(all) == 0 {
		err = &api.Error{Code: api.CodeNotReady, Message: "This garment has no piece yet.", Remedy: "Add a photo of a piece and wait until it is traced."}
	}
	return g, all, err
}

type cardsInput struct {
	Paper string `query:"paper" enum:"a4,letter" default:"a4"`
	Sheet int    `query:"sheet" minimum:"1" maximum:"97" default:"1" doc:"Each sheet has its own six cards."`
}

func (s *service) cardSheet(_ context.Context, in *cardsInput) (*huma.StreamResponse, error) {
	paper, err := sheet.PaperNamed(in.Paper)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := card.WriteSheet(&b, paper, in.Sheet); err != nil {
		return nil, err
	}
	return download("application/pdf", fmt.Sprintf("scale-cards-%d-%s", in.Sheet, in.Paper), "pdf", b.Bytes()), nil
}

func printed(p *api.Piece) sheet.Piece {
	out := sheet.Piece{Name: p.Name, Outline: p.Knots, Holes: p.Holes, UncertaintyMM: p.UncertaintyMM, Unsure: p.Unsure}
	if p.Grain != nil && p.Grain.Sure >= pattern.GrainSure {
		out.GrainDeg = &p.Grain.Deg
	}
	return out
}

// flattenMM is the chord error of outlines written as points, well below the
// 0.05 mm that the format promises.
const flattenMM = 0.02

// writeTrace writes the piece as it is now in the form of a trace document, so
// that what reads traces reads corrected pieces as well.
func writeTrace(w io.Writer, p *api.Piece, photo *api.Photo) error {
	piece := vision.TracedPiece{
		Outline: p.Knots.Flatten(flattenMM), Corners: append([]geometry.Point{}, p.Knots.Corners()...),
		Holes: []geometry.Polyline{}, Knots: p.Knots, HoleKnots: p.Holes,
		UncertaintyMM: p.UncertaintyMM, FrayMM: p.FrayMM, Unsure: p.Unsure, Grain: p.Grain,
	}
	for _, h := range p.Holes {
		piece.Holes = append(piece.Holes, h.Flatten(flattenMM))
	}
	t := vision.Trace{Format: vision.TraceFormat, Pieces: []vision.TracedPiece{piece}, Findings: p.Findings}
	if photo.Trace != nil {
		t.Calibration = photo.Trace.Calibration
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	return enc.Encode(t)
}

// printError says in the person's words what keeps a piece from being printed.
func printError(err error) error {
	return &api.Error{
		Code: api.CodeInvalid, Message: fmt.Sprintf("The piece cannot be printed: %s.", strings.TrimPrefix(err.Error(), "sheet: ")),
		Remedy: "Check the outline, or choose another paper.",
	}
}

// attachment names the file for the browser (RFC 6266).
func attachment(name, ext string) string {
	name = strings.Trim(strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '-'
		}
		return r
	}, name), ". ")
	return mime.FormatMediaType("attachment", map[string]string{"filename": name + "." + ext})
}
