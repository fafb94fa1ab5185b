package synth

import (
	"encoding/binary"
	"errors"

	"secondcut/vision"
)

// ErrNotJPEG says that metadata was to be added to something that is no JPEG.
var ErrNotJPEG = errors.New("synth: not a JPEG file")

// JPEG returns the scene's photo as a file, with its focal length in the
// metadata as a phone would write it, unless NoFocal.
func JPEG(s Scene) ([]byte, error) {
	p, err := Render(s)
	if err != nil {
		return nil, err
	}
	data, err := vision.EncodeJPEG(p, int(orDefault(float64(s.Quality), 88)))
	if err != nil {
		return nil, err
	}
	if s.NoFocal {
		return data, nil
	}
	long := max(s.Width, s.Height)
	return WithEXIF(data, 1, int(s.Camera.F*36/float64(long)+0.5))
}

// WithEXIF returns the JPEG file with an EXIF block that holds the orientation
// (1..8) and the focal length that would give the same picture on 36 mm wide
// film, in mm (CIPA DC-008, tags 0x0112 and 0xA405).
func WithEXIF(jpeg []byte, orientation, focal35 int) ([]byte, error) {
	if len(jpeg) < 4 || jpeg[0] != 0xff || jpeg[1] != 0xd8 {
		return nil, ErrNotJPEG
	}
	le := binary.LittleEndian
	tiff := le.AppendUint32(append([]byte{}, 'I', 'I', 42, 0), 8)
	entry := func(tag, kind uint16, count, value uint32) {
		tiff = le.AppendUint16(le.AppendUint16(tiff, tag), kind)
		tiff = le.AppendUint32(le.AppendUint32(tiff, count), value)
	}
	const short, long, ifd0Size = 3, 4, 2 + 2*12 + 4
	tiff = le.AppendUint16(tiff, 2)
	entry(0x0112, short, 1, uint32(orientation))
	entry(0x8769, long, 1, 8+ifd0Size)
	tiff = le.AppendUint32(tiff, 0)
	tiff = le.AppendUint16(tiff, 1)
	entry(0xa405, short, 1, uint32(focal35))
	tiff = le.AppendUint32(tiff, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{}, 0xff, 0xd8, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	out = append(out, body...)
	return append(out, jpeg[2:]...), nil
}
