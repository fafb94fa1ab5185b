package pattern

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// SeamRow is a seam as it was walked along the stitch lines. Lengths in mm.
type SeamRow struct {
	ID   string  `json:"id"`
	Name string  `json:"name"`
	AMM  float64 `json:"a_mm"`
	BMM  float64 `json:"b_mm"`
	// ATracedMM and BTracedMM are the same sides along the outlines as they were traced:
	// what an editor of outlines needs to tell where they will agree.
	ATracedMM float64 `json:"a_traced_mm"`
	BTracedMM float64 `json:"b_traced_mm"`
	// EaseMM is what A is meant to be longer, OffMM what it is longer beyond that.
	EaseMM  float64 `json:"ease_mm"`
	OffMM   float64 `json:"off_mm"`
	LimitMM float64 `json:"limit_mm"`
	// Parts lie between notches; none where the two sides have different notches or
	// no notch.
	Parts []SeamPart `json:"parts,omitempty"`
	// StartDeg and EndDeg are the sums of the corner angles where the edge beside
	// the seam is meant to run on; 180 is no kink. Absent where it is not.
	StartDeg *float64 `json:"start_deg,omitempty"`
	EndDeg   *float64 `json:"end_deg,omitempty"`
	// Known says whether both stitch lines are known.
	Known bool `json:"known"`
	// OK says that lengths and parts are known and within the limit.
	OK bool `json:"ok"`
}

// SeamPart is what lies between two notches, or a notch and an end.
type SeamPart struct {
	AMM float64 `json:"a_mm"`
	BMM float64 `json:"b_mm"`
}

// AngleToleranceDeg is how far the angles of two joined corners may be from 180
// degrees together before it is said (judgement, no source).
const AngleToleranceDeg = 3.0

// walked is one side of a seam, walked from its start.
type walked struct {
	length  float64 // along the stitch line, mm
	traced  float64 // along the outline, mm
	notches []notched
	known   bool
}

type notched struct {
	at    float64 // mm from the start
	count int
}

