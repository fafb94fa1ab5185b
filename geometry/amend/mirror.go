package amend

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/geometry/pattern"
)

// image returns the mirror image of a point in a line.
func (l line) image(q geometry.Point) geometry.Point {
	return q.Add(l.normal.Scale(-2 * l.off(q)))
}

// upright returns the line up the middle of a piece.
func upright(p pattern.Piece) (a, b geometry.Point) {
	lo, hi := p.Knots.Flatten(0.1).Bounds()
	x := (lo.X + hi.X) / 2
	return geometry.Point{X: x, Y: lo.Y}, geometry.Point{X: x, Y: hi.Y}
}

// CodeMirrored is the code of the finding that seams run the other way now.
const CodeMirrored = "mirrored"

// Mirror returns the piece's mirror image in the line from a to b: the left sleeve of a
// right one. Edges keep ids and finishes and run the other way round, notches stay where
// they are on them. The photo does not lie under it any more. Mirroring twice gives the
// piece back. It fails with ErrLine.
func Mirror(p pattern.Piece, a, b geometry.Point) (pattern.Piece, []geometry.Finding, error) {
	if a.Dist(b) < 1 {
		return p, nil, fmt.Errorf("%w: its two points are the same", ErrLine)
	}
	l := through(a, b)
	n, m := len(p.Knots), len(p.Edges)
	now := p
	now.Knots = p.Knots.Map(l.image).Reversed()
	// The old first knot stays the first one.
	now.Knots = append(slices.Clone(now.Knots[n-1:]), now.Knots[:n-1]...)
	now.Holes = nil
	for _, h := range p.Holes {
		now.Holes = append(now.Holes, h.Map(l.image).Reversed())
	}
	now.Edges = nil
	for k, e := range p.Edges { // an edge begins where it ended
		e.Knot = (n - p.Edges[(k+1)%m].Knot) % n
		if e.Finish != nil && e.Finish.EndMM > 0 {
			f := *e.Finish
			f.AllowanceMM, f.EndMM = f.EndMM, f.AllowanceMM
			e.Finish = &f
		}
		now.Edges = append(now.Edges, e)
	}
	slices.SortStableFunc(now.Edges, func(a, b pattern.Edge) int { return a.Knot - b.Knot })
	now.Unsure = nil
	for _, s := range p.Unsure {
		s.From, s.To = l.image(s.To), l.image(s.From)
		now.Unsure = append(now.Unsure, s)
	}
	along := math.Atan2(-l.normal.X, l.normal.Y) * 180 / math.Pi
	if p.Grain != nil {
		now.Grain = &geometry.Grain{Deg: halfTurn(2*along - p.Grain.Deg), Sure: p.Grain.Sure}
	}
	now.Marks = slices.Clone(p.Marks)
	for i := range now.Marks {
		mark := &now.Marks[i]
		if mark.Kind == pattern.MarkNotch || mark.Kind == pattern.MarkDart {
			mark.At = 1 - mark.At
		}
		if mark.Deg != nil {
			d := halfTurn(2*along - *mark.Deg)
			mark.Deg = &d
		}
		mark.Points = slices.Clone(mark.Points)
		for j, q := range mark.Points {
			mark.Points[j] = l.image(q)
		}
	}
	return now, []geometry.Finding{{
		Code: CodeMirrored, Severity: geometry.SeverityInfo, Piece: p.ID,
		Message: p.Name + " is its own mirror image now: its edges run the other way round, and a photo does not lie under it any more.",
		Remedy:  "Where it is sewn to another piece, say anew from which end the seam begins.",
	}}, sound(p, now)
}

// halfTurn brings a direction into [0, 180) degrees, to a thousandth.
func halfTurn(deg float64) float64 {
	d := math.Mod(math.Round(deg*1000)/1000, 180)
	if d < 0 {
		d += 180
	}
	return math.Mod(d, 180)
}

// Keep says which half of a piece stays when it is made symmetric.
type Keep string

// The left and the right half are those beside the line in its direction; KeepMean takes
// the mean of both.
const (
	KeepLeft  Keep = "left"
	KeepRight Keep = "right"
	KeepMean  Keep = "mean"
)

// Symmetric returns the piece made symmetric about the line from a to b, which crosses its
// outline twice: one half and its mirror image, or the mean of both. Edges and notches are
// carried over to it, marks inside and holes stay. It fails with ErrLine or ErrOp.
func Symmetric(p pattern.Piece, a, b geometry.Point, keep Keep) (pattern.Piece, []geometry.Finding, error) {
	if a.Dist(b) < 1 {
		return p, nil, fmt.Errorf("%w: its two points are the same", ErrLine)
	}
	l := through(a, b)
	at := l.crossings(p.Knots, 0)
	if len(at) != 2 {
		return p, nil, fmt.Errorf("%w: it crosses %s %d times, where a piece is made symmetric about a line that crosses it twice", ErrLine, p.Name, len(at))
	}
	halves := [2][]bit{bitsOf(p.Knots, stretch{from: at[0], to: at[1], move: still}), bitsOf(p.Knots, stretch{from: at[1], to: at[0], move: still})}
	if l.off(middle(p.Knots, at[0], at[1])) < 0 { // the left one first
		halves[0], halves[1] = halves[1], halves[0]
	}
	var half []bit
	switch keep {
	case KeepLeft:
		half = halves[0]
	case KeepRight:
		half = halves[1]
	case KeepMean, "":
		half = mean(halves[0], mirrored(halves[1], l))
	default:
		return p, nil, fmt.Errorf("%w: it keeps the %q half; that is left, right or mean", ErrOp, keep)
	}
	half[0].A, half[len(half)-1].D = l.foot(half[0].A), l.foot(half[len(half)-1].D)
	whole := append(slices.Clone(half), mirrored(half, l)...)
	for _, i := range []int{0, len(half)} {
		whole[i].fresh = true
	}
	whole, _ = healed(whole, func(int) bool { return false })
	now, findings := p.CarryOver(nearFirst(pathOf(whole), p.Knots[0].At))
	return now, findings, sound(p, now)
}

