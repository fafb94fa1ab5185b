package api

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"secondcut/geometry"
	"secondcut/geometry/lay"
)

// Lay is where the pieces that are cut from one cloth lie on it, as a person left it.
type Lay struct {
	Cloth  string     `json:"cloth" maxLength:"200" doc:"The cloth's id; empty for the main one."`
	Pieces []lay.Laid `json:"pieces" nullable:"false" maxItems:"2000"`
}

// Most of what a garment may have of each.
const (
	maxLays   = 20
	maxPlaces = 2000
	maxTags   = 20
	maxTag    = 40 // characters
)

// checkLays answers CodeInvalid when one cannot be kept. Whether the pieces lie well is
// not asked: that changes with the pieces.
func checkLays(all []Lay) error {
	if len(all) > maxLays {
		return Invalid("lays", fmt.Sprintf("There are %d layouts; at most %d can be kept.", len(all), maxLays), "Leave one out.")
	}
	for i, l := range all {
		field := fmt.Sprintf("lays[%d]", i)
		if err := CheckLaid(l.Pieces); err != nil {
			return Invalid(field, err.Message, err.Remedy)
		}
		if slices.ContainsFunc(all[:i], func(m Lay) bool { return m.Cloth == l.Cloth }) {
			return Invalid(field, "Two layouts are for the same cloth.", "Leave one out.")
		}
	}
	return nil
}

// CheckLaid answers CodeInvalid when pieces cannot lie there at all.
func CheckLaid(pieces []lay.Laid) *Error {
	const remedy = "Lay the pieces again."
	bad := func(message string) *Error {
		return &Error{Code: CodeInvalid, Field: "pieces", Message: message, Remedy: remedy}
	}
	if len(pieces) > maxPlaces {
		return bad(fmt.Sprintf("A layout has more than %d pieces.", maxPlaces))
	}
	for _, p := range pieces {
		if !onCloth(geometry.Point{X: p.X, Y: p.Y}) || !(math.Abs(p.RotationDeg) <= 3600) || utf8.RuneCountInString(p.ID) > MaxName {
			return bad("A piece of the layout has no proper place.")
		}
	}
	return nil
}

// onCloth reports whether a point can lie on a cloth, which may be a kilometre long.
func onCloth(q geometry.Point) bool {
	const far = 1e6
	return q.IsFinite() && q.X > -far && q.X < far && q.Y > -far && q.Y < far
}

// cleanTags returns words without surrounding and doubled white space, each once.
func cleanTags(tags []string) ([]string, error) {
	out := []string{}
	for i, t := range tags {
		t = strings.Join(strings.Fields(t), " ")
		if utf8.RuneCountInString(t) > maxTag || !utf8.ValidString(t) {
			return nil, Invalid(fmt.Sprintf("tags[%d]", i), fmt.Sprintf("A tag is longer than %d characters.", maxTag), "Choose a shorter one.")
		}
		if t != "" && !slices.Contains(out, t) {
			out = append(out, t)
		}
	}
	if len(out) > maxTags {
		return nil, Invalid("tags", fmt.Sprintf("There are %d tags; at most %d can be kept.", len(out), maxTags), "Leave some out.")
	}
	return out, nil
}

// renamed returns the layout with the ids of pieces replaced.
func (l Lay) renamed(id map[string]string) Lay {
	l.Pieces = slices.Clone(l.Pieces)
	for i := range l.Pieces {
		p := &l.Pieces[i]
		// What is laid of a piece is named by its id, perhaps with more after a slash.
		piece, more, _ := strings.Cut(p.ID, "/")
		if now, ok := id[piece]; ok {
			p.ID, p.Piece = strings.TrimSuffix(now+"/"+more, "/"), now
		}
	}
	return l
}
