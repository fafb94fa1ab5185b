package rest

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

func (s *service) layRoutes(h huma.API) {
	route(s, h, op("GET", "/garments/{id}/lay", "get-lay", "The pieces that are cut from a cloth, and how they lie on it as it was last left", 200, 404, 422), s.getLay)
	route(s, h, op("POST", "/garments/{id}/lay/check", "check-lay", "What is wrong with where pieces were put by hand, and what it takes; nothing is kept", 200, 400, 404, 422), s.checkLay)
	route(s, h, fileOp("/garments/{id}/lay/export", "export-lay", "The layout as it was last left, as a file; svg and pdf are drawings to scale",
		"application/json", "image/svg+xml", "application/pdf"), s.exportLay)
	s.layingRoutes(h)
	s.makingRoutes(h)
}

// usualWidthMM stands in for a cloth whose width is not known yet: common for cloth to
// sew clothes of.
const usualWidthMM = 1400

// OnCloth says which of a garment's cloths is laid on. It is exported for the framework,
// which looks into embedded fields that are.
type OnCloth struct {
	ID    string `path:"id" maxLength:"64"`
	Cloth string `query:"cloth" maxLength:"200" doc:"The id of the cloth; left out for the main one."`
	Unit  string `query:"unit" enum:"mm,cm,in" default:"cm" doc:"What shops sell: steps of 10 cm, or of 1/8 yard for in."`
}

// laying is what there is to lay of a garment on one cloth, with its layout as it was
// last left.
type laying struct {
	task    lay.Task
	garment pattern.Garment
	kept    []lay.Laid
	unit    measure.Unit
}

// layingOf reads a garment and makes the task. What cannot be drawn is left out and
// stands in the findings.
func (s *service) layingOf(ctx context.Context, in OnCloth) (laying, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return laying{}, err
	}
	sound, lost := pattern.Sound(api.Compose(g, all))
	cloth, known := lay.ClothOf(sound, in.Cloth)
	if !known && in.Cloth != "" {
		return laying{}, inQuery(api.Invalid("cloth", "The garment has no such cloth.", "Choose one of its cloths."))
	}
	cloth.WidthMM = cmp.Or(cloth.WidthMM, usualWidthMM)
	if in.Unit == "in" {
		cloth.StepMM = lay.YardStepMM
	}
	task, err := lay.NewTask(sound, in.Cloth, cloth)
	if err != nil {
		return laying{}, layError(err)
	}
	task.Findings = append(lost, task.Findings...)
	out := laying{task: task, garment: sound, unit: measure.Unit(in.Unit)}
	// The main cloth may go by its id or without.
	main := func(id string) string {
		if i := slices.IndexFunc(sound.Cloths, func(c pattern.Cloth) bool { return c.Use == pattern.ClothMain }); i >= 0 && sound.Cloths[i].ID == id {
			return ""
		}
		return id
	}
	for _, l := range g.Lays {
		if main(l.Cloth) == main(in.Cloth) {
			out.kept = l.Pieces
		}
	}
	return out, nil
}

// layError says in the person's words why pieces cannot be laid.
func layError(err error) error {
	say := func(message, remedy string) error {
		return &api.Error{Code: api.CodeInvalid, Message: message, Remedy: remedy}
	}
	switch {
	case errors.Is(err, lay.ErrTooLong):
		return say("The pieces do not fit on the cloth that there is.", "Look longer, keep less room between the pieces, take a wider cloth or buy more of it.")
	case errors.Is(err, lay.ErrFixed):
		return say("A piece that was pinned is not cut from this cloth any more.", "Take the pins out and lay all pieces again.")
	case errors.Is(err, lay.ErrInstance) && !errors.Is(err, lay.ErrOutline):
		return say("No piece is cut from this cloth.", "Say on the pieces' labels which cloth they are cut from, or choose another cloth.")
	case errors.Is(err, lay.ErrCloth), errors.Is(err, lay.ErrOutline):
		return say(capital(err.Error())+".", "Correct what is said of the cloth.")
	}
	return fileError(err)
}

// nestError is layError for what a search met, naming the piece that is too wide.
func (l laying) nestError(err error) error {
	if !errors.Is(err, lay.ErrTooWide) {
		return layError(err)
	}
	message := "A piece is wider than the cloth as it lies."
	for _, s := range shapes(l.task) {
		across := math.Inf(1)
		for _, t := range s.Turns {
			lo, hi := s.Outline.Map(lay.Placement{RotationDeg: t.RotationDeg, Mirrored: t.Mirrored}.Apply).Bounds()
			across = min(across, hi.Y-lo.Y)
		}
		if across > l.task.Instance.WidthMM {
			message = fmt.Sprintf("%s measures %s across, but the cloth as it lies is only %s wide.",
				s.Name, measure.Format(across, l.unit), measure.Format(l.task.Instance.WidthMM, l.unit))
			break
		}
	}
	return api.Invalid("", message, capital(l.task.Cloth.WayOut())+".")
}

// layShape is a piece as it is laid: what a page needs to draw and to move it.
type layShape struct {
	ID     string `json:"id" doc:"What the pieces of a plan are called that have this shape."`
	Piece  string `json:"piece"`
	Name   string `json:"name"`
	Layers int    `json:"layers"`
	AtFold bool   `json:"at_fold,omitempty"`
	Count  int    `json:"count" doc:"How many are laid."`
	// Outline is the cut line in the piece frame.
	Outline geometry.Polyline `json:"outline_mm"`
	TopDeg  float64           `json:"top_deg" doc:"Where its top lies in the piece frame, along the grain: degrees counter-clockwise from +x."`
	Turns   []layTurn         `json:"turns" doc:"How it may lie."`
}

