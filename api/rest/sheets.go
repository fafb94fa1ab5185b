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
	"secondcut/api/drawing"
	"secondcut/geometry"
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
	export := fileOp("/pieces/{id}/export", "export-piece", "A piece with its finishes at true size, as a file; json is a trace document of its outline",
		"application/json", "image/svg+xml", "application/pdf", "image/vnd.dxf", "image/png")
	export.Responses["200"].Content["application/json"].Schema = h.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[vision.Trace](), true, "")
	route(s, h, export, s.exportPiece)
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
	ID       string   `path:"id" maxLength:"64"`
	Format   string   `query:"format" required:"true" enum:"json,svg,pdf,dxf,png"`
	Paper    string   `query:"paper" maxLength:"40" default:"a4" doc:"Paper of a PDF: a4, letter, a3, tabloid, a2, a1, a0, one (a single page as large as needed), or a roll such as roll:914 or roll:36in."`
	Tiles    []string `query:"tiles" maxItems:"500" doc:"Only these sheets of a PDF, such as B2,C1."`
	Unit     string   `query:"unit" enum:"mm,cm,in" default:"mm" doc:"What widths on labels are written in."`
	Unfold   bool     `query:"unfold" doc:"Draw pieces on the fold whole, to cut in a single layer."`
	Unwashed bool     `query:"unwashed" doc:"Draw pieces larger by what their cloth shrinks, to cut it before it is washed."`
	Plain    bool     `query:"plain" doc:"Of a DXF: a plain drawing in mm whose layers have words, instead of a pattern after ASTM D6673."`
	Sheets   bool     `query:"sheets" doc:"Of an SVG: a small map of how the sheets of the paper lie over the pieces, each with its name, instead of the pieces."`
	AcrossMM float64  `query:"ruler_across_mm" doc:"What the ruler of 150 mm across a sheet printed on this printer measures, in mm; a PDF is corrected by it."`
	UpMM     float64  `query:"ruler_up_mm" doc:"The same for the ruler of 200 mm up the sheet."`
}

// exportTypes are the media types of the forms in which patterns are exported.
var exportTypes = map[string]string{
	"json": "application/json", "svg": "image/svg+xml", "pdf": "application/pdf", "dxf": "image/vnd.dxf", "png": "image/png",
}

// export is the same as a program says it.
func (in *exportInput) export() (api.Export, error) {
	e := api.Export{
		Format: in.Format, Paper: in.Paper, Tiles: in.Tiles, Unit: in.Unit, Unfold: in.Unfold, Unwashed: in.Unwashed, Plain: in.Plain, Sheets: in.Sheets,
		Print: api.Print{AcrossMM: in.AcrossMM, UpMM: in.UpMM},
	}
	return e, inQuery(drawing.Check(e))
}

// exportPiece draws the piece while it is waited for: one takes a moment.
func (s *service) exportPiece(ctx context.Context, in *exportInput) (*huma.StreamResponse, error) {
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if in.Format == "json" {
		return s.traceOf(ctx, p)
	}
	g, err := s.Store.Garment(ctx, p.GarmentID)
	if err != nil {
		return nil, err
	}
	e, err := in.export()
	if err != nil {
		return nil, err
	}
	file, err := drawing.Draw(p.Name, api.Compose(g, []*api.Piece{p}), e)
	if err != nil {
		return nil, err
	}
	return download(exportTypes[in.Format], p.Name, in.Format, file), nil
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

// flattenMM is the chord error of outlines written as points, well below the
// 0.05 mm that the format promises.
const flattenMM = 0.02

// traceOf answers with the trace document of a piece.
func (s *service) traceOf(ctx context.Context, p *api.Piece) (*huma.StreamResponse, error) {
	photo := &api.Photo{}
	if p.PhotoID != "" {
		var err error
		if photo, err = s.Store.Photo(ctx, p.PhotoID); err != nil {
			return nil, err
		}
	}
	var b bytes.Buffer
	err := writeTrace(&b, p, photo)
	return download(exportTypes["json"], p.Name, "json", b.Bytes()), err
}

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
