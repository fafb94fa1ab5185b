package rest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/api/drawing"
	"secondcut/geometry"
	"secondcut/geometry/derive"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

func (s *service) patternRoutes(h huma.API) {
	s.amendRoutes(h)
	route(s, h, op("GET", "/presets", "list-presets", "Usual finishes, each with its source", 200), listPresets)
	route(s, h, schemaOp(), garmentSchema)
	route(s, h, fileOp("/garments/{id}/file", "get-garment-file", "The garment as a garment file", "application/json"), s.garmentFile)
	imports := op("POST", "/garments/file", "import-garment-file", "Make a garment of a garment file", 201, 400, 422)
	imports.MaxBodyBytes, imports.SkipValidateBody = fileLimit, true // the reader of the file says more
	imports.RequestBody = &huma.RequestBody{}
	route(s, h, imports, s.importFile)
	imports.RequestBody.Content = map[string]*huma.MediaType{ // the framework would call it bytes
		"application/json": {Schema: &huma.Schema{Type: huma.TypeObject, Description: "A garment file; its schema is at /schema/garment."}},
	}
	route(s, h, op("GET", "/garments/{id}/draft", "draft-garment", "All pieces with their finishes applied, in their piece frames", 200, 404, 422), s.draftGarment)
	route(s, h, op("GET", "/garments/{id}/check", "check-garment", "What gets sewn together, measured along the stitch lines", 200, 404, 422), s.checkGarment)
	route(s, h, op("GET", "/pieces/{id}/draft", "draft-piece", "A piece with its finishes applied, in its piece frame", 200, 404, 422), s.draftPiece)
	route(s, h, op("POST", "/pieces/{id}/draft", "draft-edit", "The same of an edit that is not saved", 200, 400, 404, 422), s.draftEdit)
}

// fileLimit is the largest garment file in bytes: some hundred pieces of thousands of
// knots, with photos of their cloths.
const fileLimit = 32 << 20

type presetList struct {
	Body struct {
		Items []pattern.Preset `json:"items" nullable:"false"`
	}
}

func listPresets(context.Context, *struct{}) (*presetList, error) {
	out := &presetList{}
	out.Body.Items = pattern.Presets()
	return out, nil
}

func schemaOp() huma.Operation {
	o := op("GET", "/schema/garment", "garment-schema", "The JSON Schema of the garment file", 200)
	o.Responses = map[string]*huma.Response{"200": {Description: "The schema", Content: map[string]*huma.MediaType{
		"application/schema+json": {Schema: &huma.Schema{Type: huma.TypeObject}},
	}}}
	return o
}

type schemaAnswer struct {
	ContentType string `header:"Content-Type"`
	Body        []byte
}

func garmentSchema(context.Context, *struct{}) (*schemaAnswer, error) {
	return &schemaAnswer{"application/schema+json", pattern.Schema()}, nil
}

func (s *service) garmentFile(ctx context.Context, in *byID) (*huma.StreamResponse, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	swatches, err := s.swatchesOf(ctx, g)
	if err != nil {
		return nil, err
	}
	data, err := fileOf(g, all, swatches)
	if err != nil {
		return nil, err
	}
	return download("application/json", g.Name, "json", data), nil
}

// fileOf writes a garment file. What refers to something that is gone is left out; a
// piece that a file cannot hold is an error, since a file without it would pass for
// all of the garment.
func fileOf(g *api.Garment, all []*api.Piece, swatches pattern.Swatches) ([]byte, error) {
	sound, findings := pattern.Sound(api.Compose(g, all))
	sound.Swatches = swatches
	for _, f := range findings {
		if f.Code == pattern.CodePieceInvalid {
			return nil, api.Invalid("", f.Message, "Correct its outline in the editor.")
		}
	}
	var b bytes.Buffer
	err := pattern.Write(&b, sound)
	return b.Bytes(), err
}

func (s *service) importFile(ctx context.Context, in *struct {
	Key     string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	RawBody []byte `contentType:"application/json"`
},
) (*garmentAnswer, error) {
	g, err := pattern.Read(bytes.NewReader(in.RawBody))
	if err != nil {
		return nil, fileError(err)
	}
	if g, err = s.ownSwatches(ctx, g); err != nil {
		return nil, err
	}
	n, err := api.FromFile(g)
	if err != nil {
		return nil, err
	}
	return answerGarment(s.Store.ImportGarment(ctx, n, creationKey(in.Key, "POST /garments/file", string(in.RawBody))))
}

