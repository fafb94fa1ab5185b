package lay

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// meeting is a point at which two pieces are sewn together, in the frames of their
// outlines (grain along +y), with the points that follow along the same seam.
type meeting struct {
	seam   string
	a, b   string // pieces
	pa, pb geometry.Point
	// bars says that the seam runs along the grain on both sides, so that stripes across
	// the cloth meet too.
	bars bool
	rest [][2]geometry.Point
}

// match holds the pieces that meet along seams, whose stripes are to match, to the
// stripes of the cloth: at the first notch that both sides have, else where the sewing
// begins (matching at the stitch line, not the cut line: Tanzania Institute of
// Education, Textiles and Garment Construction, Form One, p. 179). Pieces that match lie
// the same way up. Stripes are taken to look the same from both sides, so that a left
// and a right match alike.
func (t *Task) match(g pattern.Garment, drafts []pattern.Drafted) {
	if t.Cloth.RepeatLengthMM == 0 && t.Cloth.RepeatAcrossMM == 0 {
		return
	}
	meet := t.meetings(g, drafts)
	if len(meet) == 0 {
		t.Findings = append(t.Findings, geometry.Finding{
			Code: CodePrint, Severity: geometry.SeverityInfo,
			Message: "The cloth has stripes or checks, but no seam is marked on which they are to meet: the pieces lie anywhere on them.",
			Remedy:  "Mark the seams on which they are to meet, side seams first.",
		})
		return
	}
	c := t.Cloth
	t.Instance.Print = Print{RepeatX: c.RepeatLengthMM, RepeatY: c.RepeatAcrossMM, AtX: c.StripeLengthMM, AtY: c.StripeAcrossMM}
	along := t.anchors(meet, c.RepeatLengthMM, "along the cloth", func(m meeting) bool { return m.bars }, func(q geometry.Point) float64 { return q.Y })
	across := t.anchors(meet, c.RepeatAcrossMM, "across the cloth", func(meeting) bool { return true }, func(q geometry.Point) float64 { return q.X })
	for i := range t.Instance.Pieces {
		p := &t.Instance.Pieces[i]
		q := t.parts[p.ID]
		y, isAlong := along[q.id]
		x, isAcross := across[q.id]
		if !isAlong && !isAcross {
			continue
		}
		p.Anchor, p.FreeX, p.FreeY = &geometry.Point{X: x, Y: y}, !isAlong, !isAcross || q.atFold
		p.TurnsDeg = []float64{topAway}
		p.AnyFace = p.AnyFace && !p.AtFold // mirrored there, it would lie upside down
		q.bases = p.TurnsDeg
		t.parts[p.ID] = q
		if off := math.Abs(math.Remainder(t.foldOff(*p, x), c.RepeatAcrossMM)); q.atFold && isAcross && off > pattern.SeamToleranceMM {
			t.cannotMatch(q.name, "at the fold", off)
		}
	}
	if c.Spread == Lengthwise || c.Spread == Crosswise {
		t.Findings = append(t.Findings, geometry.Finding{
			Code: CodePrint, Severity: geometry.SeverityInfo,
			Message: "Both layers of folded cloth must lie stripe on stripe.",
			Remedy:  "Fold it along the middle of a stripe, right side out, and pin the layers together on the stripes.",
		})
	}
}

// foldOff returns how far the anchor of a piece at the fold is from a stripe.
func (t *Task) foldOff(p Piece, x float64) float64 {
	at := Placement{RotationDeg: p.turns()[0]}
	lo, _ := turned(p.Outline, at).Bounds()
	return at.Apply(geometry.Point{X: x}).Y - lo.Y - t.Instance.Print.AtY
}

