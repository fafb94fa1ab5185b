package offset

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
)

// Errors of [CutLine] and [Parallel].
var (
	// ErrOutline says that the outline is not a closed line that can be cut round.
	ErrOutline = errors.New("the outline cannot be cut round")
	// ErrEdges says that the edges do not make up the outline.
	ErrEdges = errors.New("the edges do not fit the outline")
	// ErrDistance says that a distance is no allowance that can be cut.
	ErrDistance = errors.New("the width cannot be cut")
	// ErrTangled says that the parts of a cut line could not be told apart, because
	// stretches of it lie on each other. Seen only on hairline shapes with widths
	// many times their size.
	ErrTangled = errors.New("the cut line cannot be disentangled: change a width by a millimetre")
	// ErrOptions says that an option is out of its range.
	ErrOptions = errors.New("an option is out of range")
)

// Bounds of what is drawn: wider than any allowance, narrower and larger than any
// piece of a garment (judgement).
const (
	MaxMM      = 300.0  // greatest distance, and depth of all folds together
	MinPieceMM = 5.0    // least width and height of an outline
	MaxPieceMM = 4000.0 // greatest width and height of an outline
)

// TooWideError says that an edge would lose its last part, because its own width
// or the widths beside it do not fit its curves or its length.
type TooWideError struct {
	// Edge is its index, Name its name.
	Edge int
	Name string
	// AskedMM is the width asked for at its wider end, LargestMM the largest that
	// works there, rounded down to 0.1 mm.
	AskedMM, LargestMM float64
	// All says that making this edge narrower does not help: LargestMM is for the
	// widest of all edges, with the others made narrower in proportion.
	All bool
}

// Error says which edge is too wide and what fits.
func (e *TooWideError) Error() string {
	if e.All {
		return fmt.Sprintf("nothing is left of edge %q between the widths beside it: make all edges narrower, the widest at most %.1f mm instead of %.1f mm", e.Name, e.LargestMM, e.AskedMM)
	}
	return fmt.Sprintf("edge %q is too short or bends too tightly for %.1f mm: at most %.1f mm fit", e.Name, e.AskedMM, e.LargestMM)
}

// lostError is the index of an edge that would lose its last part.
type lostError int

func (e lostError) Error() string { return fmt.Sprintf("edge %d is lost", int(e)) }

func (o Options) filled() (Options, error) {
	if o.TolMM == 0 {
		o.TolMM = 0.01
	}
	if o.MiterLimit == 0 {
		o.MiterLimit = 4
	}
	if !(o.TolMM >= 0.001 && o.TolMM <= 1) {
		return o, fmt.Errorf("the tolerance is %g mm; it must be 0.001 to 1: %w", o.TolMM, ErrOptions)
	}
	if !(o.MiterLimit >= 1 && o.MiterLimit <= 100) {
		return o, fmt.Errorf("the miter limit is %g; it must be 1 to 100: %w", o.MiterLimit, ErrOptions)
	}
	return o, nil
}

func checkOutline(p geometry.Path) error {
	if len(p) < 1 {
		return fmt.Errorf("it has no knots: %w", ErrOutline)
	}
	for i := range p {
		if err := checkSegment(p.Segment(i)); err != nil {
			return fmt.Errorf("knot %d: %w", i, err)
		}
	}
	ring := p.Flatten(0.05)
	lo, hi := ring.Bounds()
	w, h := hi.X-lo.X, hi.Y-lo.Y
	if least := math.Min(w, h); least < MinPieceMM {
		return fmt.Errorf("it is only %.1f mm wide; at least %g mm can be cut: %w", least, MinPieceMM, ErrOutline)
	}
	if most := math.Max(w, h); most > MaxPieceMM {
		return fmt.Errorf("it is %.0f mm long; at most %g mm can be cut: %w", most, MaxPieceMM, ErrOutline)
	}
	c := make(chain, 0, len(p))
	for _, s := range p.Segments() {
		if size(s) > 0 {
			c = append(c, span{seg: s})
		}
	}
	if at, ok := crosses(c, true); ok {
		return fmt.Errorf("it crosses or touches itself near x = %.1f, y = %.1f mm: %w", at.X, at.Y, ErrOutline)
	}
	return nil
}

func checkSegment(s geometry.Segment) error {
	for _, q := range []geometry.Point{s.A, s.B, s.C, s.D} {
		if !q.IsFinite() {
			return fmt.Errorf("a coordinate is not a finite number: %w", ErrOutline)
		}
		if math.Abs(q.X) > 1e6 || math.Abs(q.Y) > 1e6 {
			return fmt.Errorf("a coordinate is more than a kilometre away: %w", ErrOutline)
		}
	}
	return nil
}

// size returns the greatest distance of a control point from the start, mm.
func size(s geometry.Segment) float64 {
	return math.Max(s.A.Dist(s.D), math.Max(s.A.Dist(s.B), s.A.Dist(s.C)))
}

