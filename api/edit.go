package api

import (
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
	return e, CheckStrokes(e.Strokes)
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
			if !p.IsFinite() || math.Abs(p.X) > MaxSpanMM || math.Abs(p.Y) > MaxSpanMM {
				return Invalid(field+".points_mm", "The stroke leaves the plane.", "Paint the stroke on the photo.")
			}
		}
	}
	return nil
}
