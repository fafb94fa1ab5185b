package apart

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"secondcut/api"
	"secondcut/vision"
)

// The requests that a child knows.
const (
	askOpen     = "open"     // read the photo in the frame's picture
	askTrace    = "trace"    // trace it
	askBackdrop = "backdrop" // draw it from above
	askStrip    = "strip"    // make a photo without metadata
	askPreview  = "preview"  // make a small upright picture
	askDraw     = "draw"     // draw the garment in the frame's picture
	askForget   = "forget"   // let go of the photo
)

// request is the header of what the parent sends.
type request struct {
	Ask   string    `json:"ask"`
	Print api.Print `json:"print"`
	// References are things of known size in the photo to be opened.
	References []api.Reference `json:"references,omitempty"`
	Strokes    []api.Stroke    `json:"strokes,omitempty"`
	// Traced says that the backdrop is for what was traced last.
	Traced bool `json:"traced,omitempty"`
	// Limits bound a photo to be stripped or previewed, Longest a preview.
	Limits  vision.Limits `json:"limits"`
	Longest int           `json:"longest,omitempty"`
	// Export is what is drawn of a garment.
	Export api.Export `json:"export,omitzero"`
}

// reply is the header of what the child answers: any number of steps, and then
// one frame that is none.
type reply struct {
	Step    *api.Step       `json:"step,omitempty"`
	Refused *vision.Refusal `json:"refused,omitempty"`
	Failed  string          `json:"failed,omitempty"`
	Trace   *vision.Trace   `json:"trace,omitempty"`
	Plane   *api.Plane      `json:"plane,omitempty"`
}

// The largest parts of a frame in bytes. A child may have been taken over by the
// photo that it read, so its word is not trusted.
const (
	maxHeader  = 64 << 20
	maxPicture = 512 << 20
)

var errFrame = errors.New("apart: a frame is larger than allowed")

// writeFrame writes the lengths of header and picture, four bytes each, the
// highest first, and then both.
func writeFrame(w io.Writer, header any, picture []byte) error {
	head, err := json.Marshal(header)
	if err != nil {
		return fmt.Errorf("apart: %w", err)
	}
	if len(head) > maxHeader || len(picture) > maxPicture {
		return errFrame
	}
	buf := make([]byte, 0, 8+len(head))
	buf = binary.BigEndian.AppendUint32(buf, uint32(len(head)))
	buf = binary.BigEndian.AppendUint32(buf, uint32(len(picture)))
	if _, err := w.Write(append(buf, head...)); err != nil {
		return err
	}
	_, err = w.Write(picture)
	return err
}

// readFrame reads one frame; io.EOF when there is none.
func readFrame(r io.Reader, header any) (picture []byte, err error) {
	var lengths [8]byte
	if _, err := io.ReadFull(r, lengths[:]); err != nil {
		return nil, err
	}
	head, pic := binary.BigEndian.Uint32(lengths[:4]), binary.BigEndian.Uint32(lengths[4:])
	if head > maxHeader || pic > maxPicture {
		return nil, errFrame
	}
	text, err := readPart(r, head)
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(text, header); err != nil {
		return nil, fmt.Errorf("apart: %w", err)
	}
	return readPart(r, pic)
}

// readPart reads n bytes without taking the memory for them before they come.
func readPart(r io.Reader, n uint32) ([]byte, error) {
	const trusted = 8 << 20
	if n <= trusted {
		part := make([]byte, n)
		_, err := io.ReadFull(r, part)
		return part, noEOF(err)
	}
	part, err := io.ReadAll(io.LimitReader(r, int64(n)))
	if err == nil && len(part) < int(n) {
		err = io.ErrUnexpectedEOF
	}
	return part, noEOF(err)
}

// noEOF says that an end inside a frame is not a proper end.
func noEOF(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}