// fileError says why a garment file cannot be taken in.
func fileError(err error) error {
	const remedy = "Choose a file that was downloaded here or written by the secondcut command."
	switch bad, named := errors.AsType[*pattern.FieldError](err); {
	case named:
		return api.Invalid(bad.Field, fmt.Sprintf("In the garment file, %s %s.", bad.Field, strings.TrimSuffix(bad.Text, ".")), "Correct the file, or write it again.")
	case errors.Is(err, pattern.ErrVersion):
		return api.Invalid("format", capital(err.Error())+".", "Read it with a newer program.")
	case errors.Is(err, pattern.ErrNotGarment), errors.Is(err, pattern.ErrInvalid):
		return api.Invalid("", capital(err.Error())+".", remedy)
	}
	return err
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// draftInput says what is drafted, and how.
type draftInput struct {
	ID       string `path:"id" maxLength:"64"`
	Unit     string `query:"unit" enum:"mm,cm,in" default:"mm" doc:"What widths on labels are written in; all other lengths are mm."`
	Unfold   bool   `query:"unfold" doc:"Draw pieces on the fold whole, to cut in a single layer."`
	Unwashed bool   `query:"unwashed" doc:"Draw pieces larger by what their cloth shrinks, to cut it before it is washed."`
}

func (d draftInput) options() pattern.Options {
	return pattern.Options{Unit: measure.Unit(d.Unit), Unfold: d.Unfold, Unwashed: d.Unwashed}
}

type editInput struct {
	ID       string `path:"id" maxLength:"64"`
	Unit     string `query:"unit" enum:"mm,cm,in" default:"mm" doc:"What widths on labels are written in; all other lengths are mm."`
	Unfold   bool   `query:"unfold" doc:"Draw pieces on the fold whole, to cut in a single layer."`
	Unwashed bool   `query:"unwashed" doc:"Draw pieces larger by what their cloth shrinks, to cut it before it is washed."`
	Body     api.PieceEdit
}

type garmentDraft struct {
	Body struct {
		Format   string             `json:"format" doc:"As in the file that the secondcut command writes."`
		Name     string             `json:"name"`
		Pieces   []pattern.Drafted  `json:"pieces" nullable:"false" doc:"One that cannot be drawn has no lines, and findings that say why."`
		Findings []geometry.Finding `json:"findings" nullable:"false"`
	}
}

func (s *service) draftGarment(ctx context.Context, in *draftInput) (*garmentDraft, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	out := &garmentDraft{}
	out.Body.Format, out.Body.Name = pattern.DraftFormat, g.Name
	r, err := review(api.Compose(g, all), in.options())
	out.Body.Pieces, out.Body.Findings = r.Drafts, r.Lost
	return out, err
}

type checkAnswer struct{ Body pattern.Report }

func (s *service) checkGarment(ctx context.Context, in *byID) (*checkAnswer, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	r, err := review(api.Compose(g, all), pattern.Options{})
	if err != nil {
		return nil, err
	}
	r.Report.Findings = append(append([]geometry.Finding{}, r.Lost...), r.Report.Findings...) // a list, also where it is empty
	r.Report.Findings = append(r.Report.Findings, derive.Stale(api.Compose(g, all))...)
	return &checkAnswer{r.Report}, nil
}

// review reviews a garment, with its errors in the person's words.
func review(g pattern.Garment, opt pattern.Options) (drawing.Reviewed, error) {
	r, err := drawing.Review(g, opt)
	if err != nil {
		return r, fileError(err)
	}
	return r, nil
}

// pieceDraft is a drafted piece with the map that takes the outline's frame to its.
type pieceDraft struct {
	pattern.Drafted
	PlaneToPiece geometry.Rigid `json:"plane_to_piece"`
}

type pieceDraftAnswer struct{ Body pieceDraft }

func (s *service) draftPiece(ctx context.Context, in *draftInput) (*pieceDraftAnswer, error) {
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	return s.drafted(ctx, p, in.options(), nil)
}

func (s *service) draftEdit(ctx context.Context, in *editInput) (*pieceDraftAnswer, error) {
	edit, err := in.Body.Check()
	if err != nil {
		return nil, err
	}
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	now, findings, err := p.Edited(edit)
	if err != nil {
		return nil, err
	}
	return s.drafted(ctx, &now, draftInput{in.ID, in.Unit, in.Unfold, in.Unwashed}.options(), findings)
}

// drafted drafts one piece of a garment. One that cannot be drawn is CodeInvalid with
// the field that keeps it from it.
func (s *service) drafted(ctx context.Context, p *api.Piece, opt pattern.Options, findings []geometry.Finding) (*pieceDraftAnswer, error) {
	g, err := s.Store.Garment(ctx, p.GarmentID)
	if err != nil {
		return nil, err
	}
	d, err := draftOne(api.Compose(g, []*api.Piece{p}), opt)
	if err != nil {
		return nil, err
	}
	d.Findings = append(findings, d.Findings...)
	return &pieceDraftAnswer{pieceDraft{d, p.PlaneToPiece}}, nil
}

// draftOne drafts the one piece of a garment.
func draftOne(g pattern.Garment, opt pattern.Options) (pattern.Drafted, error) {
	sound, lost := pattern.Sound(g)
	if len(sound.Pieces) == 0 {
		return pattern.Drafted{}, undrawn(lost[0])
	}
	all, err := pattern.DraftAll(sound, opt)
	if err != nil {
		return pattern.Drafted{}, fileError(err)
	}
	if !all[0].Drawn() {
		return all[0], undrawn(all[0].Findings[0])
	}
	return all[0], nil
}

// undrawn turns the finding that a piece cannot be drawn into an error.
func undrawn(f geometry.Finding) error {
	return api.Invalid(strings.TrimPrefix(f.Field, "pieces[0]."), f.Message, strings.TrimSuffix(f.Remedy, " The other pieces are drawn without it."))
}
