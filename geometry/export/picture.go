package export

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"image/jpeg"
	"math"

	"codeberg.org/go-pdf/fpdf"

	"secondcut/geometry"
)

// ErrPicture says that bytes are no JPEG that can be put on a page.
var ErrPicture = errors.New("the picture cannot be drawn")

// maxPicturePx bounds the side of a picture: what is on a page is looked at, not measured.
const maxPicturePx = 4000

// Picture is a photo in the rectangle Lo to Hi (page coordinates, mm). The PDF takes its
// bytes over as they are; SVG and PNG, which pieces are written as, leave pictures out.
type Picture struct {
	Layer  Layer
	Lo, Hi geometry.Point
	JPEG   []byte
}

func (Picture) isItem() {}

// NewPicture returns a JPEG as large as a rectangle has room for, in the middle of it. It
// fails with ErrPicture; pixels are not decoded.
func NewPicture(layer Layer, data []byte, lo, hi geometry.Point) (Picture, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %v", ErrPicture, err)
	}
	if min(c.Width, c.Height) < 1 || max(c.Width, c.Height) > maxPicturePx {
		return Picture{}, fmt.Errorf("%w: it is %d x %d pixels", ErrPicture, c.Width, c.Height)
	}
	room := hi.Sub(lo)
	scale := math.Min(room.X/float64(c.Width), room.Y/float64(c.Height))
	half := geometry.Vec{X: scale * float64(c.Width) / 2, Y: scale * float64(c.Height) / 2}
	middle := lo.Lerp(hi, 0.5)
	return Picture{Layer: layer, Lo: middle.Add(half.Scale(-1)), Hi: middle.Add(half), JPEG: data}, nil
}

// writePicture draws a picture by the library, which works in points and from the top.
func writePicture(doc *fpdf.Fpdf, height float64, p Picture, begin string) {
	kind := fpdf.ImageOptions{ImageType: "JPG"}
	name := fmt.Sprintf("%x", sha256.Sum256(p.JPEG))
	doc.RegisterImageOptionsReader(name, kind, bytes.NewReader(p.JPEG))
	back := num(1/pointsPerMM, 9)
	doc.RawWriteStr(begin + " " + back + " 0 0 " + back + " 0 0 cm")
	size := p.Hi.Sub(p.Lo)
	doc.ImageOptions(name, p.Lo.X, height-p.Hi.Y, size.X, size.Y, false, kind, 0, "")
	doc.RawWriteStr("Q")
}
