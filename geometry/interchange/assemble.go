package interchange

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
)

// Role is what a layer of a drawing holds, as its name says.
type Role string

// The roles: lines to cut, to sew and to fold along, the grain, marks, and what is no
// part of a piece (sheet joins, squares to measure). Other names have none.
const (
	RoleUnknown Role = ""
	RoleCut     Role = "cut"
	RoleSew     Role = "sew"
	RoleFold    Role = "fold"
	RoleGrain   Role = "grain"
	RoleMark    Role = "mark"
	RoleNone    Role = "none"
)

// roleWords are looked for in the names of layers, in this order.
var roleWords = []struct {
	word string
	role Role
}{
	{"not-sure", RoleNone},
	{"joins", RoleNone},
	{"squares", RoleNone},
	{"stitch", RoleSew},
	{"sew", RoleSew},
	{"fold", RoleFold},
	{"grain", RoleGrain},
	{"mark", RoleMark},
	{"notch", RoleMark},
	{"drill", RoleMark},
	{"cut", RoleCut},
}

// RoleOf returns the role of a layer by its name in English words, whatever their case
// and what joins them: "Cut line", "CUT-LINE", "layer-cut-line".
func RoleOf(layer string) Role {
	name := strings.Join(strings.FieldsFunc(strings.ToLower(layer), func(r rune) bool { return strings.ContainsRune(" -_.", r) }), "-")
	for _, w := range roleWords {
		if strings.Contains(name, w.word) {
			return w.role
		}
	}
	return RoleUnknown
}

// Ring is one line of a stroke; when Open it ends at its last knot.
type Ring struct {
	Knots geometry.Path
	Open  bool
}

// Stroke is a drawn path of one or more lines, mm, y up.
type Stroke struct {
	Role  Role
	Rings []Ring
	// EvenOdd says that a line inside another is a hole whichever way both run (the rule
	// of SVG); else it is one where they run opposite ways.
	EvenOdd bool
	// Name is what the drawing calls it; may be empty.
	Name string
}

// Word is a line of text and its height.
type Word struct {
	At     geometry.Point
	SizeMM float64
	Text   string
}

// Drawing is what is drawn without saying which line belongs to which piece.
type Drawing struct {
	Strokes []Stroke
	Words   []Word
	// Skipped and Findings are as in Pattern.
	Skipped  map[string]int
	Findings []geometry.Finding
}

const (
	// joinMM is how near two ends must be to be joined.
	joinMM = 0.05
	// maxStrokes is more than a pattern has; what follows is not looked at.
	maxStrokes = 5000
	// leastMM2 is the least area of a piece.
	leastMM2 = 1.0
)

// Assemble makes pieces of a drawing. Each closed line to cut along is a piece, or a hole
// in the one round it; where no layer says what is cut, so is every closed line that
// lies in no other. Lines to cut whose ends meet are joined; one that is open along a fold
// line is closed there and is a half. The rest belongs to the first piece that it lies
// in: lines to sew along, notches (short lines that begin on the cut line), drill holes
// (crosses), the grain, other lines, words; the largest word names a piece without a name. An open
// line to cut along is no piece, which a finding says.
func Assemble(d Drawing) Pattern {
	a := assembly{drawing: d, out: Pattern{Skipped: d.Skipped, Findings: slices.Clone(d.Findings)}}
	if a.out.Skipped == nil {
		a.out.Skipped = map[string]int{}
	}
	named := slices.ContainsFunc(d.Strokes, func(s Stroke) bool { return s.Role == RoleCut })
	var loose []Ring
	for i, s := range d.Strokes {
		switch {
		case i >= maxStrokes:
			a.out.Skipped[fmt.Sprintf("lines beyond the first %d", maxStrokes)]++
		case s.Role == RoleCut || s.Role == RoleUnknown && !named:
			loose = append(loose, a.cut(s)...)
		case s.Role != RoleNone:
			for _, r := range s.Rings {
				a.rest = append(a.rest, part{s.Role, r})
			}
		}
	}
	a.close(loose, named)
	a.nest(named)
	for _, p := range a.rest {
		a.place(p)
	}
	for i := range a.out.Pieces {
		sortMarks(&a.out.Pieces[i], a.marks[i])
	}
	a.write()
	return a.out
}

// part is a line that belongs to a piece.
type part struct {
	role Role
	ring Ring
}

type assembly struct {
	drawing Drawing
	rings   []outline
	rest    []part
	flat    []geometry.Polyline // of the pieces
	marks   [][]Ring            // of the pieces
	out     Pattern
}

// outline is a closed line to cut along and its holes.
type outline struct {
	cut    geometry.Path
	flat   geometry.Polyline
	holes  []geometry.Path
	name   string
	mirror []geometry.Point
}

