package calib

import (
	"context"
	"fmt"
	"math"
	"sync"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/cv"
)

// What a byte of Plane.Known says.
const (
	KnownNot   = 0 // outside the photo, or seen at too flat an angle
	KnownScene = 1 // seen by the photo, no card here
	KnownCard  = 2 // a card, the sheet of cards, or cloth that covers part of one
)

// Plane is the photo seen from straight above: row by row from the top (largest
// y first), pixel centres PxPerMM to the millimetre apart.
type Plane struct {
	// Width and Height in pixels.
	Width, Height int
	// BGR holds Width*Height*3 bytes: blue, green, red; 0 where not seen.
	BGR []byte
	// Known holds Width*Height bytes: KnownNot, KnownScene or KnownCard.
	Known []byte
	// PxPerMM is the number of pixels a millimetre takes.
	PxPerMM float64
	// Origin is the plane position in mm of the centre of the top left pixel.
	Origin geometry.Point
}

// At returns the plane position in mm of pixel position (x, y).
func (pl *Plane) At(x, y float64) geometry.Point {
	return geometry.Point{X: pl.Origin.X + x/pl.PxPerMM, Y: pl.Origin.Y - y/pl.PxPerMM}
}

// Pixel returns the pixel position of the plane point p; it undoes At.
func (pl *Plane) Pixel(p geometry.Point) (x, y float64) {
	return (p.X - pl.Origin.X) * pl.PxPerMM, (pl.Origin.Y - p.Y) * pl.PxPerMM
}

// RectifyOptions says how much of the plane is wanted. The zero value is
// usable.
type RectifyOptions struct {
	// MaxPixels limits Width*Height; pxPerMM is lowered to keep it. Default
	// 1 000 000.
	MaxPixels int
	// Lo and Hi are the lower left and upper right of the wanted part in mm;
	// when both are zero, all that the photo shows well.
	Lo, Hi geometry.Point
}

// Bounds of what is worth looking at; both are generous for photos that people
// take of cloth on a table or floor.
const (
	maxObliqueDeg = 75.0   // beyond it a millimetre takes a quarter of a pixel's worth
	maxReachMM    = 1500.0 // from the nearest card
)

// step is the spacing in pixels of the grid on which the projection is
// computed; between its nodes it is interpolated (error below 0.05 px of the
// photo at 1 px/mm for cameras 300 mm away and more).
const step = 8

// Rectify returns the photo as seen from straight above the cloth's upper face,
// at pxPerMM or less. The photo is averaged down first where it is finer than
// the result, so that threads do not alias. It fails when ctx ends, when p does
// not have the calibration's size, or when pxPerMM is not positive.
func (c *Calibration) Rectify(ctx context.Context, p *vision.Photo, pxPerMM float64, opt RectifyOptions) (*Plane, error) {
	if p.Width != c.Width || p.Height != c.Height || len(p.BGR) != 3*p.Width*p.Height {
		return nil, fmt.Errorf("calib: the photo has %d x %d pixels, the calibration is for %d x %d", p.Width, p.Height, c.Width, c.Height)
	}
	if !(pxPerMM > 0) || math.IsInf(pxPerMM, 0) {
		return nil, fmt.Errorf("calib: %v is no number of pixels to the millimetre", pxPerMM)
	}
	lo, hi := opt.Lo, opt.Hi
	if lo == (geometry.Point{}) && hi == (geometry.Point{}) {
		lo, hi = c.Seen()
	}
	pl, err := newPlane(lo, hi, pxPerMM, opt.MaxPixels)
	if err != nil {
		return nil, err
	}
	src, err := c.reduced(p, pl)
	if err != nil {
		return nil, err
	}
	if err := c.sample(ctx, pl, src); err != nil {
		return nil, err
	}
	c.markCards(pl)
	return pl, nil
}

// newPlane lays out an empty plane of at most maxPixels over lo..hi.
func newPlane(lo, hi geometry.Point, pxPerMM float64, maxPixels int) (*Plane, error) {
	if maxPixels <= 0 {
		maxPixels = 1_000_000
	}
	w, h := hi.X-lo.X, hi.Y-lo.Y
	if !(w > 0 && h > 0) || math.IsInf(w+h, 0) {
		return nil, fmt.Errorf("calib: nothing of the plane can be seen")
	}
	// The +1 of the far edge is kept within the limit too.
	for (math.Floor(w*pxPerMM)+1)*(math.Floor(h*pxPerMM)+1) > float64(maxPixels) {
		pxPerMM *= 0.998
		pxPerMM = math.Min(pxPerMM, 1.01*math.Sqrt(float64(maxPixels)/(w*h)))
	}
	pl := &Plane{
		Width: int(w*pxPerMM) + 1, Height: int(h*pxPerMM) + 1,
		PxPerMM: pxPerMM, Origin: geometry.Point{X: lo.X, Y: hi.Y},
	}
	pl.BGR = make([]byte, 3*pl.Width*pl.Height)
	pl.Known = make([]byte, pl.Width*pl.Height)
	return pl, nil
}

// Seen returns the upright rectangle round the part of the plane that the photo
// shows well: less than 75 degrees oblique and within 1.5 m of a card (of the
// point below the camera when there is none). Both are zero when nothing is.
func (c *Calibration) Seen() (lo, hi geometry.Point) {
	const across, down = 64, 48
	var pts geometry.Polyline
	for i := range across + 1 {
		for j := range down + 1 {
			px := vision.Pixel{
				X: float64(i)*float64(c.Width)/across - 0.5,
				Y: float64(j)*float64(c.Height)/down - 0.5,
			}
			if p, ok := c.ToPlane(px); ok && c.near(p) {
				pts = append(pts, p)
			}
		}
	}
	return pts.Bounds()
}

