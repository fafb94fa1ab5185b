package vision

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"image"
	"image/png"

	"github.com/gen2brain/heic"
	"golang.org/x/image/webp"

	"secondcut/vision/internal/jpeg"
)

// Limits bound what [Decode] and [Header] accept. A zero field means its default.
type Limits struct {
	// MaxBytes is the largest file in bytes; default 64 MiB.
	MaxBytes int
	// MaxPixels is the largest picture in pixels; default 110 million, so that
	// a phone's 108-megapixel setting passes. Decoding needs 3 to 6 bytes a pixel.
	MaxPixels int
	// MinSide is the shortest side in pixels; default 200, below which no card could be
	// measured at all.
	MinSide int
}

const (
	defaultMaxBytes  = 64 << 20
	defaultMaxPixels = 110_000_000
	defaultMinSide   = 200
)

// Info is what a picture's header says.
type Info struct {
	// Kind is "jpeg", "png", "webp" or "heic".
	Kind string
	// Width and Height in pixels, as stored: the EXIF turn is not applied.
	Width, Height int
}

// FileBytes returns the largest file in bytes that is accepted.
func (l Limits) FileBytes() int64 { return int64(cmp.Or(l.MaxBytes, defaultMaxBytes)) }

const photoRemedy = "Choose a photo as the phone saves it: JPEG, HEIC, PNG or WebP."

// Header reads kind and size of a picture without decoding any pixel, and
// refuses what [Decode] would refuse by its header: CodeNotImage,
// CodeUnsupported, CodeTruncated, CodeTooLarge, CodeTooSmall.
func Header(data []byte, lim Limits) (Info, error) {
	maxPixels := cmp.Or(lim.MaxPixels, defaultMaxPixels)
	if len(data) == 0 {
		return Info{}, Refuse(CodeNotImage, "The file is empty.", photoRemedy)
	}
	if int64(len(data)) > lim.FileBytes() {
		return Info{}, Refuse(CodeTooLarge, fmt.Sprintf("The file is larger than %d MB.", lim.FileBytes()>>20),
			"Take the photo with the phone's normal setting, or save it as JPEG.")
	}
	info, err := sniff(data)
	if err != nil {
		return Info{}, err
	}
	if info.Width <= 0 || info.Height <= 0 {
		return Info{}, damaged()
	}
	if info.Width > maxPixels/info.Height {
		return Info{}, Refuse(CodeTooLarge,
			fmt.Sprintf("The picture is %d x %d pixels; at most %d megapixels can be read.", info.Width, info.Height, maxPixels/1_000_000),
			"Take the photo with the phone's normal setting, or make it smaller.")
	}
	if min(info.Width, info.Height) < cmp.Or(lim.MinSide, defaultMinSide) {
		return Info{}, Refuse(CodeTooSmall, fmt.Sprintf("The picture is only %d x %d pixels.", info.Width, info.Height),
			"Choose the original photo, not a preview of it.")
	}
	return info, nil
}

// sniff finds the kind of a picture by its first bytes and reads its size.
func sniff(data []byte) (Info, error) {
	var (
		info Info
		cfg  image.Config
		err  error
	)
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		info.Kind = "jpeg"
		cfg.Width, cfg.Height, err = jpeg.Header(data)
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		info.Kind = "png"
		cfg, err = png.DecodeConfig(bytes.NewReader(data))
	case len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		info.Kind = "webp"
		cfg, err = webp.DecodeConfig(bytes.NewReader(data))
	case isHEIC(data):
		info.Kind = "heic"
		cfg.Width, cfg.Height, err = heicSize(data)
	case isOtherPicture(data):
		return info, Refuse(CodeUnsupported, "This kind of picture cannot be read.", photoRemedy)
	default:
		return info, Refuse(CodeNotImage, "The file is not a picture.", photoRemedy)
	}
	if err != nil {
		return info, damaged()
	}
	info.Width, info.Height = cfg.Width, cfg.Height
	return info, nil
}

func isHEIC(data []byte) bool {
	if len(data) < 12 || string(data[4:8]) != "ftyp" {
		return false
	}
	switch string(data[8:12]) {
	case "heic", "heix", "heim", "heis", "hevc", "mif1", "msf1":
		return true
	}
	return false
}

// isOtherPicture recognises pictures that are not read, so that they are not
// called "not a picture": GIF, TIFF and most raw files, BMP, AVIF, PDF.
func isOtherPicture(data []byte) bool {
	for _, p := range []string{"GIF8", "II*\x00", "MM\x00*", "BM", "%PDF"} {
		if bytes.HasPrefix(data, []byte(p)) {
			return true
		}
	}
	return len(data) >= 12 && string(data[4:12]) == "ftypavif"
}

func damaged() error {
	return Refuse(CodeTruncated, "The picture file is damaged or cut short.",
		"Copy it from the phone again, or take the photo once more.")
}

// Decode reads a photo, turns it upright as its metadata say, and keeps the
// focal length as a hint. It refuses with CodeNotImage, CodeUnsupported,
// CodeTruncated, CodeTooLarge or CodeTooSmall, the last two before any pixel is
// decoded. When ctx ends it returns at once; data must not be changed after that,
// since a decoder cannot be stopped and reads on to its end.
func Decode(ctx context.Context, data []byte, lim Limits) (*Photo, error) {
	info, err := Header(data, lim)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	type result struct {
		photo  *Photo
		err    error
		broken any // what a decoder panicked with
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			r.broken = recover()
			done <- r
		}()
		r.photo, r.err = decode(data, info)
	}()
	select {
	case r := <-done:
		if r.broken != nil {
			panic(r.broken) // for the caller to catch, who knows what to do about it
		}
		return r.photo, r.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// decode is Decode of a picture whose header has been read.
func decode(data []byte, info Info) (*Photo, error) {
	var err error
	p := &Photo{Width: info.Width, Height: info.Height}
	switch info.Kind {
	case "jpeg":
		p.BGR, p.Width, p.Height, err = jpeg.Decode(data)
	case "png":
		err = p.fill(png.Decode(bytes.NewReader(data)))
	case "webp":
		err = p.fill(webp.Decode(bytes.NewReader(data)))
	case "heic":
		err = p.fill(heic.Decode(bytes.NewReader(data)))
	}
	if err != nil {
		return nil, damaged()
	}
	hints := readHints(data, info.Kind)
	if info.Kind != "heic" { // its decoder has turned the picture already
		p.turn(hints.orientation)
	}
	p.FocalPx = hints.focalPx(p.Width, p.Height)
	return p, nil
}

// EncodeJPEG returns the photo as a JPEG file without metadata; quality 1 to 100.
func EncodeJPEG(p *Photo, quality int) ([]byte, error) {
	return jpeg.Encode(p.BGR, p.Width, p.Height, quality)
}
