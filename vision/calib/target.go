package calib

import (
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// target is a thing of known shape that lies on the plane: a scale card, or a
// thing of known size that the person pointed out.
type target struct {
	points []known
	// height of its upper face above the plane, mm.
	height float64
	// reference is nil for a scale card.
	reference *shape
}

// known is a point of a target that was seen.
type known struct {
	at    geometry.Point // in the target's frame, mm as drawn
	px    vision.Pixel
	sigma float64
	// inset is where a pixel of inset moves a corner of a tag; zero for a point
	// that blur does not pull inwards.
	inset vision.Pixel
}

// fine reports whether a point carries precision: it is no tag corner.
func (k known) fine() bool { return k.inset == (vision.Pixel{}) }

// fine returns the points that carry precision.
func (t target) fine() (out []known) {
	for _, k := range t.points {
		if k.fine() {
			out = append(out, k)
		}
	}
	return out
}

// finePoints returns how many points of a target carry precision.
func (t target) finePoints() int { return len(t.fine()) }

// fromCard returns a card as a target: its saddle points in their order, then
// its tag corners.
func fromCard(d card.Detection) (t target) {
	for k, o := range d.Saddles {
		if o.SigmaPx > 0 {
			t.points = append(t.points, known{card.SaddlePoint(k), o.At, max(o.SigmaPx, minSigmaPx), vision.Pixel{}})
		}
	}
	for k, o := range d.Tag {
		if in := inward(d, k); o.SigmaPx > 0 && in != (vision.Pixel{}) {
			t.points = append(t.points, known{card.TagCorner(k), o.At, max(o.SigmaPx, minSigmaPx), in})
		}
	}
	return t
}

// targets returns the cards, in their order, and after them the references.
func targets(p *vision.Photo, dets []card.Detection, refs []Reference) ([]target, error) {
	var out []target
	for _, d := range dets {
		out = append(out, fromCard(d))
	}
	for _, r := range refs {
		t, err := r.target(p)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, nil
}

// usable returns the targets that show enough to be placed.
func usable(all []target) (use []int) {
	for i, t := range all {
		if t.finePoints() >= minSaddles {
			use = append(use, i)
		}
	}
	return use
}

// isReference reports whether target d is no scale card.
func (pr *problem) isReference(d int) bool { return pr.targets[d].reference != nil }

// cards returns the scale cards among the targets in use, references the others.
func (pr *problem) cards() []int {
	return slices.DeleteFunc(slices.Clone(pr.use), pr.isReference)
}

func (pr *problem) references() []int {
	return slices.DeleteFunc(slices.Clone(pr.use), func(d int) bool { return !pr.isReference(d) })
}