// anchors returns the coordinate, along one axis, of the point of each piece that must
// lie on a stripe. One piece of all that hang together decides: the one at the fold, or
// the first; the rest follow from seam to seam. Seams that close a ring can only be
// checked.
func (t *Task) anchors(meet []meeting, repeat float64, way string, counts func(meeting) bool, axis func(geometry.Point) float64) map[string]float64 {
	out := map[string]float64{}
	if repeat == 0 {
		return out
	}
	var used []meeting
	for _, m := range meet {
		if counts(m) {
			used = append(used, m)
		}
	}
	tree := map[int]bool{}
	for _, root := range t.roots(used) {
		if _, done := out[root]; done {
			continue
		}
		out[root] = axis(t.origin(root))
		for grown := true; grown; {
			grown = false
			for i, m := range used {
				a, hasA := out[m.a]
				b, hasB := out[m.b]
				switch {
				case hasA && !hasB:
					out[m.b] = axis(m.pb) - axis(m.pa) + a
				case hasB && !hasA:
					out[m.a] = axis(m.pa) - axis(m.pb) + b
				default:
					continue
				}
				tree[i], grown = true, true
			}
		}
	}
	for i, m := range used {
		off := func(pa, pb geometry.Point) float64 {
			return math.Abs(math.Remainder(axis(pa)-out[m.a]-axis(pb)+out[m.b], repeat))
		}
		if d := off(m.pa, m.pb); !tree[i] && d > pattern.SeamToleranceMM {
			t.cannotMatch(m.seam, way, d)
			continue
		}
		for _, r := range m.rest {
			if d := off(r[0], r[1]); d > pattern.SeamToleranceMM {
				t.cannotMatch(m.seam+", at a later notch,", way, d)
				break
			}
		}
	}
	return out
}

func (t *Task) cannotMatch(what, way string, off float64) {
	t.Findings = append(t.Findings, geometry.Finding{
		Code: CodePrint, Severity: geometry.SeverityWarning, Amount: off, Limit: pattern.SeamToleranceMM,
		Message: fmt.Sprintf("%s: the stripes miss each other by %.0f mm %s.", what, off, way),
		Remedy:  "Other seams have decided already where these pieces lie on the print. Choose which seams are to match, the one that is seen most first.",
	})
}

// roots are the pieces in the order in which they decide: those at the fold first.
func (t *Task) roots(meet []meeting) []string {
	var fold, rest []string
	for _, p := range t.Instance.Pieces {
		q := t.parts[p.ID]
		if !slices.ContainsFunc(meet, func(m meeting) bool { return m.a == q.id || m.b == q.id }) {
			continue
		}
		if q.atFold {
			fold = append(fold, q.id)
		} else {
			rest = append(rest, q.id)
		}
	}
	return append(fold, rest...)
}

// origin is the point of a piece that lies on a stripe when nothing else decides: its
// foot, and its middle or the fold.
func (t *Task) origin(id string) geometry.Point {
	for _, p := range t.Instance.Pieces {
		q := t.parts[p.ID]
		if q.id != id {
			continue
		}
		lo, hi := p.Outline.Bounds()
		if q.atFold {
			return geometry.Point{X: hi.X, Y: lo.Y} // at topAway, +x is the side y = 0
		}
		return geometry.Point{X: (lo.X + hi.X) / 2, Y: lo.Y}
	}
	return geometry.Point{}
}

// meetings returns where the pieces of this cloth meet along seams that are to match.
func (t *Task) meetings(g pattern.Garment, drafts []pattern.Drafted) []meeting {
	var out []meeting
	for _, s := range g.SeamPairs {
		if !s.MatchPrint {
			continue
		}
		a, b := t.side(g, drafts, s.A), t.side(g, drafts, s.B)
		if len(a.runs) == 0 || len(b.runs) == 0 {
			continue // one side is of another cloth, or cannot be drawn
		}
		if a.bias || b.bias {
			t.cannotMatch(s.Name+", where a piece lies on the bias,", "everywhere", 0)
			continue
		}
		from := [][2]float64{{0, 0}}
		if len(a.notches) > 0 && len(a.notches) == len(b.notches) {
			from = from[:0]
			for i := range a.notches {
				from = append(from, [2]float64{a.notches[i], b.notches[i]})
			}
		}
		m := meeting{seam: s.Name, bars: a.steep() && b.steep()}
		m.a, m.pa = a.at(from[0][0])
		m.b, m.pb = b.at(from[0][1])
		for _, f := range from[1:] {
			pieceA, pa := a.at(f[0])
			pieceB, pb := b.at(f[1])
			if pieceA == m.a && pieceB == m.b {
				m.rest = append(m.rest, [2]geometry.Point{pa, pb})
			}
		}
		if m.a != m.b {
			out = append(out, m)
		}
	}
	return out
}

