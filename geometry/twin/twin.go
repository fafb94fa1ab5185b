package twin

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Errors of comparing.
var (
	// ErrNoPiece says that the garment has no piece of an id.
	ErrNoPiece = errors.New("twin: the garment has no such piece")
	// ErrNoCounterpart says that the twin has nothing where an edge runs.
	ErrNoCounterpart = errors.New("twin: the twin has no edge there")
)

// Pair names two pieces that are mirror images of each other; twice the same one is a
// piece whose halves are.
type Pair struct {
	A string `json:"a"`
	B string `json:"b"`
}

// Twin is a pair laid on each other. Lengths in mm.
type Twin struct {
	Pair
	// Pose lays A, after it is mirrored (x to -x), on B.
	Pose geometry.Rigid `json:"pose"`
	// Alike is the share of the outline, 0 to 1, that agrees as far as both are sure.
	Alike float64 `json:"alike"`
	// Edges compare the edges of A with what lies there on B.
	Edges []EdgeRow `json:"edges"`
	// Findings name the stretches that differ by more than both are unsure.
	Findings []geometry.Finding `json:"findings"`
}

// EdgeRow is an edge of A beside that of B. A distance is positive where A is the larger.
type EdgeRow struct {
	Edge string `json:"edge"`
	Name string `json:"name"`
	// Other is the edge of B that lies there.
	Other     string  `json:"other"`
	OtherName string  `json:"other_name"`
	LengthMM  float64 `json:"length_mm"`
	// OtherLengthMM is the length of the other edge.
	OtherLengthMM float64 `json:"other_length_mm"`
	// MeanMM is the mean distance, WorstMM the greatest one, WorstAt where (frame of A).
	MeanMM  float64        `json:"mean_mm"`
	WorstMM float64        `json:"worst_mm"`
	WorstAt geometry.Point `json:"worst_at_mm"`
	// LimitMM is what both are unsure by, where they differ most.
	LimitMM float64 `json:"limit_mm"`
	// Alike is the share of the edge, 0 to 1, that agrees.
	Alike float64 `json:"alike"`
}

// CodeUnalike is the code of the finding that twins differ by more than both are unsure.
const CodeUnalike = "twins-differ"

// ToB takes a point of A to where its mirror image lies on B.
func (t Twin) ToB(p geometry.Point) geometry.Point { return t.Pose.Apply(mirror(p)) }

// ToA is the inverse of ToB.
func (t Twin) ToA(p geometry.Point) geometry.Point { return mirror(t.Pose.Inverse().Apply(p)) }

// agreeMM is what two cuts by hand may differ by beyond what the photos leave open: 2
// standard deviations.
const agreeMM = 2 * cutMM

// Compare lays the pieces of a pair on each other. The piece A is mirrored, then moved
// and turned, so that as much as possible of both outlines agrees; stretches that are
// worn or in doubt do not pull. Only outer outlines are compared. A piece that is laid
// on itself is compared with its mirror image. It fails with ErrNoPiece; pieces of
// quite different shapes are compared all the same, and Alike says so.
func Compare(g pattern.Garment, pair Pair) (Twin, error) {
	var of [2]pattern.Piece
	for i, id := range []string{pair.A, pair.B} {
		p, ok := g.Piece(id)
		if !ok {
			return Twin{}, fmt.Errorf("%w: %q", ErrNoPiece, id)
		}
		of[i] = p
	}
	a, b := newRing(of[0], finePoints), newRing(of[1], finePoints)
	pose := poseOf(newRing(of[0], coarsePoints).mirrored(), newRing(of[1], coarsePoints), a.mirrored(), b)
	t := Twin{Pair: pair, Pose: pose, Findings: []geometry.Finding{}}
	t.measure(of[0], of[1], a, b)
	return t, nil
}

// measure fills the edges.
func (t *Twin) measure(p, q pattern.Piece, a, b ring) {
	edgeOf := func(pc pattern.Piece, pos float64) int {
		k := len(pc.Edges) - 1
		for i, e := range pc.Edges {
			if float64(e.Knot) <= pos {
				k = i
			}
		}
		return k
	}
	type tally struct {
		n, same    int
		sum, worst float64
		at         geometry.Point
		limit      float64
		votes      map[int]int
	}
	sums := make([]tally, len(p.Edges))
	alike := 0
	for i, at := range a.at {
		on := t.ToB(at)
		f := b.nearest(on, -1)
		// A is the larger one where its image lies out.
		off := on.Dist(f.at)
		if f.normal.Dot(on.Sub(f.at)) < 0 {
			off = -off
		}
		limit := math.Hypot(a.doubt[i], f.doubt) + agreeMM
		s := &sums[edgeOf(p, a.pos[i])]
		if s.votes == nil {
			s.votes = map[int]int{}
		}
		s.n++
		s.sum += off
		s.votes[edgeOf(q, f.pos)]++
		if math.Abs(off) <= limit {
			s.same++
			alike++
		}
		if math.Abs(off) >= math.Abs(s.worst) {
			s.worst, s.at, s.limit = off, at, limit
		}
	}
	t.Alike = float64(alike) / float64(len(a.at))
	for k, s := range sums {
		if s.n == 0 {
			continue
		}
		other, most := 0, 0
		for j := range q.Edges {
			if s.votes[j] > most {
				other, most = j, s.votes[j]
			}
		}
		e := EdgeRow{
			Edge: p.Edges[k].ID, Name: p.Edges[k].Name, Other: q.Edges[other].ID, OtherName: q.Edges[other].Name,
			LengthMM: geometry.ChainLength(p.EdgeChain(k)), OtherLengthMM: geometry.ChainLength(q.EdgeChain(other)),
			MeanMM: s.sum / float64(s.n), WorstMM: s.worst, WorstAt: s.at, LimitMM: s.limit, Alike: float64(s.same) / float64(s.n),
		}
		t.Edges = append(t.Edges, e)
		if math.Abs(s.worst) > s.limit {
			t.Findings = append(t.Findings, unalike(p, q, e))
		}
	}
}

func unalike(p, q pattern.Piece, e EdgeRow) geometry.Finding {
	which := "inside"
	if e.WorstMM > 0 {
		which = "outside"
	}
	other := fmt.Sprintf("%s of %s", e.OtherName, q.Name)
	if p.ID == q.ID {
		other = e.OtherName + " on its other half"
	}
	return geometry.Finding{
		Code: CodeUnalike, Severity: geometry.SeverityWarning, Piece: p.ID, Where: &e.WorstAt, Amount: math.Abs(e.WorstMM), Limit: e.LimitMM,
		Message: fmt.Sprintf("%s, %s: lies up to %.1f mm %s %s; by %.1f mm both are unsure.", p.Name, e.Name, math.Abs(e.WorstMM), which, other, e.LimitMM),
		Remedy:  "One of them is worn or was altered: take the edge from the better one, or leave both if they are meant to differ.",
	}
}