func (l line) foot(q geometry.Point) geometry.Point { return q.Add(l.normal.Scale(-l.off(q))) }

// nearFirst returns the ring begun at the knot nearest to a point.
func nearFirst(ring geometry.Path, q geometry.Point) geometry.Path {
	best := 0
	for i, k := range ring {
		if k.At.Dist(q) < ring[best].At.Dist(q) {
			best = i
		}
	}
	return append(slices.Clone(ring[best:]), ring[:best]...)
}

// mirrored returns a half as its mirror image has it, walked the other way.
func mirrored(half []bit, l line) []bit {
	out := make([]bit, len(half))
	for i, b := range half {
		j := len(half) - 1 - i
		out[j] = bit{Segment: geometry.Segment{A: l.image(b.D), B: l.image(b.C), C: l.image(b.B), D: l.image(b.A), Curved: b.Curved}, src: -1}
		if i+1 < len(half) {
			out[j].corner = half[i+1].corner
		}
	}
	return out
}

// mean returns the half between two: corner by corner where both have as many, else as
// one curve.
func mean(a, b []bit) []bit {
	runsA, runsB := runsOf(a), runsOf(b)
	if len(runsA) != len(runsB) {
		runsA, runsB = [][]geometry.Segment{segments(a)}, [][]geometry.Segment{segments(b)}
	}
	var out []bit
	for i := range runsA {
		p, q := evenly(runsA[i], fairStepMM, fairMost), evenly(runsB[i], fairStepMM, fairMost)
		if len(p) < len(q) {
			p = resampled(runsA[i], len(q)-1)
		} else if len(q) < len(p) {
			q = resampled(runsB[i], len(p)-1)
		}
		pts := make([]geometry.Point, len(p))
		for j := range p {
			pts[j] = p[j].Lerp(q[j], 0.5)
		}
		corner := true
		if straight(runsA[i]) && straight(runsB[i]) {
			first, last := pts[0], pts[len(pts)-1]
			out = append(out, bit{Segment: geometry.Segment{A: first, B: first, C: last, D: last}, src: -1, corner: corner})
			continue
		}
		for _, s := range fit.Through(pts, directions(pts, nil, nil), fairTolMM) {
			out = append(out, bit{Segment: s, src: -1, corner: corner})
			corner = false
		}
	}
	return out
}

func straight(line []geometry.Segment) bool { return len(line) == 1 && !line[0].Curved }

func resampled(line []geometry.Segment, n int) []geometry.Point {
	return evenly(line, geometry.ChainLength(line)/(float64(n)-0.5), n)
}

func segments(bits []bit) []geometry.Segment {
	out := make([]geometry.Segment, len(bits))
	for i, b := range bits {
		out[i] = b.Segment
	}
	return out
}

// runsOf cuts a half at its corners.
func runsOf(bits []bit) [][]geometry.Segment {
	var out [][]geometry.Segment
	for i, b := range bits {
		if i == 0 || b.corner {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], b.Segment)
	}
	return out
}

// ToGrain returns the piece turned so that its grain runs along +y: the grain line drawn
// on it, or else the direction that its photo suggests. It fails with ErrOp where neither
// is there.
func ToGrain(p pattern.Piece) (pattern.Piece, []geometry.Finding, error) {
	deg, ok := GrainOf(p)
	if !ok {
		return p, nil, fmt.Errorf("%w: %s has no grain line to be turned to; draw one first", ErrOp, p.Name)
	}
	by := halfTurn(90 - deg)
	if by > 90 {
		by -= 180 // the shorter way
	}
	return p.Turned(by * math.Pi / 180), nil, nil
}

// GrainOf returns the direction of a piece's grain in degrees counter-clockwise from +x, in
// [0, 180): of its first grain line, or else as its photo suggests; false where neither is
// there.
func GrainOf(p pattern.Piece) (float64, bool) {
	for _, m := range p.Marks {
		if m.Kind != pattern.MarkGrain || m.Detached != "" {
			continue
		}
		switch k := p.Edge(m.Edge); {
		case m.Deg != nil:
			return halfTurn(*m.Deg), true
		case len(m.Points) == 2:
			v := m.Points[1].Sub(m.Points[0])
			return halfTurn(math.Atan2(v.Y, v.X) * 180 / math.Pi), true
		case k >= 0:
			line := p.EdgeChain(k)
			v := line[len(line)-1].D.Sub(line[0].A)
			return halfTurn(math.Atan2(v.Y, v.X) * 180 / math.Pi), true
		}
	}
	if p.Grain != nil {
		return p.Grain.Deg, true
	}
	return 0, false
}
