package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// PlacedMark is a mark where it is drawn (mm, piece frame).
type PlacedMark struct {
	ID   string   `json:"id"`
	Kind MarkKind `json:"kind"`
	// Lines are open runs of points to draw; a text has none.
	Lines [][]geometry.Point `json:"lines_mm,omitempty"`
	// At is on the cut line for notches and snips, else the middle of the mark.
	At geometry.Point `json:"at_mm"`
	// DepthMM is how deep a notch or snip goes.
	DepthMM float64    `json:"depth_mm,omitempty"`
	Shape   NotchShape `json:"shape,omitempty"`
	Count   int        `json:"count,omitempty"`
	WidthMM float64    `json:"width_mm,omitempty"`
	Bias    bool       `json:"bias,omitempty"`
	Text    string     `json:"text,omitempty"`
}

// NotchApartMM is the distance between the two of a double notch (common practice, no
// source).
const NotchApartMM = 5.0

// Sizes of marks in mm (common practice, no source).
const (
	notchWide  = 4.0 // of a V at the cut line, and of the bar of a T
	drillArm   = 4.0
	lengthenBy = 5.0 // between the two lines of a lengthen line
	outsideBar = 3.0 // a notch that has no room inside is drawn outside
)

// NotchDepth returns the depth that a notch of a wished depth may have in an
// allowance so that it stays NotchClearMM clear of the stitch line, in mm; 0 where
// there is no room.
func NotchDepth(wish, allowance float64) float64 {
	return math.Max(0, math.Min(wish, allowance-NotchClearMM))
}

func (d *Drafted) placeMarks(s stitched, cut offset.Result) {
	for _, m := range s.piece.Marks {
		switch {
		case m.Detached != "":
			d.Findings = append(d.Findings, detached(s.piece, m))
		case m.Kind == MarkNotch:
			d.placeNotch(s, m)
		case m.Kind == MarkSnip:
			d.placeSnips(s, m, cut)
		case m.Kind == MarkGrain:
			d.placeGrain(s, m)
		case m.Kind == MarkDart:
			d.placeDart(s, m)
		default:
			d.Marks = append(d.Marks, placed(m))
		}
	}
}

// placeDart draws the legs of a dart from its mouth to its tip, the line it is folded
// along, and a notch at each leg where there is room for one.
func (d *Drafted) placeDart(s stitched, m Mark) {
	k := s.piece.Edge(m.Edge)
	line := s.edge(k)
	start, end, _ := s.widths(k)
	half := m.WidthMM / 2 / math.Max(geometry.ChainLength(line), m.WidthMM)
	out := PlacedMark{ID: m.ID, Kind: m.Kind, Text: m.Text, WidthMM: m.WidthMM}
	tip := m.Points[0]
	var legs [2]geometry.Point
	var cuts [][]geometry.Point
	for i, f := range []float64{m.At - half, m.At + half} {
		f = math.Min(math.Max(f, 0), 1)
		on, dir := at(line, f)
		legs[i] = on
		width := start + (end-start)*f
		if depth := NotchDepth(NotchDepthMM, width); depth > 0 {
			outward := geometry.Vec{X: dir.Y, Y: -dir.X}
			edge := on.Add(outward.Scale(width))
			cuts = append(cuts, []geometry.Point{edge, edge.Add(outward.Scale(-depth))})
		}
	}
	mouth, _ := at(line, m.At)
	out.At = mouth.Lerp(tip, 0.5)
	out.Lines = append([][]geometry.Point{{legs[0], tip, legs[1]}, {mouth, tip}}, cuts...)
	d.Marks = append(d.Marks, out)
}

func placed(m Mark) PlacedMark {
	out := PlacedMark{ID: m.ID, Kind: m.Kind, At: m.Points[0], Text: m.Text}
	if n := len(m.Points); n > 1 {
		out.At = m.Points[0].Lerp(m.Points[n-1], 0.5)
		out.Lines = [][]geometry.Point{m.Points}
	}
	switch m.Kind {
	case MarkDrill:
		q := m.Points[0]
		out.Lines = [][]geometry.Point{
			{q.Add(geometry.Vec{X: -drillArm}), q.Add(geometry.Vec{X: drillArm})},
			{q.Add(geometry.Vec{Y: -drillArm}), q.Add(geometry.Vec{Y: drillArm})},
		}
	case MarkButtonhole:
		n := m.Points[1].Sub(m.Points[0]).Unit().Perp().Scale(notchWide / 2)
		for _, q := range m.Points {
			out.Lines = append(out.Lines, []geometry.Point{q.Add(n), q.Add(n.Scale(-1))})
		}
	case MarkLengthen:
		n := m.Points[1].Sub(m.Points[0]).Unit().Perp().Scale(lengthenBy)
		out.Lines = append(out.Lines, []geometry.Point{m.Points[0].Add(n), m.Points[1].Add(n)})
	}
	return out
}