// seamSide is one side of a seam: its runs as lines in the frames of the outlines.
type seamSide struct {
	runs    []seamRun
	notches []float64 // mm from where the sewing begins
	bias    bool
}

type seamRun struct {
	piece string
	line  geometry.Polyline
}

// side returns a side of a seam; without runs where a piece is not laid on this cloth.
func (t *Task) side(g pattern.Garment, drafts []pattern.Drafted, runs []pattern.Run) seamSide {
	var out seamSide
	total := 0.0
	for _, r := range runs {
		i := slices.IndexFunc(g.Pieces, func(p pattern.Piece) bool { return p.ID == r.Piece })
		q, ok := t.partOf(r.Piece)
		if i < 0 || !ok || !drafts[i].Drawn() {
			return seamSide{}
		}
		line := edgeLine(drafts[i], r.Edge).Map(Placement{RotationDeg: q.turnDeg, Mirrored: q.mirrored}.Apply)
		if r.Reverse {
			slices.Reverse(line)
		}
		length := openLength(line)
		for _, m := range g.Pieces[i].Marks {
			if m.Kind != pattern.MarkNotch || m.Edge != r.Edge || m.Detached != "" {
				continue
			}
			at := m.At
			if r.Reverse {
				at = 1 - at
			}
			out.notches = append(out.notches, total+at*length)
		}
		out.runs = append(out.runs, seamRun{r.Piece, line})
		out.bias = out.bias || onBias(drafts[i])
		total += length
	}
	slices.Sort(out.notches)
	return out
}

func (t *Task) partOf(piece string) (part, bool) {
	for _, p := range t.Instance.Pieces {
		if q := t.parts[p.ID]; q.id == piece {
			return q, true
		}
	}
	return part{}, false
}

// edgeLine returns the stitch line of an edge of a piece that is not whole, within 0.1 mm.
func edgeLine(d pattern.Drafted, edge string) geometry.Polyline {
	k := slices.IndexFunc(d.Edges, func(e pattern.DraftedEdge) bool { return e.ID == edge })
	n := len(d.StitchLine)
	var out geometry.Polyline
	end := d.Edges[(k+1)%len(d.Edges)].Knot
	for i := d.Edges[k].Knot; ; {
		s := d.StitchLine.Segment(i)
		const steps = 32
		for j := range steps {
			out = append(out, s.At(float64(j)/steps))
		}
		if i = (i + 1) % n; i == end {
			return append(out, s.D)
		}
	}
}

func openLength(line geometry.Polyline) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += line[i].Dist(line[i-1])
	}
	return sum
}

// at returns the piece and the point at a distance along a side.
func (s seamSide) at(mm float64) (string, geometry.Point) {
	for n, r := range s.runs {
		for i := 1; i < len(r.line); i++ {
			l := r.line[i].Dist(r.line[i-1])
			if mm <= l && l > 0 {
				return r.piece, r.line[i-1].Lerp(r.line[i], mm/l)
			}
			mm -= l
		}
		if n == len(s.runs)-1 {
			return r.piece, r.line[len(r.line)-1]
		}
	}
	return "", geometry.Point{}
}

// steep reports whether a side runs rather along the grain than across it.
func (s seamSide) steep() bool {
	a, b := s.runs[0].line[0], s.runs[len(s.runs)-1].line
	v := b[len(b)-1].Sub(a)
	return math.Abs(v.Y) > math.Abs(v.X)
}
