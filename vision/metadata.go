package vision

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"time"

	"github.com/bep/imagemeta"
)

// hints are the only metadata that are read from a photo.
type hints struct {
	orientation int     // EXIF orientation, 1 to 8; 0 unknown
	focal35     float64 // focal length in mm of the same view on 35 mm film; 0 unknown
}

// diagonal35 is the diagonal in mm of a 36 x 24 mm film frame, to which the
// equivalent focal length refers (CIPA DCG-001, 2005).
const diagonal35 = 43.2666

func (h hints) focalPx(width, height int) float64 {
	if h.focal35 < 5 || h.focal35 > 500 {
		return 0
	}
	return h.focal35 * math.Hypot(float64(width), float64(height)) / diagonal35
}

var metadataFormats = map[string]imagemeta.ImageFormat{
	"jpeg": imagemeta.JPEG, "png": imagemeta.PNG, "webp": imagemeta.WebP, "heic": imagemeta.HEIF,
}

// readHints reads what it can; broken metadata leave the fields at 0.
func readHints(data []byte, kind string) (h hints) {
	wanted := map[string]bool{"Orientation": true, "FocalLengthIn35mmFormat": true}
	_, _ = imagemeta.Decode(imagemeta.Options{
		R:               bytes.NewReader(data),
		ImageFormat:     metadataFormats[kind],
		Sources:         imagemeta.EXIF,
		Timeout:         2 * time.Second,
		Warnf:           func(string, ...any) {},
		ShouldHandleTag: func(t imagemeta.TagInfo) bool { return wanted[t.Tag] },
		HandleTag: func(t imagemeta.TagInfo) error {
			v := number(t.Value)
			if t.Tag == "Orientation" && h.orientation == 0 && v >= 1 && v <= 8 {
				h.orientation = int(v)
			} else if t.Tag != "Orientation" {
				h.focal35 = v
			}
			return nil
		},
	})
	return h
}

func number(v any) float64 {
	switch n := v.(type) {
	case uint16:
		return float64(n)
	case uint32:
		return float64(n)
	case int:
		return float64(n)
	case float64:
		return n
	}
	return 0
}

// StripMetadata returns the photo as a JPEG that says nothing but its pixels,
// its orientation, its focal length and how its colours are coded: no place, time,
// device, preview or comment. A JPEG keeps its compressed pixels bit for bit; other kinds are
// decoded and written at quality 95. It refuses what [Decode] refuses, but does
// not look for damage inside a JPEG's picture data.
func StripMetadata(ctx context.Context, data []byte, lim Limits) ([]byte, error) {
	info, err := Header(data, lim)
	if err != nil {
		return nil, err
	}
	h := readHints(data, info.Kind)
	if info.Kind != "jpeg" {
		p, err := Decode(ctx, data, lim)
		if err != nil {
			return nil, err
		}
		if data, err = EncodeJPEG(p, 95); err != nil {
			return nil, err
		}
		h.orientation = 1
	}
	out, err := stripJPEG(data, h)
	if err != nil {
		return nil, damaged()
	}
	return out, nil
}

// Bare reports whether a file is a whole JPEG that holds nothing besides its picture: what
// [StripMetadata] takes off is not in it, nor hints.
func Bare(data []byte) bool {
	out, err := stripJPEG(data, hints{})
	if err != nil {
		return false
	}
	const start = 2 // after which the hints stand
	rest := out[start+len(exifSegment(hints{})):]
	return len(data) == start+len(rest) && bytes.Equal(data[start:], rest)
}

var errSegment = errors.New("broken JPEG segment")

