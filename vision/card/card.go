// Package card knows the printed scale card: where its tag and its saddle points
// lie, how a sheet of six is printed, and how cards are found in a photo.
//
// Card frame: millimetres, origin at the card's centre, x right and y up as a
// reader of the card sees it. What comes after in the flow is calib.
package card

import (
	"secondcut/geometry"
	"secondcut/vision"
)

// Measures of a card, in millimetres.
const (
	SideMM   = 80.0 // side of the white square
	TagMM    = 40.0 // side of the tag, border module included
	ModuleMM = 5.0  // side of one of the tag's 8 x 8 modules
	SaddleMM = 32.0 // distance of a saddle point from the centre, across and up
	SquareMM = 6.0  // side of the black squares that meet in a saddle point
)

// MaxID is the highest card number: the family 36h11 has 587 tags, of which 97
// sheets of six use 582.
const MaxID = 581

// Corner names the order of the four tag corners and of the four saddle points:
// top left, top right, bottom right, bottom left of the printed card.
const (
	TopLeft = iota
	TopRight
	BottomRight
	BottomLeft
)

// signs are the directions of the four corners in the card frame.
var signs = [4]geometry.Point{{X: -1, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: -1}}

// SaddlePoint returns saddle point i (0..3) in the card frame.
func SaddlePoint(i int) geometry.Point {
	return geometry.Point{X: signs[i].X * SaddleMM, Y: signs[i].Y * SaddleMM}
}

// TagCorner returns tag corner i (0..3) in the card frame.
func TagCorner(i int) geometry.Point {
	return geometry.Point{X: signs[i].X * TagMM / 2, Y: signs[i].Y * TagMM / 2}
}

// Observed is a card point found in a photo.
type Observed struct {
	At vision.Pixel
	// SigmaPx is the standard uncertainty of each coordinate in pixels; 0 means
	// that the point was not seen.
	SigmaPx float64
}

// Detection is one card found in a photo, in the image frame.
type Detection struct {
	// ID is the card's number, 0..MaxID.
	ID int
	// Tag are the tag's corners, Saddles the saddle points, in the order of
	// the constants TopLeft...BottomLeft.
	Tag     [4]Observed
	Saddles [4]Observed
	// BlurPx is the standard deviation in pixels of the Gaussian blur that the
	// edges at the saddle points show, in the direction that is blurred more; 0
	// when no saddle point was seen.
	BlurPx float64
	// Repeated says that another card with this number was seen, and left out.
	Repeated bool
}
