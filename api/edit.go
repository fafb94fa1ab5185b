package api

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"secondcut/geometry"
)

// Limits of what a person may save.
const (
	// MaxKnots is the largest number of knots of a piece, holes included.
	MaxKnots = 5000
	// MaxSpanMM is the largest width or height of a piece in mm.
	MaxSpanMM = 20_000
	// MaxName is the longest name in characters.
	MaxName = 200
	// MaxVersions is how many former versions are kept of a piece or garment.
	MaxVersions = 500
	// MaxPhotos is how many photos a garment may have.
	MaxPhotos = 300
	// MaxSwatches is how many photos of cloths a garment may have, those of its former
	// versions included.
	MaxSwatches = 100
	// MaxGarmentPieces is how many pieces a garment may have, those of its photos included,
	// when one more is to be made of others.
	MaxGarmentPieces = 1000
	// MaxPieces is how many pieces may be found in one photo.
	MaxPieces = 100
)

// CleanName returns the name without surrounding and doubled white space. It
// answers CodeInvalid when nothing is left or it is longer than [MaxName].
func CleanName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	switch {
	case name == "" || !utf8.ValidString(name):
		return "", Invalid("name", "The name is empty.", "Type a name.")
	case utf8.RuneCountInString(name) > MaxName:
		return "", Invalid("name", fmt.Sprintf("The name is longer than %d characters.", MaxName), "Choose a shorter name.")
	}
	return name, nil
}

// Check returns the edit with its name cleaned, or CodeInvalid with the field
// that cannot be accepted. An outline that crosses itself passes: see
// [OutlineFindings].
func (e PieceEdit) Check() (PieceEdit, error) {
	name, err := CleanName(e.Name)
	if err != nil {
		return e, err
	}
	e.Name = name
	if err := checkPath("knots", e.Knots); err != nil {
		return e, err
	}
	total := len(e.Knots)
	for i, h := range e.Holes {
		if err := checkPath(fmt.Sprintf("holes[%d]", i), h); err != nil {
			return e, err
		}
		total += len(h)
	}
	if total > MaxKnots {
		return e, Invalid("knots", fmt.Sprintf("The piece has %d knots; at most %d can be kept.", total, MaxKnots), "Delete the knots that the outline does not need.")
	}
	if err := e.checkSaid(); err != nil {
		return e, err
	}
	return e, CheckStrokes(e.Strokes)
}

const (
	maxDoubtMM = 1000 // the largest uncertainty and fray in mm
	maxUnsure  = 500  // stretches in doubt
	maxReason  = 500  // characters of the reason for one
)

// checkSaid checks what a tracing said about the outline.
func (e PieceEdit) checkSaid() error {
	const remedy = "Trace the piece again."
	for field, v := range map[string]*float64{"uncertainty_mm": e.UncertaintyMM, "fray_mm": e.FrayMM} {
		if v != nil && !(*v >= 0 && *v <= maxDoubtMM) {
			return Invalid(field, fmt.Sprintf("This must be between 0 and %d mm.", maxDoubtMM), remedy)
		}
	}
	if len(e.Unsure) > maxUnsure {
		return Invalid("unsure", fmt.Sprintf("At most %d stretches can be in doubt.", maxUnsure), remedy)
	}
	for i, u := range e.Unsure {
		if !onPlane(u.From) || !onPlane(u.To) || utf8.RuneCountInString(u.Why) > maxReason || !utf8.ValidString(u.Why) {
			return Invalid(fmt.Sprintf("unsure[%d]", i), "A stretch in doubt has no proper place or reason.", remedy)
		}
		if !(u.UncertaintyMM >= 0 && u.UncertaintyMM <= maxDoubtMM) {
			return Invalid(fmt.Sprintf("unsure[%d].uncertainty_mm", i), fmt.Sprintf("This must be between 0 and %d mm.", maxDoubtMM), remedy)
		}
	}
	if g := e.Grain; g != nil && !(g.Deg >= 0 && g.Deg < 180 && g.Sure >= 0 && g.Sure <= 1) {
		return Invalid("grain", "The grain has a direction from 0 to 180 degrees and a certainty from 0 to 1.", remedy)
	}
	return nil
}

// onPlane reports whether a point can lie on the plane of a photo.
func onPlane(p geometry.Point) bool {
	return p.IsFinite() && math.Abs(p.X) <= MaxSpanMM && math.Abs(p.Y) <= MaxSpanMM
}

// Check returns the edit with its name cleaned, or CodeInvalid with the field
// that cannot be accepted.
func (e PhotoEdit) Check() (PhotoEdit, error) {
	if e.Face != nil && *e.Face != FaceUnknown && *e.Face != FaceRight && *e.Face != FaceWrong {
		return e, Invalid("face", "The side that faces up is right, wrong or not known.", "Choose one of them.")
	}
	if e.Print != nil {
		if err := e.Print.Check(); err != nil {
			return e, printField(err)
		}
	}
	if e.FileName == nil {
		return e, nil
	}
	name, err := CleanName(*e.FileName)
	if bad, ok := errors.AsType[*Error](err); ok {
		bad.Field = "file_name"
		return e, bad
	}
	e.FileName = &name
	return e, err
}

// printField puts the field of an edit's print into its place.
func printField(err error) error {
	if bad, ok := errors.AsType[*Error](err); ok {
		bad.Field = "print." + bad.Field
	}
	return err
}

func checkPath(field string, p geometry.Path) error {
	if len(p) < 3 {
		return Invalid(field, fmt.Sprintf("An outline needs at least 3 knots, but there are %d.", len(p)), "Undo the last step, or add a knot.")
	}
	if len(p) > MaxKnots {
		return Invalid(field, fmt.Sprintf("The outline has %d knots; at most %d can be kept.", len(p), MaxKnots), "Delete the knots that the outline does not need.")
	}
	var all geometry.Polyline
	for _, k := range p {
		all = append(all, k.At)
		for _, h := range []*geometry.Point{k.In, k.Out} {
			if h != nil {
				all = append(all, *h)
			}
		}
	}
	for _, q := range all {
		if !q.IsFinite() {
			return Invalid(field, "A knot or handle has no proper position.", "Undo the last step.")
		}
	}
	// NaN cannot reach this comparison, and an overflow to infinity fails it.
	lo, hi := all.Bounds()
	if span := math.Max(hi.X-lo.X, hi.Y-lo.Y); !(span <= MaxSpanMM) {
		return Invalid(field, fmt.Sprintf("The outline spans more than %d m.", MaxSpanMM/1000), "Undo the last step.")
	}
	return nil
}

// CheckStrokes answers CodeInvalid when a stroke cannot be used.
func CheckStrokes(strokes []Stroke) error {
	for i, s := range strokes {
		field := fmt.Sprintf("strokes[%d]", i)
		if s.Kind != "cloth" && s.Kind != "not-cloth" {
			return Invalid(field+".kind", "A stroke says either cloth or not-cloth.", "Paint the stroke again.")
		}
		if !(s.WidthMM > 0 && s.WidthMM <= 500) {
			return Invalid(field+".width_mm", "The brush must be wider than 0 and at most 500 mm.", "Choose another brush.")
		}
		if len(s.Points) == 0 {
			return Invalid(field+".points_mm", "The stroke has no points.", "Paint the stroke again.")
		}
		for _, p := range s.Points {
			if !onPlane(p) {
				return Invalid(field+".points_mm", "The stroke leaves the plane.", "Paint the stroke on the photo.")
			}
		}
	}
	return nil
}
