package amend

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Kind is what is done to a piece.
type Kind string

// The kinds, each with what it takes of an [Op].
const (
	KindOpen      Kind = "open"       // Line, MM, Join: see [Open]
	KindSpread    Kind = "spread"     // Line, MM: see [Spread]
	KindDart      Kind = "dart"       // At, Tip, MM: see [AddDart]
	KindCloseDart Kind = "close-dart" // Mark, At: see [CloseDart]
	KindMirror    Kind = "mirror"     // Line, or none for one up its middle: see [Mirror]
	KindSymmetric Kind = "symmetric"  // Line, or none likewise, Keep: see [Symmetric]
	KindGrain     Kind = "grain"      // nothing: see [ToGrain]
	KindFair      Kind = "fair"       // Edge, or From and To, and MM: see [Fair]
	KindLength    Kind = "length"     // Edge, MM, Moves: see [Lengthen]
)

// Op is one change of a piece, as files, requests and the command line give it. Which
// fields a kind has stands beside the kinds; the others are left out. Points are in mm in
// the frame of the outline.
type Op struct {
	Kind Kind             `json:"kind" enum:"open,spread,dart,close-dart,mirror,symmetric,grain,fair,length" doc:"What is done."`
	Line []geometry.Point `json:"line_mm,omitempty" nullable:"false" maxItems:"2" doc:"Two points of a line; what lies to its left moves."`
	// MM is by how much: what a piece is opened, a dart takes in, an edge gets longer, or
	// a fair line may leave the one that is there.
	MM    float64         `json:"mm,omitempty" doc:"By how many mm; negative takes in or shortens."`
	Join  string          `json:"join,omitempty" enum:"even,cut" doc:"How crossed edges are drawn: drawn out evenly from corner to corner (the default), or cut and bridged."`
	At    *geometry.Point `json:"at_mm,omitempty" doc:"The mouth of a new dart, or where the piece is opened as one is closed; the nearest point of the outline counts."`
	Tip   *geometry.Point `json:"tip_mm,omitempty" doc:"The tip of a new dart."`
	Mark  string          `json:"mark,omitempty" maxLength:"500" doc:"The id of the dart to close."`
	Keep  Keep            `json:"keep,omitempty" enum:"left,right,mean" doc:"Which half stays, beside the line in its direction."`
	Edge  string          `json:"edge,omitempty" maxLength:"500" doc:"The id of the edge that is changed."`
	From  *int            `json:"from_knot,omitempty" doc:"The index of the knot at which the stretch begins, in place of an edge."`
	To    *int            `json:"to_knot,omitempty" doc:"The index of the knot at which it ends."`
	Moves string          `json:"moves,omitempty" enum:"start,end,neither" doc:"Which end of the edge gives way; neither changes its depth."`
}

// ReadOp reads a change written as JSON. It fails with ErrOp.
func ReadOp(data []byte) (Op, error) {
	var op Op
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&op); err != nil {
		return op, fmt.Errorf("%w: %s", ErrOp, strings.TrimPrefix(err.Error(), "json: "))
	}
	return op, op.check()
}

