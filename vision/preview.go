package vision

import (
	"context"
	"fmt"

	"secondcut/vision/internal/cv"
)

// UprightSize returns the size in pixels of the picture whose header info is,
// once the turn that its metadata ask for is applied. It decodes no pixel.
func UprightSize(data []byte, info Info) (width, height int) {
	// A HEIC file's own size has the turn in it already.
	if info.Kind != "heic" && readHints(data, info.Kind).orientation >= 5 {
		return info.Height, info.Width
	}
	return info.Width, info.Height
}

// Preview returns the photo upright, as a JPEG without metadata whose longer
// side has at most longest pixels. It refuses what [Decode] refuses.
func Preview(ctx context.Context, data []byte, lim Limits, longest int) ([]byte, error) {
	p, err := Decode(ctx, data, lim)
	if err != nil {
		return nil, err
	}
	if long := max(p.Width, p.Height); long > longest {
		w, h := max(1, p.Width*longest/long), max(1, p.Height*longest/long)
		small, err := cv.ResizeArea(p.BGR, p.Width, p.Height, 3, w, h)
		if err != nil {
			return nil, fmt.Errorf("vision: making a preview: %w", err)
		}
		p = &Photo{Width: w, Height: h, BGR: small}
	}
	return EncodeJPEG(p, 85)
}
