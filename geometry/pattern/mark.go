package pattern

import (
	"cmp"
	"fmt"
	"math"

	"secondcut/geometry"
)

// MarkKind is what a mark is.
type MarkKind string

// The kinds of marks. On an edge: notch and snip. A grain line may hang on an edge
// (parallel to its chord), go through two points, or be given by its angle. A dart has
// its mouth on an edge and its tip inside. Inside the piece: the rest.
const (
	MarkGrain      MarkKind = "grain"
	MarkNotch      MarkKind = "notch"
	MarkSnip       MarkKind = "snip"
	MarkDart       MarkKind = "dart"
	MarkFoldLine   MarkKind = "fold-line"
	MarkStitchLine MarkKind = "stitch-line"
	MarkLine       MarkKind = "line"
	MarkDrill      MarkKind = "drill-hole"
	MarkButtonhole MarkKind = "buttonhole"
	MarkLengthen   MarkKind = "lengthen-line"
	MarkText       MarkKind = "text"
)

// NotchShape is the shape of a notch.
type NotchShape string

// The shapes: a cut, a small wedge, a cut with a bar across its inner end.
const (
	NotchSlit NotchShape = "slit"
	NotchV    NotchShape = "v"
	NotchT    NotchShape = "t"
)

// Mark is one mark of a piece. Those on an edge hang on it, so that they survive
// editing, fitting and tracing again; those inside lie in the piece frame. Lengths
// in mm.
type Mark struct {
	// ID names the mark within its piece.
	ID   string   `json:"id"`
	Kind MarkKind `json:"kind"`
	// Edge is the edge that a notch, snip or dart hangs on, or that a grain line is
	// parallel to.
	Edge string `json:"edge,omitempty"`
	// At is where on the edge a notch hangs: the fraction, from 0 to 1, of the arc
	// length of its stitch line; of a dart, the middle of its mouth.
	At float64 `json:"at,omitempty"`
	// Points of a mark inside: one for drill hole, text and the tip of a dart; two for grain,
	// buttonhole and lengthen line; two or more for the lines.
	Points []geometry.Point `json:"points_mm,omitempty"`
	// WidthMM is what a dart takes out of its edge, along the stitch line.
	WidthMM float64 `json:"width_mm,omitempty"`
	// Deg is the direction of a grain line in degrees counter-clockwise from +x.
	Deg *float64 `json:"deg,omitempty"`
	// Measure names, on a lengthen line, the measure of the garment for whose sake the piece
	// is opened or taken in there when the pattern is made in another size; empty = none.
	Measure string `json:"measure,omitempty"`
	// Bias says of a grain line that the threads run at 45 degrees to it.
	Bias bool `json:"bias,omitempty"`
	// Count of a notch: 1 (by custom the front), 2 (the back) or 3; 0 = 1.
	Count int `json:"count,omitempty"`
	// Shape of a notch; empty = slit.
	Shape NotchShape `json:"shape,omitempty"`
	// DepthMM of a notch or snip, at most 20; 0 = 5.
	DepthMM float64 `json:"depth_mm,omitempty"`
	// Outward says that a notch stands out from the cut line, for cloth that must
	// not be cut into.
	Outward bool `json:"outward,omitempty"`
	// Text is written beside the mark; it is the mark's content for MarkText.
	Text string `json:"text,omitempty"`
	// Detached says why the mark could not be carried over when its piece changed;
	// it is kept and not drawn. Empty = attached.
	Detached string `json:"detached,omitempty"`
}

// Numbers of marks.
const (
	// NotchDepthMM is the usual depth of a notch in mm (common practice, no
	// source).
	NotchDepthMM = 5.0
	// NotchClearMM is how far a notch stays away from the stitch line: a snip
	// stops at least 1/8 in short of it (a private guide; common practice),
	// rounded to 3 mm.
	NotchClearMM  = 3.0
	maxNotchDepth = 20.0
)

// points returns the number of points that a kind inside the piece has.
func (k MarkKind) points() (low, top int) {
	switch k {
	case MarkDrill, MarkText, MarkDart:
		return 1, 1
	case MarkButtonhole, MarkLengthen, MarkGrain:
		return 2, 2
	case MarkFoldLine, MarkStitchLine, MarkLine:
		return 2, 1000
	}
	return 0, 0
}

func (m Mark) check(prefix string, p Piece) error {
	if err := checkText(prefix+"id", m.ID); err != nil {
		return err
	}
	if max(len([]rune(m.Text)), len([]rune(m.Detached)), len([]rune(m.Measure))) > maxTextLen {
		return wrong(prefix+"text", "has more than %d characters", maxTextLen)
	}
	for i, q := range m.Points {
		if !sane(q) {
			return wrong(fmt.Sprintf("%spoints_mm[%d]", prefix, i), "lies more than %g m away or is not finite", maxExtent/1000)
		}
	}
	if err := m.checkShape(prefix); err != nil {
		return err
	}
	if err := m.checkStray(prefix); err != nil {
		return err
	}
	if m.Edge != "" && m.Detached == "" && p.Edge(m.Edge) < 0 {
		return wrong(prefix+"edge", "is %q, but the piece has no such edge", m.Edge)
	}
	return nil
}