func (c *checker) walk(runs []Run) walked {
	w := walked{known: true}
	for _, r := range runs {
		w.known = c.known(r) && w.known
		c.walked = append(c.walked, r)
		l := geometry.ChainLength(c.line(r))
		darts := c.darts(r)
		for _, m := range c.pieces[r.Piece].piece.Marks {
			if m.Kind != MarkNotch || m.Edge != r.Edge || m.Detached != "" {
				continue
			}
			f := m.At
			if r.Reverse {
				f = 1 - f
			}
			w.notches = append(w.notches, notched{w.length + f*l - taken(darts, f, l), m.count()})
		}
		w.length += l - taken(darts, 1, l)
		s := c.pieces[r.Piece]
		traced := geometry.ChainLength(s.piece.EdgeChain(s.piece.Edge(r.Edge)))
		w.traced += traced - taken(darts, 1, traced)
	}
	slices.SortStableFunc(w.notches, func(a, b notched) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	return w
}

// takenIn is a dart on a walked edge: the fraction of its middle, and its width in mm.
type takenIn struct{ at, mm float64 }

// darts returns what darts take out of a walked edge: they are folded out before a seam
// is measured.
func (c *checker) darts(r Run) []takenIn {
	var out []takenIn
	for _, m := range c.pieces[r.Piece].piece.Marks {
		if m.Kind != MarkDart || m.Edge != r.Edge || m.Detached != "" {
			continue
		}
		f := m.At
		if r.Reverse {
			f = 1 - f
		}
		out = append(out, takenIn{f, m.WidthMM})
	}
	return out
}

// taken returns how much of the first fraction of an edge of a length darts take out.
func taken(darts []takenIn, fraction, length float64) float64 {
	var mm float64
	for _, d := range darts {
		mm += math.Min(math.Max((fraction-d.at)*length+d.mm/2, 0), d.mm)
	}
	return mm
}

// seam walks both sides of a seam.
func (c *checker) seam(s SeamPair) {
	a, b := c.walk(s.A), c.walk(s.B)
	row := SeamRow{
		ID: s.ID, Name: s.Name, AMM: a.length, BMM: b.length, ATracedMM: a.traced, BTracedMM: b.traced, EaseMM: s.EaseMM,
		OffMM: a.length - b.length - s.EaseMM, LimitMM: cmp.Or(s.ToleranceMM, SeamToleranceMM), Known: a.known && b.known,
	}
	row.OK = row.Known && math.Abs(row.OffMM) <= row.LimitMM
	where := c.line(s.A[0])[0].A
	if row.Known && !row.OK {
		c.find(geometry.Finding{
			Code: CodeSeamLength, Severity: geometry.SeverityError, Piece: s.A[0].Piece, Where: &where, Amount: math.Abs(row.OffMM), Limit: row.LimitMM,
			Message: fmt.Sprintf("%s: the sides are %.1f and %.1f mm long; %s.", s.Name, row.AMM, row.BMM, offText(row)),
			Remedy:  "Correct one of the edges, or enter the ease that is meant.",
		})
	}
	row.Parts = c.parts(s, a, b, &row)
	if row.Known {
		c.propose(s, a, b)
	}
	if s.RunsOnStart {
		row.StartDeg = c.joined(s, s.A[0], s.B[0], true)
	}
	if s.RunsOnEnd {
		row.EndDeg = c.joined(s, s.A[len(s.A)-1], s.B[len(s.B)-1], false)
	}
	c.report.Seams = append(c.report.Seams, row)
}

func offText(r SeamRow) string {
	longer := "first"
	if r.OffMM < 0 {
		longer = "second"
	}
	text := fmt.Sprintf("the %s is %.1f mm too long", longer, math.Abs(r.OffMM))
	if r.EaseMM != 0 {
		text += fmt.Sprintf(" for the ease of %.1f mm that is meant", r.EaseMM)
	}
	return text
}

// parts compares what lies between the notches. Ease may lie in any part, but no
// part may differ the other way, or by more than all of the ease.
func (c *checker) parts(s SeamPair, a, b walked, row *SeamRow) []SeamPart {
	if len(a.notches)+len(b.notches) == 0 {
		return nil
	}
	same := slices.EqualFunc(a.notches, b.notches, func(p, q notched) bool { return p.count == q.count })
	if !same {
		c.find(geometry.Finding{
			Code: CodeSeamNotches, Severity: geometry.SeverityWarning,
			Message: fmt.Sprintf("%s: the notches do not agree: %s on the first side, %s on the second.", s.Name, notchText(a.notches), notchText(b.notches)),
			Remedy:  "Give both sides the same notches in the same order; a seam may be walked from the wrong end.",
		})
		return nil
	}
	var parts []SeamPart
	var fromA, fromB float64
	low, top := math.Min(0, row.EaseMM)-row.LimitMM, math.Max(0, row.EaseMM)+row.LimitMM
	for i := range len(a.notches) + 1 {
		toA, toB := a.length, b.length
		if i < len(a.notches) {
			toA, toB = a.notches[i].at, b.notches[i].at
		}
		p := SeamPart{toA - fromA, toB - fromB}
		parts = append(parts, p)
		if off := p.AMM - p.BMM; row.Known && (off < low || off > top) {
			row.OK = false
			c.find(geometry.Finding{
				Code: CodeSeamPart, Severity: geometry.SeverityError, Amount: math.Abs(off), Limit: math.Max(-low, top),
				Message: fmt.Sprintf("%s, part %d of %d between notches: the sides are %.1f and %.1f mm long.", s.Name, i+1, len(a.notches)+1, p.AMM, p.BMM),
				Remedy:  "Move a notch, or correct one of the edges.",
			})
		}
		fromA, fromB = toA, toB
	}
	return parts
}

func notchText(notches []notched) string {
	if len(notches) == 0 {
		return "none"
	}
	text := ""
	for i, n := range notches {
		if i > 0 {
			text += ", "
		}
		text += [...]string{"single", "double", "triple"}[min(max(n.count, 1), 3)-1]
	}
	return text
}

// joined returns the sum of the two corner angles where a seam begins or ends, in
// degrees, and reports a kink.
func (c *checker) joined(s SeamPair, a, b Run, start bool) *float64 {
	sa, sb := c.pieces[a.Piece], c.pieces[b.Piece]
	sum := sa.cornerDeg(a, start) + sb.cornerDeg(b, start)
	off := JoinedOff(sum)
	if math.Abs(off) > AngleToleranceDeg {
		shape, end := "peak", "end"
		if off < 0 {
			shape = "dip"
		}
		if start {
			end = "start"
		}
		line := c.line(a)
		where := line[len(line)-1].D
		if start {
			where = line[0].A
		}
		c.find(geometry.Finding{
			Code: CodeSeamAngle, Severity: geometry.SeverityWarning, Piece: a.Piece, Where: &where, Amount: math.Abs(off), Limit: AngleToleranceDeg,
			Message: fmt.Sprintf("%s: at its %s the joined corners make %.1f degrees, so that the edge beside the seam has a %s of %.1f degrees.", s.Name, end, sum, shape, math.Abs(off)),
			Remedy:  "Shape the edges beside the seam so that they run on through it.",
		})
	}
	return &sum
}

// JoinedOff returns by how many degrees the sum of the corner angles at a seam's end
// is off 180: positive for a peak, negative for a dip (from memory; common practice,
// no source).
func JoinedOff(sumDeg float64) float64 { return sumDeg - 180 }

// cornerDeg returns the angle inside the piece, in degrees, at the corner where a
// walked edge starts or ends.
func (s stitched) cornerDeg(r Run, start bool) float64 {
	k, n := s.piece.Edge(r.Edge), len(s.first)
	if start == r.Reverse { // the corner at the far end of the edge
		k = (k + 1) % n
	}
	before, after := s.edge((k+n-1)%n), s.edge(k)
	in := heading(before[len(before)-1], 1)
	out := heading(after[0], 0)
	return 180 - math.Atan2(in.Cross(out), in.Dot(out))*180/math.Pi
}

// CurveRow compares two curves. Lengths in mm.
type CurveRow struct {
	ID   string     `json:"id"`
	Name string     `json:"name"`
	A    CurveShape `json:"a"`
	B    CurveShape `json:"b"`
	// ApartMM is the greatest distance between the two laid on each other.
	ApartMM float64 `json:"apart_mm"`
}

// CurveShape is a curve laid along its chord: it begins at the origin, ends on the
// +x axis, and bulges up.
type CurveShape struct {
	ChordMM  float64 `json:"chord_mm"`
	LengthMM float64 `json:"length_mm"`
	// DepthMM is its greatest distance from the chord.
	DepthMM float64          `json:"depth_mm"`
	Points  []geometry.Point `json:"points_mm"`
}

func (c *checker) curves(p CurvePair) {
	c.known(p.A)
	c.known(p.B)
	row := CurveRow{ID: p.ID, Name: p.Name, A: shapeOf(c.line(p.A)), B: shapeOf(c.line(p.B))}
	row.ApartMM = math.Max(apart(row.A.Points, row.B.Points), apart(row.B.Points, row.A.Points))
	c.report.Curves = append(c.report.Curves, row)
}

// shapeOf lays a chain along its chord.
func shapeOf(line []geometry.Segment) CurveShape {
	from := points(line)
	a, b := from[0], from[len(from)-1]
	dir := b.Sub(a).Unit()
	out := CurveShape{ChordMM: a.Dist(b), LengthMM: geometry.ChainLength(line)}
	bulge := 0.0
	for _, q := range from {
		v := q.Sub(a)
		r := geometry.Point{X: v.Dot(dir), Y: dir.Cross(v)}
		if math.Abs(r.Y) > math.Abs(bulge) {
			bulge = r.Y
		}
		out.Points = append(out.Points, r)
	}
	out.DepthMM = math.Abs(bulge)
	if bulge < 0 {
		for i := range out.Points {
			out.Points[i].Y *= -1
		}
	}
	return out
}

// apart returns the greatest distance of the points of one line from another.
func apart(from, to []geometry.Point) float64 {
	var most float64
	for _, q := range from {
		least := math.Inf(1)
		for i := range len(to) - 1 {
			least = math.Min(least, distToStretch(q, to[i], to[i+1]))
		}
		most = math.Max(most, least)
	}
	return most
}

func distToStretch(q, a, b geometry.Point) float64 {
	d := b.Sub(a)
	t := 0.0
	if l := d.Dot(d); l > 0 {
		t = math.Min(math.Max(q.Sub(a).Dot(d)/l, 0), 1)
	}
	return q.Dist(a.Lerp(b, t))
}
