// Package drawing draws the pattern of a garment as a file, for the request that waits
// for it and for the job that is waited for.
package drawing

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/export/dxf"
	"secondcut/geometry/interchange"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
	"secondcut/vision"
)

// Check answers CodeInvalid with the field of an export that cannot be drawn on any
// garment.
func Check(e api.Export) error {
	opt, err := page(e)
	if err != nil {
		return err
	}
	return checkWork(e, opt)
}

// page says on what is drawn. An empty part of tiles is none.
func page(e api.Export) (sheet.Options, error) {
	paper, err := sheet.PaperNamed(e.Paper)
	if err != nil {
		return sheet.Options{}, api.Invalid("paper", capital(err.Error())+".", "Choose A4, Letter, A3, Tabloid, a larger sheet or a roll.")
	}
	if err := e.Print.Check(); err != nil {
		return sheet.Options{}, err
	}
	scale, _ := e.Print.Scale()
	tiles := slices.DeleteFunc(slices.Clone(e.Tiles), func(t string) bool { return t == "" })
	return sheet.Options{Paper: paper, Tiles: tiles, PrintScale: scale}, nil
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Draw drafts a garment and draws it. A piece that cannot be drafted is printed as it
// was traced and says so. What cannot be drawn is CodeInvalid.
func Draw(title string, g pattern.Garment, e api.Export) ([]byte, error) {
	opt, err := page(e)
	if err != nil {
		return nil, err
	}
	r, err := Review(g, pattern.Options{Unit: measure.Unit(e.Unit), Unfold: e.Unfold, Unwashed: e.Unwashed})
	if err != nil {
		return nil, unprintable(err)
	}
	pieces := printed(g, r)
	var b bytes.Buffer
	switch e.Format {
	case "svg":
		if e.Sheets {
			err = sheet.Map(&b, title, pieces, opt)
		} else {
			err = sheet.SVG(&b, title, pieces, opt)
		}
	case "pdf":
		err = sheet.PDF(&b, title, pieces, opt)
	case "png":
		err = sheet.PNG(&b, pieces, opt)
	case "dxf":
		if e.Plain {
			err = sheet.DXF(&b, pieces, opt)
		} else {
			err = dxf.Write(&b, interchange.FromDrafts(g, r.Drafts))
		}
	default:
		return nil, api.Invalid("format", fmt.Sprintf("%q is not drawn here.", e.Format), "Choose svg, pdf, dxf or png.")
	}
	if err != nil {
		return nil, unprintable(err)
	}
	return b.Bytes(), nil
}

// unprintable says in the person's words what keeps a garment from being drawn.
func unprintable(err error) error {
	return &api.Error{
		Code: api.CodeInvalid, Message: fmt.Sprintf("This cannot be printed: %s.", strings.TrimPrefix(strings.TrimPrefix(err.Error(), "sheet: "), "dxf: ")),
		Remedy: "Check the outlines, or choose another paper or other sheets.",
	}
}

// Source writes what [Drawer] draws of. The same garment gives the same bytes.
func Source(g pattern.Garment) ([]byte, error) { return json.Marshal(g) }

// Drawer draws in this process.
type Drawer struct{}

// Draw draws a source. What cannot be drawn is a *vision.Refusal.
func (Drawer) Draw(_ context.Context, source []byte, e api.Export) ([]byte, error) {
	file, err := drawSource(source, e)
	if bad, ok := errors.AsType[*api.Error](err); ok {
		return nil, vision.Refuse(vision.Code(bad.Code), bad.Message, bad.Remedy)
	}
	return file, err
}

func drawSource(source []byte, e api.Export) ([]byte, error) {
	if e.OfWork() {
		var w Work
		if err := json.Unmarshal(source, &w); err != nil {
			return nil, fmt.Errorf("drawing: %w", err)
		}
		return DrawWork(w, e)
	}
	var g pattern.Garment
	if err := json.Unmarshal(source, &g); err != nil {
		return nil, fmt.Errorf("drawing: %w", err)
	}
	return Draw(g.Name, g, e)
}

// Reviewed is what there is to say about a garment. Lost says what was left out, since
// it is broken or refers to what is gone.
type Reviewed struct {
	Drafts []pattern.Drafted // of all pieces, in their order
	Report pattern.Report
	Lost   []geometry.Finding
}

// Review drafts and checks what is sound in a garment. A piece that is not has a draft
// without lines. The error is that of pattern.Review.
func Review(g pattern.Garment, opt pattern.Options) (Reviewed, error) {
	sound, lost := pattern.Sound(g)
	r := Reviewed{Lost: append([]geometry.Finding{}, lost...), Report: pattern.Report{Seams: []pattern.SeamRow{}, Findings: []geometry.Finding{}}}
	drawn := map[string]pattern.Drafted{}
	if len(sound.Pieces) > 0 {
		drafts, report, err := pattern.Review(sound, opt)
		if err != nil {
			return r, err
		}
		r.Report = report
		for _, d := range drafts {
			drawn[d.ID] = d
		}
	}
	for _, p := range g.Pieces {
		d, ok := drawn[p.ID]
		if !ok {
			d = pattern.Drafted{ID: p.ID, Name: p.Name, StitchLine: geometry.Path{}, CutLine: geometry.Path{}, Edges: []pattern.DraftedEdge{}, Label: []string{}}
		}
		r.Drafts = append(r.Drafts, d)
	}
	return r, nil
}

// printed returns what is printed of each piece of a garment. The grain that the photo
// shows surely stands in where none was drawn.
func printed(g pattern.Garment, r Reviewed) []sheet.Piece {
	var out []sheet.Piece
	for i, p := range g.Pieces {
		d := r.Drafts[i]
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
