package api

import (
	"cmp"
	"errors"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// PieceParts are what makes a pattern piece of an outline. Edges refer to the piece's
// knots; marks lie in the piece frame, to which PlaneToPiece takes the plane frame of
// the photo.
type PieceParts struct {
	OutlineMeans pattern.Meaning  `json:"outline_means,omitempty" enum:"cut-edge,stitch-line" doc:"What the outline was on the old garment; absent is cut-edge."`
	Edges        []pattern.Edge   `json:"edges" nullable:"false"`
	LostEdges    []pattern.Edge   `json:"lost_edges,omitempty" nullable:"false" doc:"Edges that found no place when the outline changed; their knot means nothing."`
	Marks        []pattern.Mark   `json:"marks" nullable:"false"`
	Label        *pattern.Label   `json:"label,omitempty"`
	PlaneToPiece geometry.Rigid   `json:"plane_to_piece"`
	Derived      *pattern.Derived `json:"derived,omitempty" doc:"How the piece was made of others; absent for one that was traced."`
}

// FirstParts returns the parts of a piece that nobody has given any: turned to its
// grain where that is sure, an edge between each two corners.
func FirstParts(knots geometry.Path, grain *geometry.Grain) PieceParts {
	toPiece := pattern.Place(knots, grain)
	return PieceParts{Edges: pattern.NewEdges(knots.Map(toPiece.Apply)), Marks: []pattern.Mark{}, PlaneToPiece: toPiece}
}

// GarmentParts are what makes a pattern of pieces.
type GarmentParts struct {
	SeamPairs      []pattern.SeamPair  `json:"seam_pairs" nullable:"false"`
	CurvePairs     []pattern.CurvePair `json:"curve_pairs" nullable:"false"`
	Cloths         []pattern.Cloth     `json:"cloths" nullable:"false"`
	Measures       []pattern.Measure   `json:"measures" nullable:"false"`
	SizeWorn       string              `json:"size_worn" doc:"The size on the label of the old garment."`
	SizeMeasured   string              `json:"size_measured" doc:"The size that was measured on it."`
	Date           string              `json:"date" doc:"Of the pattern, YYYY-MM-DD."`
	PatternVersion string              `json:"pattern_version" doc:"As people count versions of a pattern."`
	Notes          string              `json:"notes"`
	Lays           []Lay               `json:"lays" nullable:"false" doc:"How the pieces lie on the cloths, as it was last left."`
	Tags           []string            `json:"tags" nullable:"false" doc:"Words by which it is found again."`
	Origin         *Origin             `json:"origin,omitempty" doc:"The garment that this one is a remake of."`
}

// Origin is the garment that another one was made after, which may be gone by now.
type Origin struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// NoParts returns the parts of a garment that nobody has given any.
func NoParts() GarmentParts { return GarmentParts{}.listed() }

// listed makes empty lists of nil ones.
func (p GarmentParts) listed() GarmentParts {
	p.SeamPairs, p.CurvePairs = append([]pattern.SeamPair{}, p.SeamPairs...), append([]pattern.CurvePair{}, p.CurvePairs...)
	p.Cloths, p.Measures = append([]pattern.Cloth{}, p.Cloths...), append([]pattern.Measure{}, p.Measures...)
	p.Lays, p.Tags = append([]Lay{}, p.Lays...), append([]string{}, p.Tags...)
	return p
}

// GarmentEdit is what a person may change of a garment; what is left out stays, an
// empty list clears.
type GarmentEdit struct {
	Name           *string             `json:"name,omitempty" maxLength:"1000" doc:"What the person calls the garment."`
	SeamPairs      []pattern.SeamPair  `json:"seam_pairs,omitempty" nullable:"false"`
	CurvePairs     []pattern.CurvePair `json:"curve_pairs,omitempty" nullable:"false"`
	Cloths         []pattern.Cloth     `json:"cloths,omitempty" nullable:"false"`
	Measures       []pattern.Measure   `json:"measures,omitempty" nullable:"false"`
	SizeWorn       *string             `json:"size_worn,omitempty"`
	SizeMeasured   *string             `json:"size_measured,omitempty"`
	Date           *string             `json:"date,omitempty"`
	PatternVersion *string             `json:"pattern_version,omitempty"`
	Notes          *string             `json:"notes,omitempty"`
	Lays           []Lay               `json:"lays,omitempty" nullable:"false" maxItems:"20"`
	Tags           []string            `json:"tags,omitempty" nullable:"false" maxItems:"20"`
}

// Edited returns the garment with an edit applied, or CodeInvalid with the field that
// cannot be accepted. pieces are those of the garment. What was there before and
// refers to a piece or edge that is gone may stay.
func (g Garment) Edited(e GarmentEdit, pieces []*Piece) (Garment, error) {
	before := compose(g, pieces)
	if e.Name != nil {
		name, err := CleanName(*e.Name)
		if err != nil {
			return g, err
		}
		g.Name = name
	}
	replace(&g.SeamPairs, e.SeamPairs)
	replace(&g.CurvePairs, e.CurvePairs)
	replace(&g.Cloths, e.Cloths)
	replace(&g.Measures, e.Measures)
	if err := checkLays(e.Lays); err != nil {
		return g, err
	}
	replace(&g.Lays, e.Lays)
	if e.Tags != nil {
		tags, err := cleanTags(e.Tags)
		if err != nil {
			return g, err
		}
		g.Tags = tags
	}
	for at, v := range map[*string]*string{
		&g.SizeWorn: e.SizeWorn, &g.SizeMeasured: e.SizeMeasured, &g.Date: e.Date, &g.PatternVersion: e.PatternVersion, &g.Notes: e.Notes,
	} {
		if v != nil {
			*at = strings.TrimSpace(*v)
		}
	}
	return g, invalidPart(compose(g, pieces).ValidateParts(before))
}

func replace[T any](at *[]T, by []T) {
	if by != nil {
		*at = by
	}
}

// Edited returns the piece with an edit applied that Check has passed, and what that
// means for its edges and marks: a new outline without new edges takes them over. It
// answers CodeInvalid with the field that cannot be accepted.
func (p Piece) Edited(e PieceEdit) (Piece, []geometry.Finding, error) {
	now := p
	now.Name, now.Holes, now.Strokes = e.Name, append([]geometry.Path{}, e.Holes...), append([]Stroke{}, e.Strokes...)
	now.UncertaintyMM = *cmp.Or(e.UncertaintyMM, &now.UncertaintyMM)
	now.FrayMM = *cmp.Or(e.FrayMM, &now.FrayMM)
	replace(&now.Unsure, e.Unsure)
	turned := e.Grain != nil && (p.Grain == nil || *p.Grain != *e.Grain)
	now.Grain = cmp.Or(e.Grain, p.Grain)
	if e.UncertaintyMM != nil { // a new tracing, which may have seen no grain
		now.Grain = e.Grain
	}
	findings, err := now.takeOver(p, e)
	if err != nil {
		return p, nil, err
	}
	if turned && len(now.Marks) == 0 { // nothing lies in the old frame
		now.PlaneToPiece = pattern.Place(now.Knots, now.Grain)
		if p.Untouched && e.Edges == nil {
			now.PieceParts = FirstParts(now.Knots, now.Grain)
		}
	}
	now.Untouched = false
	if e.Edges != nil {
		replace(&now.Marks, e.Marks)
		now.PlaneToPiece = *cmp.Or(e.PlaneToPiece, &now.PlaneToPiece)
	}
	now.Derived = cmp.Or(e.Derived, now.Derived)
	now.Label = cmp.Or(e.Label, now.Label)
	now.OutlineMeans = cmp.Or(e.OutlineMeans, now.OutlineMeans)
	return now, findings, invalidPart(pattern.Piece{
		Knots: now.Knots, OutlineMeans: now.OutlineMeans, Edges: now.Edges, LostEdges: now.LostEdges, Marks: now.Marks, Label: now.Label, Derived: now.Derived,
	}.ValidateParts())
}

// Retraced returns the parts of the piece on the outline that a new tracing of its
// photo found, perhaps in a plane of another scale.
func (p Piece) Retraced(knots geometry.Path) PieceParts {
	now := p
	before := pattern.Piece{ID: p.ID, Name: p.Name, Knots: p.Knots, Edges: p.Edges, LostEdges: p.LostEdges, Marks: p.Marks}
	after, _ := before.CarryOver(knots) // what was lost stands with the piece
	now.Edges, now.LostEdges, now.Marks = after.Edges, after.LostEdges, after.Marks
	return now.PieceParts
}

// takeOver gives the piece the outline of an edit, with its edges or those it had.
// Marks of an edit without edges hang on the edges as they were.
func (p *Piece) takeOver(was Piece, e PieceEdit) ([]geometry.Finding, error) {
	before := pattern.Piece{ID: was.ID, Name: e.Name, Knots: was.Knots, Edges: was.Edges, LostEdges: was.LostEdges, Marks: was.Marks}
	var after pattern.Piece
	var findings []geometry.Finding
	if e.Edges == nil {
		replace(&before.Marks, e.Marks)
		if err := invalidPart(before.ValidateParts()); err != nil {
			return nil, err
		}
		after, findings = before.CarryOver(e.Knots)
	} else {
		// What is wrong with it is found when all of the edit is applied.
		after, findings, _ = before.Refit(e.Knots, e.Edges)
	}
	p.Knots, p.Edges, p.LostEdges = after.Knots, after.Edges, after.LostEdges
	p.Marks = append([]pattern.Mark{}, after.Marks...)
	return findings, nil
}

// invalidPart turns an error of package pattern into CodeInvalid.
func invalidPart(err error) error {
	if err == nil {
		return nil
	}
	if bad, ok := errors.AsType[*pattern.FieldError](err); ok {
		return Invalid(patternField(bad.Field), bad.Field+" "+bad.Text+".", "Correct it, or leave it out.")
	}
	return Invalid("", "The pattern cannot be accepted: "+err.Error()+".", "Correct it.")
}

// patternField gives a field of the garment file the name that it has here.
func patternField(field string) string {
	if field == "version" {
		return "pattern_version"
	}
	return field
}