// layTurn is a way in which a piece may lie.
type layTurn struct {
	RotationDeg float64 `json:"rotation_deg"`
	Mirrored    bool    `json:"mirrored"`
}

// shapes returns the shapes of all pieces of a task.
func shapes(t lay.Task) []layShape {
	out := []layShape{}
	for _, p := range t.Instance.Pieces {
		outline, ok := t.Outline(p.ID)
		if !ok || len(p.TurnsDeg) == 0 {
			continue
		}
		home := t.Plan(lay.Layout{Placements: []lay.Placement{{ID: p.ID, RotationDeg: p.TurnsDeg[0]}}}).Pieces[0]
		s := layShape{
			ID: p.ID, Piece: home.Piece, Name: home.Name, Layers: home.Layers, AtFold: home.AtFold, Count: p.Count,
			Outline: outline.Map(rounded), TopDeg: -home.RotationDeg, Turns: turnsOf(t, p),
		}
		if home.Mirrored { // x to -x turns a direction a into 180 - a
			s.TopDeg = 180 + home.RotationDeg
		}
		out = append(out, s)
	}
	return out
}

// turnsOf returns the ways in which a piece may lie, but for those that are only a little
// off the grain.
func turnsOf(t lay.Task, p lay.Piece) []layTurn {
	out := []layTurn{}
	for _, over := range []bool{false, true} {
		if !p.AnyFace && (over && p.Mirrored == 0 || !over && p.Mirrored == p.Count) {
			continue
		}
		for _, deg := range p.TurnsDeg {
			if math.Abs(math.Remainder(deg-p.TurnsDeg[0], 90)) > 0.001 {
				continue
			}
			if over && p.AtFold {
				deg += 180
			}
			l := t.Plan(lay.Layout{Placements: []lay.Placement{{ID: p.ID, RotationDeg: deg, Mirrored: over}}}).Pieces[0]
			out = append(out, layTurn{l.RotationDeg, l.Mirrored})
		}
	}
	return out
}

func rounded(q geometry.Point) geometry.Point {
	return geometry.Point{X: math.Round(q.X*100) / 100, Y: math.Round(q.Y*100) / 100}
}

// layView is a layout with what is wrong with it.
type layView struct {
	Shapes   []layShape    `json:"shapes,omitempty" nullable:"false" doc:"The pieces that are laid; left out in the answer to a check."`
	Plan     lay.Plan      `json:"plan" doc:"Without pieces as long as none was laid."`
	Troubles []lay.Trouble `json:"troubles" nullable:"false" doc:"What has to be changed before it can be cut."`
}

type layAnswer struct{ Body layView }

func (l laying) view(pieces []lay.Laid) layView {
	v := layView{Plan: l.task.Placed(pieces), Troubles: []lay.Trouble{}}
	v.Plan.Pieces = append([]lay.Laid{}, v.Plan.Pieces...)
	if len(pieces) > 0 {
		v.Troubles = append(v.Troubles, l.task.Check(pieces)...)
	}
	return v
}

func (s *service) getLay(ctx context.Context, in *OnCloth) (*layAnswer, error) {
	l, err := s.layingOf(ctx, *in)
	if err != nil {
		return nil, err
	}
	v := l.view(l.kept)
	v.Shapes = shapes(l.task)
	return &layAnswer{v}, nil
}

func (s *service) checkLay(ctx context.Context, in *struct {
	OnCloth
	Body struct {
		Pieces []lay.Laid `json:"pieces" nullable:"false" maxItems:"2000"`
	}
},
) (*layAnswer, error) {
	if err := api.CheckLaid(in.Body.Pieces); err != nil {
		return nil, err
	}
	l, err := s.layingOf(ctx, in.OnCloth)
	if err != nil {
		return nil, err
	}
	return &layAnswer{l.view(in.Body.Pieces)}, nil
}

type layExport struct {
	OnCloth
	Format string `query:"format" required:"true" enum:"json,svg,pdf"`
	Size   string `query:"size" enum:"tenth,full" default:"tenth" doc:"A tenth of true size, or true size for a roll of paper."`
}

func (s *service) exportLay(ctx context.Context, in *layExport) (*huma.StreamResponse, error) {
	l, err := s.layingOf(ctx, in.OnCloth)
	if err != nil {
		return nil, err
	}
	if len(l.kept) == 0 {
		return nil, &api.Error{Code: api.CodeNotReady, Message: "Nothing has been laid on this cloth yet.", Remedy: "Lay the pieces first."}
	}
	if bad := l.task.Check(l.kept); len(bad) > 0 {
		return nil, api.Invalid("", "The layout cannot be cut as it is: "+bad[0].Message, cmp.Or(bad[0].Remedy, "Correct it, or lay the pieces again."))
	}
	plan, title := l.task.Placed(l.kept), l.garment.Name+" layout"
	var b bytes.Buffer
	if in.Format == "json" {
		e := json.NewEncoder(&b)
		e.SetIndent("", " ")
		err := e.Encode(plan)
		return download(exportTypes["json"], title, "json", b.Bytes()), err
	}
	page, err := lay.Draw(l.garment, plan, map[string]float64{"tenth": 0.1, "full": 1}[in.Size])
	if err != nil {
		return nil, fileError(err)
	}
	if in.Format == "svg" {
		err = export.WriteSVG(&b, title, page)
	} else {
		err = export.WritePDF(&b, export.Drawing{Title: title, Pages: sheet.Lengths(page)})
	}
	return download(exportTypes[in.Format], title, in.Format, b.Bytes()), err
}
