package api

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

// Compose returns a garment and its pieces as a garment file holds them. It is not
// validated: an outline that is no piece may be among them.
func Compose(g *Garment, pieces []*Piece) pattern.Garment { return compose(*g, pieces) }

func compose(g Garment, pieces []*Piece) pattern.Garment {
	out := pattern.Garment{
		Format: pattern.Format, Name: g.Name, SeamPairs: g.SeamPairs, CurvePairs: g.CurvePairs, Cloths: g.Cloths, Measures: g.Measures,
		SizeWorn: g.SizeWorn, SizeMeasured: g.SizeMeasured, Date: g.Date, Version: g.PatternVersion, Notes: g.Notes,
	}
	for _, p := range pieces {
		out.Pieces = append(out.Pieces, p.Pattern())
	}
	return out
}

// Pattern returns the piece as a garment file holds it, in the piece frame.
func (p Piece) Pattern() pattern.Piece {
	r := p.PlaneToPiece
	out := pattern.Piece{
		ID: p.ID, Name: p.Name, Knots: p.Knots.Map(r.Apply), OutlineMeans: p.OutlineMeans,
		Edges: p.Edges, LostEdges: p.LostEdges, Marks: p.Marks, Label: p.Label,
		Face: pattern.Face(p.Face), UncertaintyMM: p.UncertaintyMM, PlaneToPiece: r, Derived: p.Derived,
	}
	for _, h := range p.Holes {
		out.Holes = append(out.Holes, h.Map(r.Apply))
	}
	for _, s := range p.Unsure {
		s.From, s.To = r.Apply(s.From), r.Apply(s.To)
		out.Unsure = append(out.Unsure, s)
	}
	if p.Grain != nil {
		deg := math.Mod(p.Grain.Deg+r.Turn*180/math.Pi, 180)
		deg = math.Round(deg*1000) / 1000
		if deg < 0 {
			deg += 180
		}
		out.Grain = &geometry.Grain{Deg: math.Mod(deg, 180), Sure: p.Grain.Sure}
	}
	return out
}

// NewGarment is a garment to be made from a file, with pieces that have no photo.
// The pieces' ids are those of the file, to which the parts refer.
type NewGarment struct {
	Name   string
	Parts  GarmentParts
	Pieces []Piece
	// Swatches are the photos of its cloths.
	Swatches pattern.Swatches
}

// FromFile returns what is made of a garment file. The file's piece frames become
// plane frames, since the photos that its maps lead to are not there. It answers
// CodeInvalid when the garment has more than this service keeps.
func FromFile(g pattern.Garment) (NewGarment, error) {
	name, err := CleanName(g.Name)
	if err != nil {
		return NewGarment{}, err
	}
	there := map[string]string{}
	for name := range g.Swatches {
		there[name] = name
	}
	out := NewGarment{Name: name, Swatches: g.Swatches, Parts: GarmentParts{
		SeamPairs: g.SeamPairs, CurvePairs: g.CurvePairs, Cloths: pattern.RenamedSwatches(g.Cloths, there), Measures: g.Measures,
		SizeWorn: g.SizeWorn, SizeMeasured: g.SizeMeasured, Date: g.Date, PatternVersion: g.Version, Notes: g.Notes,
	}.listed()}
	for _, p := range g.Pieces {
		edit, err := PieceEdit{Name: p.Name, Knots: p.Knots, Holes: p.Holes}.Check()
		if err != nil {
			return NewGarment{}, err
		}
		out.Pieces = append(out.Pieces, Piece{
			ID: p.ID, Name: edit.Name, Face: Face(p.Face), Knots: p.Knots, Holes: append([]geometry.Path{}, p.Holes...),
			UncertaintyMM: p.UncertaintyMM, Unsure: append([]geometry.Stretch{}, p.Unsure...), Grain: p.Grain, Strokes: []Stroke{},
			PieceParts: PieceParts{
				OutlineMeans: p.OutlineMeans, Edges: p.Edges, LostEdges: p.LostEdges, Marks: append([]pattern.Mark{}, p.Marks...), Label: p.Label, Derived: p.Derived,
			},
		})
	}
	return out, nil
}

// Remake returns a garment of another name after a garment and its pieces, with a link to
// it and the photos of its cloths, in another size where measures are wanted. Its own
// photos and layouts stay behind. It answers CodeInvalid where that size cannot be.
func Remake(g *Garment, pieces []*Piece, swatches pattern.Swatches, name string, wants []amend.Want) (NewGarment, error) {
	file := Compose(g, pieces)
	if len(wants) > 0 {
		var err error
		if file, _, err = Resize(file, wants); err != nil {
			return NewGarment{}, err
		}
	}
	file.Name, file.Swatches = name, swatches
	out, err := FromFile(file)
	out.Parts.Tags, out.Parts.Origin = append(out.Parts.Tags, g.Tags...), &Origin{ID: g.ID, Name: g.Name}
	return out, err
}

// Renamed returns the parts with the ids of pieces replaced; an id that is not in the
// table stays.
func (p GarmentParts) Renamed(id map[string]string) GarmentParts {
	swap := func(at *string) {
		if now, ok := id[*at]; ok {
			*at = now
		}
	}
	p = p.listed()
	runs := func(side []pattern.Run) []pattern.Run {
		out := append([]pattern.Run{}, side...)
		for i := range out {
			swap(&out[i].Piece)
		}
		return out
	}
	for i := range p.SeamPairs {
		s := &p.SeamPairs[i]
		s.A, s.B = runs(s.A), runs(s.B)
	}
	for i := range p.CurvePairs {
		swap(&p.CurvePairs[i].A.Piece)
		swap(&p.CurvePairs[i].B.Piece)
	}
	for i := range p.Measures {
		m := &p.Measures[i]
		m.Parts = append([]pattern.Part{}, m.Parts...)
		for j := range m.Parts {
			swap(&m.Parts[j].Piece)
		}
	}
	for i := range p.Lays {
		p.Lays[i] = p.Lays[i].renamed(id)
	}
	return p
}