// stripJPEG copies a JPEG file (ITU-T T.81 annex B) without its application and
// comment segments, save those that say how colours are coded, and puts the
// hints in front. What follows the end of the picture is dropped: phones hide
// further pictures and films there.
func stripJPEG(data []byte, h hints) ([]byte, error) {
	if len(data) < 4 || data[0] != 0xff || data[1] != 0xd8 {
		return nil, errSegment
	}
	out := append(make([]byte, 0, len(data)), 0xff, 0xd8)
	out = append(out, exifSegment(h)...)
	for i := 2; ; {
		for i < len(data) && data[i] == 0xff && i+1 < len(data) && data[i+1] == 0xff {
			i++ // fill bytes
		}
		if i+4 > len(data) || data[i] != 0xff {
			return nil, errSegment
		}
		code := data[i+1]
		end := i + 2 + int(binary.BigEndian.Uint16(data[i+2:]))
		if end < i+4 || end > len(data) {
			return nil, errSegment
		}
		out = append(out, kept(code, data[i:end])...)
		if i = end; code == 0xda { // start of scan: entropy-coded data follow
			n := scanEnd(data[i:])
			out = append(out, data[i:i+n]...)
			if i += n; i >= len(data) || data[i+1] == 0xd9 {
				return append(out, 0xff, 0xd9), nil
			}
		}
	}
}

// kept returns what stays of a segment: nothing of application segments and comments,
// save what says how pixels look: JFIF without its small picture (ITU-T T.871, 10.1),
// the colour profile, and Adobe's colour transform (ITU-T T.872, 6.5.3).
func kept(code byte, segment []byte) []byte {
	const head, jfif, adobe = 4, 14, 12 // code and length; the two bodies as their standards have them
	body := segment[head:]
	switch {
	case code == 0xe0 && bytes.HasPrefix(body, []byte("JFIF\x00")) && len(body) >= jfif:
		s := shortened(segment, head+jfif)
		s[head+jfif-2], s[head+jfif-1] = 0, 0 // no small picture follows
		return s
	case code == 0xe2 && bytes.HasPrefix(body, []byte("ICC_PROFILE\x00")):
		return segment
	case code == 0xee && bytes.HasPrefix(body, []byte("Adobe")) && len(body) >= adobe:
		return shortened(segment, head+adobe)
	case code == 0xfe || code >= 0xe0 && code <= 0xef:
		return nil
	}
	return segment
}

// shortened returns the first n bytes of a segment, with the length that says so.
func shortened(segment []byte, n int) []byte {
	s := bytes.Clone(segment[:n])
	binary.BigEndian.PutUint16(s[2:], uint16(n-2))
	return s
}

// scanEnd returns the length of entropy-coded data up to the next segment; 0xff
// followed by 0 or a restart code belongs to the data.
func scanEnd(b []byte) int {
	for i := 0; i+1 < len(b); i++ {
		if b[i] == 0xff && b[i+1] != 0 && b[i+1] != 0xff && (b[i+1] < 0xd0 || b[i+1] > 0xd7) {
			return i
		}
	}
	return len(b)
}

// exifSegment returns an APP1 segment with orientation and equivalent focal
// length and nothing else (TIFF, little-endian; EXIF 2.32).
func exifSegment(h hints) []byte {
	var b bytes.Buffer
	put := func(v ...any) {
		for _, x := range v {
			_ = binary.Write(&b, binary.LittleEndian, x) // a bytes.Buffer takes all
		}
	}
	const short, long = uint16(3), uint16(4)
	_, _ = io.WriteString(&b, "Exif\x00\x00II*\x00")
	put(uint32(8), uint16(2))
	put(uint16(0x0112), short, uint32(1), uint32(max(h.orientation, 1)))
	put(uint16(0x8769), long, uint32(1), uint32(8+2+2*12+4), uint32(0))
	put(uint16(1), uint16(0xa405), short, uint32(1), uint32(math.Round(h.focal35)), uint32(0))
	seg := []byte{0xff, 0xe1, 0, 0}
	binary.BigEndian.PutUint16(seg[2:], uint16(2+b.Len()))
	return append(seg, b.Bytes()...)
}

// heicSize returns the size of a HEIC picture in pixels as its boxes state it.
func heicSize(data []byte) (width, height int, err error) {
	r, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(data), ImageFormat: imagemeta.HEIF, Sources: imagemeta.CONFIG,
		Timeout: 2 * time.Second, Warnf: func(string, ...any) {},
	})
	return r.ImageConfig.Width, r.ImageConfig.Height, err
}
