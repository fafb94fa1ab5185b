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
	"slices"
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
	export := fileOp("/pieces/{id}/export", "export-piece", "A piece with its finishes at true size, as a file; json is a trace document of its outline",
		"application/json", "image/svg+xml", "application/pdf", "image/png")
	export.Responses["200"].Content["application/json"].Schema = h.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[vision.Trace](), true, "")
	route(s, h, export, s.exportPiece)
	route(s, h, fileOp("/garments/{id}/export", "export-garment", "All pieces of a garment with their finishes at true size, as one file; json is a garment file",
		"application/json", "image/svg+xml", "application/pdf", "image/png"), s.exportGarment)
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
	Format   string   `query:"format" required:"true" enum:"json,svg,pdf,png"`
	Paper    string   `query:"paper" maxLength:"40" default:"a4" doc:"Paper of a PDF: a4, letter, a3, tabloid, a2, a1, a0, one (a single page as large as needed), or a roll such as roll:914 or roll:36in."`
	Tiles    []string `query:"tiles" maxItems:"500" doc:"Only these sheets of a PDF, such as B2,C1."`
	Unit     string   `query:"unit" enum:"mm,cm,in" default:"mm" doc:"What widths on labels are written in."`
	Unfold   bool     `query:"unfold" doc:"Draw pieces on the fold whole, to cut in a single layer."`
	Unwashed bool     `query:"unwashed" doc:"Draw pieces larger by what their cloth shrinks, to cut it before it is washed."`
	AcrossMM float64  `query:"ruler_across_mm" doc:"What the ruler of 150 mm across a sheet printed on this printer measures, in mm; a PDF is corrected by it."`
	UpMM     float64  `query:"ruler_up_mm" doc:"The same for the ruler of 200 mm up the sheet."`
}

// exportTypes are the media types of the forms in which a piece is exported.
var exportTypes = map[string]string{
	"json": "application/json", "svg": "image/svg+xml", "pdf": "application/pdf", "png": "image/png",
}

// options says how it is printed. An empty part of tiles is none.
func (in *exportInput) options() (sheet.Options, error) {
	paper, err := sheet.PaperNamed(in.Paper)
	if err != nil {
		return sheet.Options{}, inQuery(api.Invalid("paper", capital(err.Error())+".", "Choose A4, Letter, A3, Tabloid, a larger sheet or a roll."))
	}
	print := api.Print{AcrossMM: in.AcrossMM, UpMM: in.UpMM}
	if err := print.Check(); err != nil {
		return sheet.Options{}, inQuery(err)
	}
	scale, _ := print.Scale()
	tiles := slices.DeleteFunc(slices.Clone(in.Tiles), func(t string) bool { return t == "" })
	return sheet.Options{Paper: paper, Tiles: tiles, PrintScale: scale}, nil
}

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
	return s.export(in, p.Name, api.Compose(g, []*api.Piece{p}))
}

func (s *service) exportGarment(ctx context.Context, in *exportInput) (*huma.StreamResponse, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if in.Format == "json" {
		data, err := fileOf(g, all)
		return download(exportTypes["json"], g.Name, "json", data), err
	}
	return s.export(in, g.Name, api.Compose(g, all))
}

// export drafts a garment and draws it. A piece that cannot be drafted is printed as it
// was traced and says so.
func (s *service) export(in *exportInput, title string, g pattern.Garment) (*huma.StreamResponse, error) {
	opt, err := in.options()
	if err != nil {
		return nil, err
	}
	r, err := review(g, draftInput{in.ID, in.Unit, in.Unfold, in.Unwashed}.options())
	if err != nil {
		return nil, err
	}
	pieces := printedPieces(g, r)
	var b bytes.Buffer
	switch in.Format {
	case "svg":
		err = sheet.SVG(&b, title, pieces, opt)
	case "pdf":
		err = sheet.PDF(&b, title, pieces, opt)
	case "png":
		err = sheet.PNG(&b, pieces, opt)
	}
	if err != nil {
		return nil, printError(err)
	}
	return download(exportTypes[in.Format], title, in.Format, b.Bytes()), nil
}

// printedPieces returns what is printed of each piece of a garment. The grain that the
// photo shows surely stands in where none was drawn.
func printedPieces(g pattern.Garment, r reviewed) []sheet.Piece {
	var out []sheet.Piece
	for i, p := range g.Pieces {
		d := r.drafts[i]
		if d.GrainDeg == nil && p.Grain != nil && p.Grain.Sure >= pattern.GrainSure {
			d.GrainDeg = &p.Grain.Deg
		}
		if d.Drawn() {
			out = append(out, sheet.Drafts(g, []pattern.Drafted{d})...)
			continue
		}
		out = append(out, sheet.Piece{
			Name: p.Name, Outline: p.Knots, Holes: p.Holes, GrainDeg: d.GrainDeg, UncertaintyMM: p.UncertaintyMM, Unsure: p.Unsure,
			Meaning: "Do not cut along this line yet: it is the outline as it was traced, without the finishes, which could not be drawn.",
		})
	}
	return out
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

// printError says in the person's words what keeps a piece from being printed.
func printError(err error) error {
	return &api.Error{
		Code: api.CodeInvalid, Message: fmt.Sprintf("This cannot be printed: %s.", strings.TrimPrefix(err.Error(), "sheet: ")),
		Remedy: "Check the outlines, or choose another paper or other sheets.",
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
