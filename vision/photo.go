package vision

// Pixel is a position in a photo: pixels, origin at the centre of the top left
// pixel, x right and y down.
type Pixel struct{ X, Y float64 }

// Photo is a decoded, upright colour picture that owns its pixels.
type Photo struct {
	// Width and Height in pixels.
	Width, Height int
	// BGR holds Width*Height*3 bytes, row by row from the top: blue, green, red.
	BGR []byte
	// FocalPx is the focal length in pixels of this picture, read from the
	// file's metadata; 0 when the file does not say. A hint, good to a few
	// per cent.
	FocalPx float64
}

// Mask is a picture of one byte a pixel; what the values mean is said where it
// is used.
type Mask struct {
	// Width and Height in pixels.
	Width, Height int
	// Pix holds Width*Height values, row by row from the top.
	Pix []byte
}
