package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// GrainSure is the certainty from which a suggested grain turns a new piece. A
// judgement, tuned on nothing: a piece turned wrongly is worse than one left as
// it lay.
const GrainSure = 0.6

// CodeGrain is the code of the finding that a piece was not turned to its grain.
const CodeGrain = "grain-unsure"

// Traced is an outline as it comes from a photo, in the plane frame (mm, y up).
type Traced struct {
	// Outline runs counter-clockwise, Holes clockwise.
	Outline geometry.Path
	Holes   []geometry.Path
	// UncertaintyMM, Unsure and Grain are as in [Piece], but in the plane frame.
	UncertaintyMM float64
	Unsure        []geometry.Stretch
	Grain         *geometry.Grain
}

// NewPiece returns a traced outline as a piece: turned so that the grain runs
// along +y when it is at least GrainSure certain, else left as it lay, which the
// finding says; the outline's lower left bounds at the origin; an edge between
// each two corners, named by where it lies. It fails with ErrInvalid when the
// outline cannot be a piece.
func NewPiece(id, name string, t Traced) (Piece, []geometry.Finding, error) {
	if err := checkRings("", t.Outline, t.Holes); err != nil {
		return Piece{}, nil, err
	}
	var findings []geometry.Finding
	switch {
	case t.Grain == nil:
		findings = append(findings, grainFinding(name, "the grain could not be seen"))
	case t.Grain.Sure < GrainSure:
		findings = append(findings, grainFinding(name, fmt.Sprintf("the grain was seen only with a certainty of %.0f %%", 100*t.Grain.Sure)))
	}
	toPiece := Place(t.Outline, t.Grain)
	p := Piece{
		ID: id, Name: name, Knots: t.Outline.Map(toPiece.Apply),
		UncertaintyMM: t.UncertaintyMM, PlaneToPiece: toPiece,
	}
	for _, h := range t.Holes {
		p.Holes = append(p.Holes, h.Map(toPiece.Apply))
	}
	for _, s := range t.Unsure {
		s.From, s.To = toPiece.Apply(s.From), toPiece.Apply(s.To)
		p.Unsure = append(p.Unsure, s)
	}
	if t.Grain != nil {
		p.Grain = &geometry.Grain{Deg: halfTurn(t.Grain.Deg + toPiece.Turn*180/math.Pi), Sure: t.Grain.Sure}
	}
	p.Edges = NewEdges(p.Knots)
	return p, findings, p.check("")
}

// Place returns the map from the plane frame of an outline to its piece frame: the
// grain upright when it is at least GrainSure certain (nil = not seen), the outline's
// lower left bounds at the origin.
func Place(outline geometry.Path, grain *geometry.Grain) geometry.Rigid {
	var r geometry.Rigid
	if grain != nil && grain.Sure >= GrainSure {
		r.Turn = (90 - grain.Deg) * math.Pi / 180
	}
	lo, _ := outline.Map(r.Apply).Flatten(1e-3).Bounds()
	r.Move = geometry.Point{X: -lo.X, Y: -lo.Y}
	return r
}

// halfTurn brings a direction without a sense into [0, 180) degrees, rounded to
// a thousandth so that a turn to 90 gives 90.
func halfTurn(deg float64) float64 {
	d := math.Round(math.Mod(deg, 180)*1000) / 1000
	if d < 0 {
		d += 180
	}
	if d >= 180 {
		d -= 180
	}
	return d
}

func grainFinding(name, why string) geometry.Finding {
	return geometry.Finding{
		Code: CodeGrain, Severity: geometry.SeverityInfo,
		Message: fmt.Sprintf("%s is not turned to its grain: %s.", name, why),
		Remedy:  "Draw the grain line yourself, along the threads that run as the selvage did.",
	}
}

// NewEdges returns one edge from each corner to the next, named by where it lies; the
// whole outline is one where it has no two corners. The outline has a knot at least.
func NewEdges(knots geometry.Path) []Edge {
	var corners []int
	for i, k := range knots {
		if k.Corner {
			corners = append(corners, i)
		}
	}
	if len(corners) < 2 {
		first := 0
		if len(corners) == 1 {
			first = corners[0]
		}
		return []Edge{{ID: "edge-1", Name: "all round", Knot: first}}
	}
	edges := make([]Edge, len(corners))
	count := map[string]int{}
	for i, c := range corners {
		name := side(knots[c].At, knots[corners[(i+1)%len(corners)]].At)
		count[name]++
		edges[i] = Edge{ID: fmt.Sprintf("edge-%d", i+1), Name: name, Knot: c}
	}
	number := map[string]int{}
	for i, e := range edges {
		if count[e.Name] > 1 {
			number[e.Name]++
			edges[i].Name = fmt.Sprintf("%s %d", e.Name, number[e.Name])
		}
	}
	return edges
}

// side names the side of a counter-clockwise outline on which the chord from a
// to b lies: where its outward normal points to.
func side(a, b geometry.Point) string {
	d := b.Sub(a)
	switch {
	case math.Abs(d.X) >= math.Abs(d.Y) && d.X > 0:
		return "bottom"
	case math.Abs(d.X) >= math.Abs(d.Y):
		return "top"
	case d.Y > 0:
		return "right"
	}
	return "left"
}
