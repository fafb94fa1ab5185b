package api

import (
	"errors"
	"math"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/derive"
	"secondcut/geometry/pattern"
)

// Amended returns the piece with a change, whose points lie in the frame of the outline,
// and what became of edges and marks. It answers CodeInvalid where the change cannot be
// made.
func (p Piece) Amended(op amend.Op) (Piece, []geometry.Finding, error) {
	now, findings, err := amend.Apply(p.Pattern(), op.Mapped(p.PlaneToPiece.Apply))
	if err != nil {
		return p, nil, cannot(err, "op")
	}
	return p.as(now), findings, nil
}

// as returns the piece with what a pattern piece in the piece frame has become.
func (p Piece) as(now pattern.Piece) Piece {
	back := now.PlaneToPiece.Inverse()
	out := p
	out.Knots = now.Knots.Map(back.Apply)
	out.Holes = []geometry.Path{}
	for _, h := range now.Holes {
		out.Holes = append(out.Holes, h.Map(back.Apply))
	}
	out.Unsure = []geometry.Stretch{}
	for _, s := range now.Unsure {
		s.From, s.To = back.Apply(s.From), back.Apply(s.To)
		out.Unsure = append(out.Unsure, s)
	}
	if now.Grain != nil {
		deg := math.Mod(now.Grain.Deg-now.PlaneToPiece.Turn*180/math.Pi, 180)
		if deg = math.Round(deg*1000) / 1000; deg < 0 {
			deg += 180
		}
		out.Grain = &geometry.Grain{Deg: math.Mod(deg, 180), Sure: now.Grain.Sure}
	}
	out.PieceParts = PieceParts{
		OutlineMeans: now.OutlineMeans, Edges: now.Edges, LostEdges: now.LostEdges, Marks: append([]pattern.Mark{}, now.Marks...),
		Label: now.Label, PlaneToPiece: now.PlaneToPiece, Derived: now.Derived,
	}
	out.Untouched = false
	return out
}

// Derive returns a new piece of a garment that is made of others; it has no photo. It
// answers CodeInvalid where it cannot be made.
func Derive(g *Garment, pieces []*Piece, d pattern.Derived) (Piece, []geometry.Finding, error) {
	sound, _ := pattern.Sound(Compose(g, pieces))
	made, findings, err := derive.Make(sound, d)
	if err != nil {
		return Piece{}, nil, cannot(err, "from")
	}
	p := Piece{GarmentID: g.ID, Name: made.Name, Strokes: []Stroke{}, Findings: findings}
	for _, of := range pieces {
		if of.ID == d.From[0].Piece {
			p.Face = of.Face
		}
	}
	return p.as(made), findings, nil
}

// Rederived returns a piece that is made of others, made anew of what those are now. It
// answers CodeInvalid where it is no such piece, or cannot be made.
func Rederived(g *Garment, pieces []*Piece, id string) (Piece, []geometry.Finding, error) {
	sound, _ := pattern.Sound(Compose(g, pieces))
	for _, p := range pieces {
		if p.ID != id {
			continue
		}
		made, findings, err := derive.Update(sound, id)
		if err != nil {
			return *p, nil, cannot(err, "from")
		}
		return p.as(made), findings, nil
	}
	return Piece{}, nil, NotFound("piece")
}

// Resize returns a garment in another size, with the pieces made of others made anew, and
// what that changes. It answers CodeInvalid where that cannot be.
func Resize(g pattern.Garment, wants []amend.Want) (pattern.Garment, amend.Resized, error) {
	now, report, err := amend.Resize(g, wants)
	if err != nil {
		return g, report, cannot(err, "wants")
	}
	for _, f := range derive.Stale(now) {
		for i, p := range now.Pieces {
			if p.ID != f.Piece {
				continue
			}
			made, findings, err := derive.Update(now, p.ID)
			if err != nil {
				report.Findings = append(report.Findings, f)
				continue
			}
			now.Pieces[i] = made
			report.Findings = append(report.Findings, findings...)
		}
	}
	return now, report, nil
}

// cannot puts an error of changing pieces into the person's words.
func cannot(err error, field string) error {
	if bad, ok := errors.AsType[*pattern.FieldError](err); ok && !errors.Is(err, derive.ErrRecipe) {
		return Invalid(patternField(bad.Field), bad.Field+" "+bad.Text+".", "Correct it.")
	}
	text := err.Error()
	for _, known := range []error{amend.ErrOp, amend.ErrLine, amend.ErrMuch, derive.ErrRecipe, derive.ErrRoom} {
		if errors.Is(err, known) {
			e := Invalid(field, strings.ToUpper(text[:1])+strings.TrimSuffix(text[1:], ".")+".", remedies[known])
			return e
		}
	}
	return err
}

// remedies say what to do about changes that cannot be made.
var remedies = map[error]string{
	amend.ErrOp:      "Say it anew.",
	amend.ErrLine:    "Lay the line elsewhere.",
	amend.ErrMuch:    "Take a smaller amount, or lay the line elsewhere.",
	derive.ErrRecipe: "Choose other edges or measures.",
	derive.ErrRoom:   "Take a smaller width, or another edge.",
}