// checkShape holds that a mark has what its kind needs.
func (m Mark) checkShape(prefix string) error {
	switch m.Kind {
	case MarkNotch, MarkSnip:
		if m.Edge == "" {
			return wrong(prefix+"edge", "is missing; a %s hangs on an edge", m.Kind)
		}
		return m.checkNotch(prefix)
	case MarkGrain:
		if m.Deg != nil && !(*m.Deg >= -360 && *m.Deg <= 360) {
			return wrong(prefix+"deg", "is %g; degrees run from -360 to 360", *m.Deg)
		}
		given := 0
		for _, is := range []bool{m.Edge != "", len(m.Points) > 0, m.Deg != nil} {
			if is {
				given++
			}
		}
		if given != 1 {
			return wrong(prefix+"kind", "is grain: give exactly one of edge, points_mm and deg")
		}
		if len(m.Points) == 0 {
			return nil
		}
	case MarkDart:
		if m.Edge == "" {
			return wrong(prefix+"edge", "is missing; the mouth of a dart lies on an edge")
		}
		if err := cmp.Or(m.checkNotch(prefix), checkWidth(prefix+"width_mm", m.WidthMM, "say what the dart takes in")); err != nil {
			return err
		}
	case MarkText:
		if m.Text == "" {
			return wrong(prefix+"text", "is missing")
		}
	}
	low, top := m.Kind.points()
	if top == 0 {
		return wrong(prefix+"kind", "is %q, which is no kind of mark", m.Kind)
	}
	if n := len(m.Points); n < low || n > top {
		return wrong(prefix+"points_mm", "has %d points; a %s has %d to %d", n, m.Kind, low, top)
	}
	if m.Kind == MarkGrain && m.Points[0] == m.Points[1] {
		return wrong(prefix+"points_mm", "are twice the same point, which gives no direction")
	}
	return nil
}

func (m Mark) checkNotch(prefix string) error {
	if !(m.At >= 0 && m.At <= 1) {
		return wrong(prefix+"at", "is %g; it is a fraction from 0 to 1", m.At)
	}
	if m.Count < 0 || m.Count > 3 {
		return wrong(prefix+"count", "is %d; notches are single, double or triple", m.Count)
	}
	switch m.Shape {
	case "", NotchSlit, NotchV, NotchT:
	default:
		return wrong(prefix+"shape", "is %q; it is slit, v or t", m.Shape)
	}
	if !(m.DepthMM >= 0 && m.DepthMM <= maxNotchDepth) {
		return wrong(prefix+"depth_mm", "is %g mm; it lies between 0 and %g", m.DepthMM, maxNotchDepth)
	}
	return nil
}

// checkStray refuses fields that the kind does not have.
func (m Mark) checkStray(prefix string) error {
	notch, snip, grain, dart := m.Kind == MarkNotch, m.Kind == MarkSnip, m.Kind == MarkGrain, m.Kind == MarkDart
	for _, v := range []struct {
		field      string
		given, has bool
	}{
		{"edge", m.Edge != "", notch || snip || grain || dart},
		{"at", m.At != 0, notch || dart},
		{"width_mm", m.WidthMM != 0, dart},
		{"points_mm", len(m.Points) > 0, !notch && !snip},
		{"deg", m.Deg != nil, grain},
		{"measure", m.Measure != "", m.Kind == MarkLengthen},
		{"bias", m.Bias, grain},
		{"count", m.Count != 0, notch},
		{"shape", m.Shape != "", notch},
		{"depth_mm", m.DepthMM != 0, notch || snip},
		{"outward", m.Outward, notch},
	} {
		if v.given && !v.has {
			return wrong(prefix+v.field, "is given, but a mark of kind %q has none", m.Kind)
		}
	}
	return nil
}

// count returns how many notches stand side by side.
func (m Mark) count() int { return max(m.Count, 1) }

// depth returns the depth asked for.
func (m Mark) depth() float64 {
	if m.DepthMM == 0 {
		return NotchDepthMM
	}
	return m.DepthMM
}

// CodeDetached is the code of the finding that a mark lost its edge.
const CodeDetached = "mark-detached"

func detached(p Piece, m Mark) geometry.Finding {
	return geometry.Finding{
		Code: CodeDetached, Severity: geometry.SeverityWarning, Piece: p.ID,
		Message: fmt.Sprintf("%s: the %s %q is not drawn: %s.", p.Name, m.Kind, m.ID, m.Detached),
		Remedy:  "Hang it on another edge, or remove it.",
	}
}

// bearing returns the direction from a to b in degrees, in [0, 180).
func bearing(a, b geometry.Point) float64 {
	return halfTurn(math.Atan2(b.Y-a.Y, b.X-a.X) * 180 / math.Pi)
}