// near reports whether p is close and steep enough to be worth looking at.
func (c *Calibration) near(p geometry.Point) bool {
	if c.ObliqueDeg(p) > maxObliqueDeg {
		return false
	}
	for _, k := range c.Cards {
		if k.Centre.Dist(p) < maxReachMM {
			return true
		}
	}
	o := c.Camera.Centre()
	return len(c.Cards) == 0 && p.Dist(geometry.Point{X: o[0], Y: o[1]}) < maxReachMM
}

// source is a picture to sample from: the photo, averaged down by so many
// pixels across and down.
type source struct {
	bgr           []byte
	width, height int
	across, down  float64
}

// reduced returns the photo, averaged down by a whole number so that one pixel
// of it is about one of the plane.
func (c *Calibration) reduced(p *vision.Photo, pl *Plane) (*source, error) {
	mid := pl.At(float64(pl.Width)/2, float64(pl.Height)/2)
	k := evenShrink(p.Width, int(c.PxPerMM(mid)/pl.PxPerMM+0.3))
	if k < 2 || p.Width < 2*k || p.Height < 2*k {
		return &source{p.BGR, p.Width, p.Height, 1, 1}, nil
	}
	// Rows below the last whole one are dropped.
	rows := p.Height / k * k
	s := &source{width: p.Width / k, height: p.Height / k, down: float64(k)}
	s.across = float64(p.Width) / float64(s.width)
	var err error
	s.bgr, err = cv.ResizeArea(p.BGR[:3*p.Width*rows], p.Width, rows, 3, s.width, s.height)
	return s, err
}

// evenShrink returns the largest number up to want that divides width, if it is
// more than half of want: averaging whole pixels costs a third of the general
// case. Otherwise it returns want.
func evenShrink(width, want int) int {
	for k := want; 2*k > want; k-- {
		if k > 0 && width%k == 0 {
			return k
		}
	}
	return want
}

// sample fills the plane from src, in two bands at a time.
func (c *Calibration) sample(ctx context.Context, pl *Plane, src *source) error {
	var wg sync.WaitGroup
	half := (pl.Height/2 + step - 1) / step * step
	for _, band := range [2][2]int{{0, half}, {half, pl.Height}} {
		wg.Go(func() { c.sampleRows(ctx, pl, src, band[0], band[1]) })
	}
	wg.Wait()
	return ctx.Err()
}

// node is one node of the coarse projection grid, in pixels of the source.
type node struct {
	x, y float64
	ok   bool
}

// nodes projects one row of grid nodes.
func (c *Calibration) nodes(pl *Plane, src *source, y int) []node {
	row := make([]node, (pl.Width+step-1)/step+1)
	for i := range row {
		p := pl.At(float64(i*step), float64(y))
		px, ok := c.ToImage(p)
		row[i] = node{(px.X+0.5)/src.across - 0.5, (px.Y+0.5)/src.down - 0.5, ok && c.near(p)}
	}
	return row
}

// sampleRows fills rows y0 to y1, y0 being a multiple of step.
func (c *Calibration) sampleRows(ctx context.Context, pl *Plane, src *source, y0, y1 int) {
	if y0 >= y1 {
		return
	}
	above := c.nodes(pl, src, y0)
	for y := y0; y < y1 && ctx.Err() == nil; y += step {
		below := c.nodes(pl, src, y+step)
		for i := range len(above) - 1 {
			a, b, d, e := above[i], above[i+1], below[i], below[i+1]
			if a.ok && b.ok && d.ok && e.ok {
				fillBlock(pl, src, i*step, y, min(y+step, y1), [4]node{a, b, d, e})
			}
		}
		above = below
	}
}

// fillBlock fills the pixels of one grid cell (corners n: top left, top right,
// bottom left, bottom right), bilinear in the projection and in the colours.
func fillBlock(pl *Plane, src *source, x0, y0, y1 int, n [4]node) {
	x1 := min(x0+step, pl.Width)
	maxX, maxY := float64(src.width-1), float64(src.height-1)
	for y := y0; y < y1; y++ {
		t := float64(y-y0) / step
		sx, sy := n[0].x+t*(n[2].x-n[0].x), n[0].y+t*(n[2].y-n[0].y)
		dx := (n[1].x + t*(n[3].x-n[1].x) - sx) / step
		dy := (n[1].y + t*(n[3].y-n[1].y) - sy) / step
		at := y*pl.Width + x0
		for x := x0; x < x1; x, at, sx, sy = x+1, at+1, sx+dx, sy+dy {
			if sx < 0 || sy < 0 || sx >= maxX || sy >= maxY {
				continue
			}
			pl.Known[at] = KnownScene
			ix, iy := int(sx), int(sy)
			fx, fy := int((sx-float64(ix))*256), int((sy-float64(iy))*256)
			p := src.bgr[3*(iy*src.width+ix):]
			q := src.bgr[3*((iy+1)*src.width+ix):]
			out := pl.BGR[3*at : 3*at+3]
			for k := range 3 {
				u := int(p[k])<<8 + fx*(int(p[k+3])-int(p[k]))
				v := int(q[k])<<8 + fx*(int(q[k+3])-int(q[k]))
				out[k] = byte((u<<8 + fy*(v-u) + 1<<15) >> 16)
			}
		}
	}
}
