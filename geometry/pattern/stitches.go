package pattern

import "secondcut/geometry"

// Stitching is the stitch line of a piece as far as it is known (mm, piece frame).
type Stitching struct {
	// Edges are its segments, edge by edge in the order of the piece's.
	Edges [][]geometry.Segment
	// Known says of each edge whether its old allowance is known; where it is not, the
	// line is the traced one.
	Known []bool
	// Err says why there is none; then the rest is empty.
	Err error
}

// Stitchings returns the stitch lines of all pieces of a garment. It fails with
// ErrInvalid when the garment is not valid.
func Stitchings(g Garment) ([]Stitching, error) {
	all, err := stitchAll(g)
	if err != nil {
		return nil, err
	}
	out := make([]Stitching, len(all))
	for i, s := range all {
		if s.err != nil {
			out[i].Err = s.err
			continue
		}
		out[i].Known = s.known
		for k := range s.first {
			out[i].Edges = append(out[i].Edges, s.edge(k))
		}
	}
	return out, nil
}
