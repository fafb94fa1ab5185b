package lay

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"secondcut/geometry"
)

// ErrNotInstance says that what was read does not describe pieces and a strip.
var ErrNotInstance = errors.New("this is not a list of pieces to lay on a strip")

// maxFileBytes bounds an instance file: 16 MB.
const maxFileBytes = 16 << 20

// file is an instance as it is written. Fields that it has beside these (sources,
// best known results, ...) are not read.
type file struct {
	Name   string   `json:"name"`
	Width  *float64 `json:"strip_width"`
	Pieces []struct {
		ID       string            `json:"id"`
		Count    int               `json:"quantity"`
		Turns    []float64         `json:"allowed_rotations_deg"`
		Outline  geometry.Polyline `json:"outline"`
		AnyFace  bool              `json:"mirror_allowed"`
		Mirrored int               `json:"quantity_mirrored"`
	} `json:"pieces"`
}

// ReadInstance reads an instance from JSON: {"name", "strip_width", "pieces": [{"id",
// "quantity", "allowed_rotations_deg", "outline": [[x, y], ...], "mirror_allowed",
// "quantity_mirrored"}]}. A piece that names no turns may lie at the four quarter turns.
// It fails with ErrNotInstance or ErrInstance, or when r fails.
func ReadInstance(r io.Reader) (Instance, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFileBytes+1))
	if err != nil {
		return Instance{}, err
	}
	if len(data) > maxFileBytes {
		return Instance{}, fmt.Errorf("%w: it is larger than %d MB", ErrNotInstance, maxFileBytes>>20)
	}
	var f file
	if err := json.Unmarshal(data, &f); err != nil {
		return Instance{}, fmt.Errorf("%w: %w", ErrNotInstance, err)
	}
	if f.Width == nil {
		return Instance{}, fmt.Errorf("%w: it has no strip_width", ErrNotInstance)
	}
	in := Instance{Name: f.Name, WidthMM: *f.Width}
	for _, p := range f.Pieces {
		if p.Turns == nil {
			p.Turns = []float64{0, 90, 180, 270}
		}
		in.Pieces = append(in.Pieces, Piece{
			ID: p.ID, Outline: p.Outline, TurnsDeg: p.Turns, Count: p.Count, Mirrored: p.Mirrored, AnyFace: p.AnyFace,
		})
	}
	return in, in.check()
}

// WriteLayout writes a layout as indented JSON: {"length", "placements": [{"id", "x",
// "y", "rotation_deg", "mirrored"}]}.
func WriteLayout(w io.Writer, l Layout) error {
	data, err := json.MarshalIndent(l, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(data, '\n'))
	return err
}
