package api

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"secondcut/geometry"
	"secondcut/geometry/lay"
)

// Lay is where the pieces that are cut from one cloth lie on it, as a person left it.
type Lay struct {
	// Cloth is the id of the cloth; empty for the main one.
	Cloth string `json:"cloth" maxLength:"200" doc:"The cloth's id; empty for the main one."`
	// Placements are in the order of the pieces as they are laid.
	Placements []lay.Placement `json:"placements" nullable:"false" maxItems:"2000"`
	// Pinned are the numbers of the placements that stay where they are when the rest
	// is laid anew, from 0.
	Pinned []int `json:"pinned" nullable:"false" maxItems:"2000"`
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
	const remedy = "Lay the pieces again."
	if len(all) > maxLays {
		return Invalid("lays", fmt.Sprintf("There are %d layouts; at most %d can be kept.", len(all), maxLays), "Leave one out.")
	}
	for i, l := range all {
		field := fmt.Sprintf("lays[%d]", i)
		if len(l.Placements) > maxPlaces || len(l.Pinned) > len(l.Placements) {
			return Invalid(field, fmt.Sprintf("A layout has more than %d pieces.", maxPlaces), remedy)
		}
		for _, p := range l.Placements {
			if !onCloth(geometry.Point{X: p.X, Y: p.Y}) || !(p.RotationDeg >= -3600 && p.RotationDeg <= 3600) || utf8.RuneCountInString(p.ID) > MaxName {
				return Invalid(field, "A piece of the layout has no proper place.", remedy)
			}
		}
		for _, n := range l.Pinned {
			if n < 0 || n >= len(l.Placements) {
				return Invalid(field+".pinned", "A piece that is not there is pinned.", remedy)
			}
		}
		if slices.ContainsFunc(all[:i], func(m Lay) bool { return m.Cloth == l.Cloth }) {
			return Invalid(field, "Two layouts are for the same cloth.", "Leave one out.")
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
	l.Placements = slices.Clone(l.Placements)
	for i := range l.Placements {
		// What is laid of a piece is named by its id, perhaps with more after a slash.
		piece, more, _ := strings.Cut(l.Placements[i].ID, "/")
		if now, ok := id[piece]; ok {
			l.Placements[i].ID = strings.TrimSuffix(now+"/"+more, "/")
		}
	}
	return l
}
