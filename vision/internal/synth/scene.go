// Package synth draws test photos of pieces of cloth and scale cards from known
// geometry, so that what the steps of vision measure can be compared with the
// truth.
//
// A [Scene] is described in the plane frame (mm, y up); [Render] gives the photo
// that its camera would take, in linear light with sRGB coding at the end, and
// [Scene.Truth] the record of what is in it. The same scene gives the same
// photo: all chance comes from the seeds in it. Lengths are mm, angles degrees.
package synth

import (
	"secondcut/geometry"
	"secondcut/vision"
)

// Scene is everything that a photo shows and how it is taken.
type Scene struct {
	// Width and Height of the photo in pixels.
	Width, Height int
	// Camera takes the photo; see LookDown.
	Camera vision.Camera
	// Surface is what all lies on.
	Surface Paint
	// Cards and Pieces lie on the surface, pieces above cards, later ones above
	// earlier ones.
	Cards  []Card
	Pieces []Piece
	// Scraps are snippets and threads that lie about, above the cards and below
	// the pieces: the tracer must not take them for pieces.
	Scraps []Piece
	// Things lie above all, and are no cloth.
	Things []Thing
	// ThicknessMM is the height of the cloth's upper face above the surface.
	ThicknessMM float64
	// Light falls on everything.
	Light Light
	// BlurPx is the standard deviation of the lens blur in pixels; 0 means 0.7,
	// negative none.
	BlurPx float64
	// SmearPx is by how many pixels the picture moved across and down while it
	// was taken; each axis is smeared on its own.
	SmearPx geometry.Vec
	// Noise is the standard deviation of the sensor's noise in grey levels of
	// 0..255; 0 means 1.2, negative none.
	Noise float64
	// Quality is the JPEG quality that the truth records, 1..100; 0 means 88.
	Quality int
	// Seed of the noise.
	Seed uint64
	// NoFocal leaves the focal length out of the file, as some programs do.
	NoFocal bool
	// Refuse is the reason for which a tracer must refuse the photo, if any, and
	// Notes say in a few words what is hard about it: both for the truth alone.
	Refuse, Notes string
	// Contrast is the difference of cloth and surface in CIE Lab of 1976 where it
	// is known, for the truth alone.
	Contrast float64
}

// Light is how bright the scene is from place to place.
type Light struct {
	// Gain multiplies all; 0 means 1.
	Gain float64
	// Slope is the relative change of brightness per metre to the right and up,
	// about the plane's origin. 0.5 is a window at one side.
	Slope geometry.Vec
	// Vignette is the relative loss in the corners of the photo, 0..1.
	Vignette float64
	// FromDeg is the direction from which the light comes, counter-clockwise
	// from +x: shadows of the cloth's edge fall to the other side.
	FromDeg float64
	// Throw is how far an edge's shadow falls in mm; Soft its half-width in mm
	// (0 means 1); Dark its depth, 0..1. Throw + Soft is limited to 5 mm.
	Throw, Soft, Dark float64
	// Shadows of things outside the photo: a hand, a window bar.
	Shadows []Shadow
	// Glares burn parts of the photo out.
	Glares []Glare
}

// Glare is a patch of light so bright that the sensor may clip.
type Glare struct {
	At    geometry.Point
	Reach float64 // mm, the standard deviation of its fall-off
	Gain  float64 // of brightness in its middle, added to 1
}

// Shadow is a soft elliptic shadow.
type Shadow struct {
	At      geometry.Point
	Across  float64 // half axis along TurnDeg, mm
	Up      float64 // the other half axis, mm
	TurnDeg float64
	Soft    float64 // width of the edge as a share of the ellipse, 0..1
	Dark    float64 // 0..1
}

// Card is a scale card on the surface.
type Card struct {
	ID      int
	Centre  geometry.Point
	TurnDeg float64
	// LiftMM is the height at which the card floats above the surface: such a
	// card lies.
	LiftMM float64
}

// Piece is a piece of cloth, in the plane frame. The path is the clean edge that
// the tracer should find; Edge says what happened to it since.
type Piece struct {
	Name  string
	Path  geometry.Path   // counter-clockwise
	Holes []geometry.Path // clockwise
	Cloth Paint
	Edge  Edge
	// RippleMM is the height of waves in cloth that was not pressed well, on top
	// of its thickness.
	RippleMM float64
}

// Edge is the state of a piece's cut edge.
type Edge struct {
	// LossMM is how far the edge is eaten in at most; inward only.
	LossMM float64
	// Threads per mm of edge that stick out, and the length of the longest in mm.
	Threads, ThreadMM float64
	// ScallopMM is the height from trough to crest, centred on the clean edge,
	// of the waves that an elastic leaves; ScallopPeriod their length in mm.
	ScallopMM, ScallopPeriod float64
	// Nicks are cuts into the edge.
	Nicks []Nick
	// Seed of loss and threads.
	Seed uint64
}

// Nick is a V cut into the outer edge.
type Nick struct {
	// Along is its place: the fraction of the outline's length from its first
	// knot.
	Along float64
	// DepthMM and WidthMM (at the edge).
	DepthMM, WidthMM float64
	// Lean is by how much of its width the deepest point is moved along the edge,
	// -0.5..0.5: a notch has none, a tear has.
	Lean float64
}

// Place returns the piece turned by deg about the origin and then moved.
func (p Piece) Place(deg float64, move geometry.Point) Piece {
	r := geometry.Rigid{Turn: rad(deg), Move: move}
	p.Path = p.Path.Map(r.Apply)
	holes := make([]geometry.Path, len(p.Holes))
	for i, h := range p.Holes {
		holes[i] = h.Map(r.Apply)
	}
	p.Holes = holes
	return p
}
