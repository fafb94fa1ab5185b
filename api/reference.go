package api

import (
	"fmt"
	"strings"

	"secondcut/vision"
	"secondcut/vision/calib"
)

// MaxReferences is how many things of known size can be pointed out in a photo.
const MaxReferences = 4

// Reference is a thing of known size that the person pointed out in a photo, where no
// scale card could be printed. Points are those of [calib.Reference], in pixels of the
// upright photo.
type Reference struct {
	Kind   string       `json:"kind" enum:"bank-card,a4,letter"`
	Points [][2]float64 `json:"points_px" nullable:"false" minItems:"4" maxItems:"8" doc:"Going round: the four corners of a sheet; of a bank card two points on each straight edge, or where its edges would meet. Pixels of the upright photo."`
}

// Measure returns the reference as the calibration takes it.
func (r Reference) Measure() calib.Reference {
	out := calib.Reference{Kind: r.Kind, Points: make([]vision.Pixel, len(r.Points))}
	for i, p := range r.Points {
		out.Points[i] = vision.Pixel{X: p[0], Y: p[1]}
	}
	return out
}

// CheckReferences answers CodeInvalid with the reference that can't be in an upright
// photo of this size in pixels.
func CheckReferences(refs []Reference, width, height int) error {
	if len(refs) > MaxReferences {
		return Invalid("references", fmt.Sprintf("At most %d things of known size can be pointed out.", MaxReferences), "Leave out those that are smallest in the photo.")
	}
	for i, r := range refs {
		if err := r.Measure().Check(width, height); err != nil {
			said := err.Error()
			return Invalid(fmt.Sprintf("references[%d]", i), strings.ToUpper(said[:1])+said[1:]+".", "Click its points again, going round it.")
		}
	}
	return nil
}