func checkEdges(p geometry.Path, edges []Edge) error {
	if len(edges) == 0 {
		return fmt.Errorf("there are none: %w", ErrEdges)
	}
	for i, e := range edges {
		if e.Knot < 0 || e.Knot >= len(p) || i > 0 && e.Knot <= edges[i-1].Knot {
			return fmt.Errorf("edge %q begins at knot %d, which is out of order or not there: %w", e.name(i), e.Knot, ErrEdges)
		}
		if e.Corner != Meet && e.Corner != Round {
			return fmt.Errorf("edge %q has an unknown kind of corner, %d: %w", e.name(i), e.Corner, ErrEdges)
		}
		if err := e.check(i); err != nil {
			return err
		}
		next := edges[(i+1)%len(edges)].Knot
		if stretchSize(p, e.Knot, next) < 0.1 {
			return fmt.Errorf("edge %q has no length: %w", e.name(i), ErrEdges)
		}
	}
	return nil
}

// stretchSize returns an upper bound of the length of the stretch between two
// knots, mm; the whole outline when they are the same.
func stretchSize(p geometry.Path, from, to int) float64 {
	var l float64
	for _, s := range segmentsBetween(p, from, to) {
		l += s.A.Dist(s.B) + s.B.Dist(s.C) + s.C.Dist(s.D)
	}
	return l
}

func (e Edge) check(i int) error {
	all := append([]float64{e.StartMM, e.EndMM}, e.Folds...)
	for _, d := range all {
		if !(d >= 0 && d <= MaxMM) {
			return fmt.Errorf("edge %q: %g mm; a width must be 0 to %g mm: %w", e.name(i), d, MaxMM, ErrDistance)
		}
	}
	if len(e.Folds) == 0 {
		return nil
	}
	if e.StartMM != 0 || e.EndMM != 0 {
		return fmt.Errorf("edge %q has both folds and a seam allowance: %w", e.name(i), ErrDistance)
	}
	for k, d := range e.Folds {
		if d == 0 || k > 0 && d > e.Folds[k-1] {
			return fmt.Errorf("edge %q: fold %d of %g mm must be more than 0 and no deeper than the one before: %w", e.name(i), k+1, d, ErrDistance)
		}
	}
	if e.depth() > MaxMM {
		return fmt.Errorf("edge %q: folds of %g mm together; at most %g mm: %w", e.name(i), e.depth(), MaxMM, ErrDistance)
	}
	return nil
}

func (e Edge) name(i int) string {
	if e.Name != "" {
		return e.Name
	}
	return fmt.Sprint(i + 1)
}

// depth returns the sum of all folds, mm.
func (e Edge) depth() float64 {
	var sum float64
	for _, d := range e.Folds {
		sum += d
	}
	return sum
}

// scaled returns the edge with all widths multiplied by f.
func (e Edge) scaled(f float64) Edge {
	e.StartMM, e.EndMM = e.StartMM*f, e.EndMM*f
	folds := make([]float64, len(e.Folds))
	for i, d := range e.Folds {
		folds[i] = d * f
	}
	e.Folds = folds
	if f == 0 {
		e.Folds = nil
	}
	return e
}

func scaled(edges []Edge, f float64) []Edge {
	out := make([]Edge, len(edges))
	for i, e := range edges {
		out[i] = e.scaled(f)
	}
	return out
}

func (e Edge) widest() float64 { return max(e.StartMM, e.EndMM, e.depth()) }

func checkChain(line []geometry.Segment, d0, d1 float64) error {
	for _, d := range []float64{d0, d1} {
		if !(math.Abs(d) <= MaxMM) {
			return fmt.Errorf("%g mm; a width must be at most %g mm: %w", d, MaxMM, ErrDistance)
		}
	}
	if d0*d1 < 0 {
		return fmt.Errorf("the line would change sides, from %g to %g mm: %w", d0, d1, ErrDistance)
	}
	var l float64
	for i, s := range line {
		if err := checkSegment(s); err != nil {
			return fmt.Errorf("segment %d: %w", i, err)
		}
		if i > 0 && s.A.Dist(line[i-1].D) > 1e-6 {
			return fmt.Errorf("segment %d does not begin where the one before ends: %w", i, ErrOutline)
		}
		l += size(s)
	}
	if l < 0.1 {
		return fmt.Errorf("the line has no length: %w", ErrOutline)
	}
	return nil
}

// tooWide finds the largest width of a lost edge that works, first with the
// others as they are, then all in proportion.
func tooWide(outline geometry.Path, edges []Edge, opt Options, lost int) error {
	works := func(scale func(i int) float64) bool {
		try := make([]Edge, len(edges))
		for i, e := range edges {
			try[i] = e.scaled(scale(i))
		}
		_, err := cutLine(outline, try, opt)
		return err == nil
	}
	out := &TooWideError{Edge: lost, Name: edges[lost].name(lost), AskedMM: edges[lost].widest()}
	alone := func(f float64) bool {
		return works(func(i int) float64 {
			if i == lost {
				return f
			}
			return 1
		})
	}
	if out.AskedMM > 0 && alone(0) {
		out.LargestMM = floor1(out.AskedMM * largest(alone))
		return out
	}
	out.All = true
	for _, e := range edges {
		out.AskedMM = math.Max(out.AskedMM, e.widest())
	}
	out.LargestMM = floor1(out.AskedMM * largest(func(f float64) bool {
		return works(func(int) float64 { return f })
	}))
	return out
}

// largest returns about the largest factor below 1 that works, taking it that
// all smaller ones do.
func largest(works func(f float64) bool) float64 {
	lo, hi := 0.0, 1.0
	for range 11 {
		if m := (lo + hi) / 2; works(m) {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

// floor1 rounds down to 0.1 mm.
func floor1(mm float64) float64 { return math.Floor(mm*10+1e-9) / 10 }