// check holds that an op has what its kind takes, and nothing else.
func (op Op) check() error {
	stretch := op.From != nil && op.To != nil
	for _, v := range []struct {
		field      string
		given      bool
		need, have []Kind
	}{
		{"line_mm", len(op.Line) > 0, []Kind{KindOpen, KindSpread}, []Kind{KindMirror, KindSymmetric}},
		{"mm", op.MM != 0, []Kind{KindOpen, KindSpread, KindDart, KindFair, KindLength}, nil},
		{"join", op.Join != "", nil, []Kind{KindOpen}},
		{"at_mm", op.At != nil, []Kind{KindDart, KindCloseDart}, nil},
		{"tip_mm", op.Tip != nil, []Kind{KindDart}, nil},
		{"mark", op.Mark != "", []Kind{KindCloseDart}, nil},
		{"keep", op.Keep != "", nil, []Kind{KindSymmetric}},
		{"edge", op.Edge != "" || op.Kind == KindFair && stretch, []Kind{KindLength, KindFair}, nil},
		{"from_knot", op.From != nil || op.To != nil, nil, []Kind{KindFair}},
		{"moves", op.Moves != "", nil, []Kind{KindLength}},
	} {
		needs, has := slices.Contains(v.need, op.Kind), slices.Contains(v.have, op.Kind)
		switch {
		case needs && !v.given:
			return fmt.Errorf("%w: %q needs %s", ErrOp, op.Kind, v.field)
		case v.given && !needs && !has:
			return fmt.Errorf("%w: %q takes no %s", ErrOp, op.Kind, v.field)
		}
	}
	for _, v := range []struct {
		field, value string
		all          []string
	}{
		{"join", op.Join, []string{JoinEven, JoinCut}},
		{"moves", op.Moves, []string{MovesStart, MovesEnd, MovesNeither}},
	} {
		if v.value != "" && !slices.Contains(v.all, v.value) {
			return fmt.Errorf("%w: %s is %q; it is one of %s", ErrOp, v.field, v.value, strings.Join(v.all, ", "))
		}
	}
	if n := len(op.Line); n != 0 && n != 2 {
		return fmt.Errorf("%w: a line goes through two points, not %d", ErrOp, n)
	}
	for _, q := range op.points() {
		if !q.IsFinite() || q.Dist(geometry.Point{}) > 1e5 {
			return fmt.Errorf("%w: a point lies out of all bounds", ErrOp)
		}
	}
	return nil
}

func (op Op) points() []geometry.Point {
	out := append([]geometry.Point{}, op.Line...)
	for _, q := range []*geometry.Point{op.At, op.Tip} {
		if q != nil {
			out = append(out, *q)
		}
	}
	return out
}

// Mapped returns the op with its points in another frame.
func (op Op) Mapped(f func(geometry.Point) geometry.Point) Op {
	var line []geometry.Point
	for _, q := range op.Line {
		line = append(line, f(q))
	}
	op.Line = line
	for _, at := range []**geometry.Point{&op.At, &op.Tip} {
		if *at != nil {
			q := f(**at)
			*at = &q
		}
	}
	return op
}

// Apply returns the piece with a change, and what became of edges and marks that could not
// be carried over. It fails with ErrOp, ErrLine or ErrMuch, in the person's words; the
// piece then stays.
func Apply(p pattern.Piece, op Op) (pattern.Piece, []geometry.Finding, error) {
	if err := op.check(); err != nil {
		return p, nil, err
	}
	a, b := upright(p)
	if len(op.Line) == 2 {
		a, b = op.Line[0], op.Line[1]
	}
	switch op.Kind {
	case KindOpen:
		return Open(p, a, b, op.MM, op.Join)
	case KindSpread:
		return Spread(p, a, b, op.MM)
	case KindDart:
		return AddDart(p, *op.At, *op.Tip, op.MM)
	case KindCloseDart:
		return CloseDart(p, op.Mark, *op.At)
	case KindMirror:
		return Mirror(p, a, b)
	case KindSymmetric:
		return Symmetric(p, a, b, op.Keep)
	case KindGrain:
		return ToGrain(p)
	case KindLength:
		return Lengthen(p, op.Edge, op.MM, op.Moves)
	case KindFair:
		from, to := -1, -1
		if k := p.Edge(op.Edge); k < 0 && op.Edge != "" {
			return p, nil, fmt.Errorf("%w: %s has no edge %q", ErrOp, p.Name, op.Edge)
		} else if k >= 0 {
			from, to = p.Edges[k].Knot, p.Edges[(k+1)%len(p.Edges)].Knot
		} else if op.From != nil && op.To != nil {
			from, to = *op.From, *op.To
		}
		return Fair(p, from, to, op.MM)
	}
	return p, nil, fmt.Errorf("%w: %q is no change of a piece", ErrOp, op.Kind)
}
