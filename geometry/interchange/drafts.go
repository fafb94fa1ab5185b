package interchange

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// FromDrafts returns the drafted pieces of a garment as they are written: their lines, marks
// and words. A piece that could not be drawn is left out; a grain that the photo shows
// surely stands in where none was drawn.
func FromDrafts(g pattern.Garment, drafts []pattern.Drafted) Pattern {
	out := Pattern{Name: g.Name, Size: g.SizeMeasured}
	if out.Size == "" {
		out.Size = g.SizeWorn
	}
	for _, d := range drafts {
		if d.Drawn() {
			p, _ := g.Piece(d.ID)
			out.Pieces = append(out.Pieces, drafted(g, p, d))
		}
	}
	return out
}

func drafted(g pattern.Garment, p pattern.Piece, d pattern.Drafted) Piece {
	q := Piece{Name: d.Name, Cut: d.CutLine, CutOuts: d.Holes}
	if p.Label != nil {
		for _, c := range p.Label.Cuts {
			q.Quantity += c.Count
			if c.Mirrored {
				q.Mirrored += c.Count / 2
			}
		}
		q.Material = material(g, p.Label.Cuts)
	}
	if len(d.StitchLine) > 0 && math.Abs(d.StitchLine.Area()-d.CutLine.Area()) > 1 {
		q.Sew = d.StitchLine
	}
	for _, f := range d.FoldLines {
		kind := LineFold
		if k := p.Edge(f.Edge); k >= 0 && p.Edges[k].Finish != nil && p.Edges[k].Finish.Kind == pattern.FinishFold {
			kind = LineMirror
		}
		q.Lines = append(q.Lines, Line{kind, f.Points})
	}
	for _, m := range d.Marks {
		q.mark(m)
	}
	deg := d.GrainDeg
	if deg == nil && p.Grain != nil && p.Grain.Sure >= pattern.GrainSure {
		deg = &p.Grain.Deg
	}
	if q.Grain == nil && deg != nil {
		q.Grain = q.grainAlong(*deg)
	}
	if len(d.Label) > 1 {
		q.notes(d.Label[1:])
	}
	return q
}

// material returns the name of the cloth where a piece is cut from one alone.
func material(g pattern.Garment, cuts []pattern.Cut) string {
	if len(cuts) != 1 {
		return ""
	}
	for _, c := range g.Cloths {
		if c.ID == cuts[0].Cloth {
			return c.Name
		}
	}
	return ""
}

// mark adds a mark as what the standard calls it, or as lines to draw.
func (q *Piece) mark(m pattern.PlacedMark) {
	switch m.Kind {
	case pattern.MarkNotch, pattern.MarkSnip:
		q.Notches = append(q.Notches, notches(m)...)
		return
	case pattern.MarkDrill:
		q.Drills = append(q.Drills, m.At)
	case pattern.MarkGrain:
		if len(m.Lines) > 0 && q.Grain == nil {
			line := m.Lines[0]
			q.Grain = &[2]geometry.Point{line[0], line[len(line)-1]}
		}
	default:
		kind := LineInternal
		switch m.Kind {
		case pattern.MarkStitchLine:
			kind = LineSew
		case pattern.MarkFoldLine:
			kind = LineFold
		}
		for _, l := range m.Lines {
			q.Lines = append(q.Lines, Line{kind, l})
		}
	}
	if m.Text != "" {
		q.Notes = append(q.Notes, Note{m.At, m.Text})
	}
}

// notches returns the notches that a mark is drawn with: of a T, the bar follows its cut;
// a V begins in the middle of its mouth.
func notches(m pattern.PlacedMark) []Notch {
	var out []Notch
	shape := map[pattern.NotchShape]NotchShape{pattern.NotchV: NotchV, pattern.NotchT: NotchT}[m.Shape]
	for i, l := range m.Lines {
		if shape == NotchT && i%2 == 1 {
			continue
		}
		at, tip := l[0], l[len(l)-1]
		if len(l) == 3 {
			at, tip = l[0].Lerp(l[2], 0.5), l[1]
		}
		dir := tip.Sub(at)
		out = append(out, Notch{At: at, Turn: math.Atan2(dir.Y, dir.X), DepthMM: dir.Len(), Shape: shape})
	}
	return out
}

// grainAlong returns a grain line through the middle of the piece, half as long as the
// shorter of its sides.
func (q *Piece) grainAlong(deg float64) *[2]geometry.Point {
	lo, hi := q.Bounds()
	half := towards(deg * math.Pi / 180).Scale(math.Min(hi.X-lo.X, hi.Y-lo.Y) / 4)
	mid := lo.Lerp(hi, 0.5)
	return &[2]geometry.Point{mid.Add(half.Scale(-1)), mid.Add(half)}
}

// NoteMM is the height of the words on a piece.
const NoteMM = 5.0

// notes writes lines below each other, from the middle of the piece.
func (q *Piece) notes(lines []string) {
	lo, hi := q.Bounds()
	at := lo.Lerp(hi, 0.5)
	for i, line := range lines {
		q.Notes = append(q.Notes, Note{at.Add(geometry.Vec{Y: -2 * NoteMM * float64(i+4)}), line})
	}
}
