package vision

import (
	"fmt"
	"image"
	"image/color"
)

// fill takes over the pixels of a decoded picture. Transparent parts come out
// white, as on a screen or on paper.
func (p *Photo) fill(img image.Image, err error) error {
	if err != nil {
		return err
	}
	b := img.Bounds()
	p.Width, p.Height = b.Dx(), b.Dy()
	if p.Width <= 0 || p.Height <= 0 {
		return fmt.Errorf("picture of %d x %d pixels", p.Width, p.Height)
	}
	p.BGR = make([]byte, p.Width*p.Height*3)
	if y, ok := img.(*image.YCbCr); ok {
		p.fillYCbCr(y)
		return nil
	}
	for y := range p.Height {
		for x := range p.Width {
			r, g, bl, a := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
			i := 3 * (y*p.Width + x)
			p.BGR[i], p.BGR[i+1], p.BGR[i+2] = onWhite(bl, a), onWhite(g, a), onWhite(r, a)
		}
	}
	return nil
}

func onWhite(c, alpha uint32) byte { return byte((c + 0xffff - alpha) >> 8) }

// fillYCbCr is fill without an interface call a pixel.
func (p *Photo) fillYCbCr(img *image.YCbCr) {
	b := img.Rect
	for y := range p.Height {
		for x := range p.Width {
			yi, ci := img.YOffset(b.Min.X+x, b.Min.Y+y), img.COffset(b.Min.X+x, b.Min.Y+y)
			r, g, bl := color.YCbCrToRGB(img.Y[yi], img.Cb[ci], img.Cr[ci])
			i := 3 * (y*p.Width + x)
			p.BGR[i], p.BGR[i+1], p.BGR[i+2] = bl, g, r
		}
	}
}

// turn applies an EXIF orientation (1 to 8, EXIF 2.32 section 4.6.4, tag 0112)
// so that the picture stands upright.
func (p *Photo) turn(orientation int) {
	if orientation < 2 || orientation > 8 {
		return
	}
	w, h := p.Width, p.Height
	swap := orientation >= 5
	if swap {
		p.Width, p.Height = h, w
	}
	out := make([]byte, len(p.BGR))
	for y := range p.Height {
		// The stored pixel of (0, y), and the step to that of (x+1, y).
		i0, step := stored(orientation, 0, y, w, h), 0
		if p.Width > 1 {
			step = stored(orientation, 1, y, w, h) - i0
		}
		o := 3 * y * p.Width
		for i, n := i0, p.Width; n > 0; i, o, n = i+step, o+3, n-1 {
			copy(out[o:o+3], p.BGR[3*i:3*i+3])
		}
	}
	p.BGR = out
}

// stored returns the index of the stored pixel (w x h) that stands at (x, y) in
// the upright picture.
func stored(orientation, x, y, w, h int) int {
	switch orientation {
	case 2:
		x = w - 1 - x
	case 3:
		x, y = w-1-x, h-1-y
	case 4:
		y = h - 1 - y
	case 5:
		x, y = y, x
	case 6:
		x, y = y, h-1-x
	case 7:
		x, y = w-1-y, h-1-x
	case 8:
		x, y = w-1-y, x
	}
	return y*w + x
}