// cut takes the closed lines of a stroke; it returns the open ones.
func (a *assembly) cut(s Stroke) (open []Ring) {
	var closed []geometry.Path
	for _, r := range s.Rings {
		switch {
		case r.Open:
			open = append(open, r)
		case math.Abs(r.Knots.Area()) >= leastMM2:
			closed = append(closed, r.Knots)
		}
	}
	slices.SortStableFunc(closed, func(p, q geometry.Path) int { return cmp.Compare(math.Abs(q.Area()), math.Abs(p.Area())) })
	first := len(a.rings)
	for _, p := range closed {
		host := slices.IndexFunc(a.rings[first:], func(o outline) bool { return o.flat.Contains(p[0].At) })
		if host < 0 {
			a.rings = append(a.rings, outline{cut: p, flat: p.Flatten(0.1), name: s.Name})
			continue
		}
		o := &a.rings[first+host]
		if s.EvenOdd || p.Area()*o.cut.Area() < 0 {
			o.holes = append(o.holes, p)
		} else {
			a.rest = append(a.rest, part{RoleUnknown, Ring{Knots: p}})
		}
	}
	return open
}

// close joins open lines, closes what a fold line closes, and says what stays open.
func (a *assembly) close(loose []Ring, named bool) {
	for _, r := range joined(loose) {
		first, last := r.Knots[0].At, r.Knots[len(r.Knots)-1].At
		gap := first.Dist(last)
		mirror := a.foldAlong(first, last)
		switch closed := shut(r.Knots); {
		case len(r.Knots) > 2 && gap <= joinMM && math.Abs(closed.Area()) >= leastMM2:
			a.rings = append(a.rings, outline{cut: closed, flat: closed.Flatten(0.1)})
		case len(r.Knots) > 2 && mirror && math.Abs(r.Knots.Area()) >= leastMM2:
			a.rings = append(a.rings, outline{cut: r.Knots, flat: r.Knots.Flatten(0.1), mirror: []geometry.Point{last, first}})
		case !named:
			a.rest = append(a.rest, part{RoleUnknown, r}) // a mark, perhaps
		default:
			a.stayedOpen(r.Knots, gap)
		}
	}
}

func (a *assembly) stayedOpen(p geometry.Path, gap float64) {
	from, to := p[0].At, p[len(p)-1].At
	a.out.Findings = append(a.out.Findings, geometry.Finding{
		Code: CodeLeft, Severity: geometry.SeverityWarning, Amount: gap,
		Message: fmt.Sprintf("A line to cut along is open: it runs from (%.0f, %.0f) to (%.0f, %.0f) mm, and its ends are %.1f mm apart. It was not taken as a piece.", from.X, from.Y, to.X, to.Y, gap),
		Remedy:  "Close it in the program that drew it, and bring the file in again.",
	})
}

// foldAlong reports whether a fold line runs along the straight line between two points.
func (a *assembly) foldAlong(p, q geometry.Point) bool {
	u := q.Sub(p).Unit()
	for _, r := range a.rest {
		if r.role != RoleFold || !r.ring.Open || p.Dist(q) < 1 {
			continue
		}
		k := r.ring.Knots
		on := func(x geometry.Point) bool { return math.Abs(u.Cross(x.Sub(p))) < 0.1 }
		if b, e := k[0].At, k[len(k)-1].At; b.Dist(e) > p.Dist(q)/2 && !slices.ContainsFunc(k, func(n geometry.Knot) bool { return !on(n.At) }) {
			return true
		}
	}
	return false
}

// shut returns the closed path of one whose last knot lies on the first.
func shut(p geometry.Path) geometry.Path {
	out := slices.Clone(p[:len(p)-1])
	out[0].In = p[len(p)-1].In
	return out
}

// joined joins open lines whose ends meet.
func joined(all []Ring) []Ring {
	out := slices.DeleteFunc(slices.Clone(all), func(r Ring) bool { return len(r.Knots) < 2 })
	for i := 0; i < len(out); i++ {
		for j := i + 1; j < len(out); j++ {
			if k, ok := join(out[i].Knots, out[j].Knots); ok {
				out[i].Knots = k
				out = slices.Delete(out, j, j+1)
				j = i
			}
		}
	}
	return out
}

func join(p, q geometry.Path) (geometry.Path, bool) {
	meet := func(k, l geometry.Knot) bool { return k.At.Dist(l.At) <= joinMM }
	if meet(p[0], p[len(p)-1]) {
		return nil, false
	}
	for range 2 {
		switch {
		case meet(p[len(p)-1], q[0]):
			out := slices.Clone(p)
			out[len(out)-1].Out = q[0].Out
			return append(out, q[1:]...), true
		case meet(q[len(q)-1], p[0]):
			return join(q, p)
		}
		q = backwards(q)
	}
	return nil, false
}

func backwards(p geometry.Path) geometry.Path {
	out := make(geometry.Path, len(p))
	for i, k := range p {
		out[len(p)-1-i] = geometry.Knot{At: k.At, In: k.Out, Out: k.In, Corner: k.Corner}
	}
	return out
}