// placeNotch draws a notch from the cut line towards the stitch line, square to it.
func (d *Drafted) placeNotch(s stitched, m Mark) {
	k := s.piece.Edge(m.Edge)
	line := s.edge(k)
	start, end, _ := s.widths(k)
	width := start + (end-start)*m.At
	out := PlacedMark{ID: m.ID, Kind: m.Kind, Shape: m.Shape, Count: m.count(), Text: m.Text}
	if out.Shape == "" {
		out.Shape = NotchSlit
	}
	out.DepthMM = m.depth()
	towards := -1.0
	if m.Outward {
		towards = 1
	} else if room := NotchDepth(out.DepthMM, width); room < out.DepthMM {
		d.shallow(s, m, room, width)
		if out.DepthMM = room; room < 1 {
			out.DepthMM, towards = outsideBar, 1
		}
	}
	length := geometry.ChainLength(line)
	for n := range out.Count {
		shift := (float64(n) - float64(out.Count-1)/2) * NotchApartMM
		f := m.At
		if length > 0 {
			f = math.Min(math.Max(m.At+shift/length, 0), 1)
		}
		on, dir := at(line, f)
		normal := geometry.Vec{X: dir.Y, Y: -dir.X}
		edge := on.Add(normal.Scale(width))
		tip := edge.Add(normal.Scale(towards * out.DepthMM))
		out.Lines = append(out.Lines, notchLines(out.Shape, edge, tip, dir)...)
		out.At = out.At.Add(geometry.Vec(edge).Scale(1 / float64(out.Count)))
	}
	d.Marks = append(d.Marks, out)
}

func notchLines(shape NotchShape, edge, tip geometry.Point, dir geometry.Vec) [][]geometry.Point {
	half := dir.Scale(notchWide / 2)
	switch shape {
	case NotchV:
		return [][]geometry.Point{{edge.Add(half.Scale(-1)), tip, edge.Add(half)}}
	case NotchT:
		return [][]geometry.Point{{edge, tip}, {tip.Add(half.Scale(-1)), tip.Add(half)}}
	}
	return [][]geometry.Point{{edge, tip}}
}

func (d *Drafted) shallow(s stitched, m Mark, room, width float64) {
	on, _ := at(s.edge(s.piece.Edge(m.Edge)), m.At)
	so := fmt.Sprintf("it is cut %.1f mm deep", room)
	if room < 1 {
		so = "it is drawn outside the cut line"
	}
	d.Findings = append(d.Findings, geometry.Finding{
		Code: CodeNotchDepth, Severity: geometry.SeverityInfo, Where: &on, Amount: m.depth(), Limit: room,
		Message: fmt.Sprintf("%s, notch %q: %.1f mm would come too near the stitch line in an allowance of %.1f mm, so %s.", s.piece.Name, m.ID, m.depth(), width, so),
		Remedy:  "Mark it with chalk or a thread if the snip is too short to see.",
	})
}

// placeSnips draws a cut at both ends of each fold line of a hem or casing, so that
// the fold is found on the cloth. It stays clear of the seam beside it as a notch.
func (d *Drafted) placeSnips(s stitched, m Mark, cut offset.Result) {
	k, n := s.piece.Edge(m.Edge), len(s.first)
	out := PlacedMark{ID: m.ID, Kind: m.Kind, Text: m.Text}
	_, before, _ := s.widths((k + n - 1) % n)
	after, _, _ := s.widths((k + 1) % n)
	for _, f := range cut.Folds {
		if f.Edge != k {
			continue
		}
		for _, l := range f.Lines[:len(f.Lines)-1] {
			if len(l.Line) == 0 {
				continue
			}
			first, last := l.Line[0], l.Line[len(l.Line)-1]
			for _, e := range []struct {
				at    geometry.Point
				in    geometry.Vec
				width float64
			}{{first.A, heading(first, 0), before}, {last.D, heading(last, 1).Scale(-1), after}} {
				if depth := NotchDepth(m.depth(), e.width); depth > 0 {
					out.Lines = append(out.Lines, []geometry.Point{e.at, e.at.Add(e.in.Scale(depth))})
					out.DepthMM = math.Max(out.DepthMM, depth)
				}
			}
		}
	}
	if len(out.Lines) == 0 {
		on, _ := at(s.edge(k), 0.5)
		d.Findings = append(d.Findings, geometry.Finding{
			Code: CodeNotchPlace, Severity: geometry.SeverityInfo, Where: &on,
			Message: fmt.Sprintf("%s: the snip %q is not drawn: %s has no fold that ends in an allowance of more than %g mm.", s.piece.Name, m.ID, s.piece.Edges[k].Name, NotchClearMM),
			Remedy:  "Give the edge a hem or a casing, or remove the mark.",
		})
		return
	}
	out.At = out.Lines[0][0]
	d.Marks = append(d.Marks, out)
}

// placeGrain sets the direction of the grain and draws its line: the one given by
// two points, else the longest through the middle of the piece.
func (d *Drafted) placeGrain(s stitched, m Mark) {
	out := PlacedMark{ID: m.ID, Kind: m.Kind, Bias: m.Bias, Text: m.Text}
	var deg float64
	switch {
	case len(m.Points) == 2:
		deg = bearing(m.Points[0], m.Points[1])
		out.Lines = [][]geometry.Point{m.Points}
	case m.Deg != nil:
		deg = halfTurn(*m.Deg)
	default:
		line := s.edge(s.piece.Edge(m.Edge))
		deg = bearing(line[0].A, line[len(line)-1].D)
	}
	if out.Lines == nil {
		// A slim rectangle, and not quite all of it, keeps the arrow inside.
		rings := []geometry.Polyline{d.StitchLine.Flatten(1)}
		for _, h := range d.Holes {
			rings = append(rings, h.Flatten(1))
		}
		box, ok := LargestBox(rings, 12, deg)
		if !ok {
			return
		}
		sin, cos := math.Sincos(deg * math.Pi / 180)
		half := geometry.Vec{X: cos, Y: sin}.Scale(0.45 * box.Width)
		out.Lines = [][]geometry.Point{{box.Centre.Add(half.Scale(-1)), box.Centre.Add(half)}}
	}
	out.At = out.Lines[0][0].Lerp(out.Lines[0][1], 0.5)
	if d.GrainDeg == nil {
		d.GrainDeg = &deg
	}
	d.Marks = append(d.Marks, out)
}