// nest makes pieces of the outlines. One that lies in another is a hole where layers say
// that it is cut, else a line drawn on the other.
func (a *assembly) nest(named bool) {
	for i, o := range a.rings {
		if host := a.around(i); host >= 0 {
			if named {
				a.rings[host].holes = append(a.rings[host].holes, o.cut)
			} else {
				a.rest = append(a.rest, part{RoleUnknown, Ring{Knots: o.cut}})
			}
			a.rings[i].cut = nil
		}
	}
	for _, o := range a.rings {
		if o.cut == nil {
			continue
		}
		q := Piece{Name: o.name, Cut: Wound(o.cut, 1)}
		for _, h := range o.holes {
			q.CutOuts = append(q.CutOuts, Wound(h, -1))
		}
		if o.mirror != nil {
			q.Lines = append(q.Lines, Line{LineMirror, o.mirror})
		}
		a.out.Pieces, a.flat, a.marks = append(a.out.Pieces, q), append(a.flat, q.Cut.Flatten(0.05)), append(a.marks, nil)
	}
}

// around returns the outermost outline that an outline lies in, or -1.
func (a *assembly) around(i int) int {
	best, area := -1, math.Abs(a.rings[i].cut.Area())
	for j, o := range a.rings {
		if big := math.Abs(o.cut.Area()); j != i && o.cut != nil && big > area && o.flat.Contains(a.rings[i].cut[0].At) {
			best, area = j, big
		}
	}
	return best
}

// host returns the piece that a point lies in, or nearly so; -1 where there is none.
func (a *assembly) host(p geometry.Point) int {
	for i, ring := range a.flat {
		if ring.Contains(p) {
			return i
		}
	}
	for i, ring := range a.flat {
		if ring.Dist(p) < 10 { // marks may stand out a little
			return i
		}
	}
	return -1
}

// place gives a line to its piece.
func (a *assembly) place(p part) {
	points := p.ring.points()
	i := -1
	if len(points) > 0 {
		i = a.host(points[len(points)/2])
	}
	if i < 0 {
		a.out.Skipped["lines outside of all pieces"]++
		return
	}
	q := &a.out.Pieces[i]
	switch {
	case p.role == RoleSew && !p.ring.Open && len(q.Sew) == 0:
		q.Sew = Wound(p.ring.Knots, 1)
	case p.role == RoleSew:
		q.Lines = append(q.Lines, Line{LineSew, points})
	case p.role == RoleGrain && len(points) == 2:
		if q.Grain == nil || points[0].Dist(points[1]) > q.Grain[0].Dist(q.Grain[1]) {
			q.Grain = &[2]geometry.Point{points[0], points[1]}
		}
	case p.role == RoleGrain: // its arrow heads
	case p.role == RoleFold && a.onMirror(q, points):
	case p.role == RoleFold:
		q.Lines = append(q.Lines, Line{LineFold, points})
	default:
		a.marks[i] = append(a.marks[i], p.ring)
	}
}

// onMirror reports whether a line belongs to the sign of the fold that a half has: it lies
// within a finger's breadth of it.
func (a *assembly) onMirror(q *Piece, points []geometry.Point) bool {
	const wide = 10
	for _, l := range q.Lines {
		if l.Kind != LineMirror {
			continue
		}
		u := l.Points[1].Sub(l.Points[0]).Unit()
		if !slices.ContainsFunc(points, func(p geometry.Point) bool { return math.Abs(u.Cross(p.Sub(l.Points[0]))) > wide }) {
			return true
		}
	}
	return false
}

// points returns the points of a line, curves as short ones.
func (r Ring) points() []geometry.Point {
	if len(r.Knots) == 0 {
		return nil
	}
	ring := r.Knots.Flatten(0.02)
	if !r.Open {
		return append(ring, ring[0])
	}
	k := slices.Clone(r.Knots)
	k[0].In, k[len(k)-1].Out = nil, nil
	return k.Flatten(0.02)
}

// write gives the words to their pieces.
func (a *assembly) write() {
	words := make([][]Word, len(a.out.Pieces))
	for _, w := range a.drawing.Words {
		if i := a.host(w.At); i >= 0 && strings.TrimSpace(w.Text) != "" {
			words[i] = append(words[i], w)
		}
	}
	for i, all := range words {
		q := &a.out.Pieces[i]
		top := -1
		for j, w := range all {
			if q.Name == "" && (top < 0 || w.SizeMM > all[top].SizeMM) {
				top = j
			}
		}
		for j, w := range all {
			if j == top {
				q.Name = w.Text
			} else {
				q.Notes = append(q.Notes, Note{w.At, w.Text})
			}
		}
		if q.Name == "" {
			q.Name = fmt.Sprintf("Piece %d", i+1)
		}
	}
}
