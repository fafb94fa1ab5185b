package dxf

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

const (
	// digits are the decimals of a millimetre. The standard's files have two, as far as
	// is known; readers take more, and lengths stay true.
	digits = 4
	// chord is the greatest distance in mm of the short lines from their curve.
	chord = 0.005
	// fewest lines of a curve: enough for it to be found again from its points.
	fewest  = 4
	textMM  = 5.0
	apartMM = 50.0
)

// Write writes a pattern after ASTM D6673: one block a piece, layers by number, names
// in 7 bits, "Units: METRIC" for mm. The blocks stand side by side. The same
// pattern gives the same bytes, so there is no date in them. It fails with ErrNoPiece,
// geometry.ErrNotFinite, or when w fails.
func Write(w io.Writer, p interchange.Pattern) error {
	if err := check(p); err != nil {
		return err
	}
	o := &writer{}
	// Some readers stumble over settings and tables, so there are none.
	o.section("HEADER")
	o.end()
	o.section("BLOCKS")
	used := map[string]bool{}
	names := make([]string, len(p.Pieces))
	for i, q := range p.Pieces {
		names[i] = blockName(q.Name, used)
		o.block(names[i], q, p.Size)
	}
	o.end()
	o.section("ENTITIES")
	for i, line := range []string{
		"ASTM/D13Proposal 1 Version: D 6673-04", "Style Name: " + ascii(p.Name), "Sample Size: " + ascii(p.Size), "Units: METRIC",
	} {
		o.text(layerCut, geometry.Point{Y: -2 * textMM * float64(i+1)}, textMM, line)
	}
	for i, m := range interchange.SideBySide(p.Pieces, apartMM) {
		o.put(0, "INSERT").put(8, layerCut).put(2, names[i]).point(geometry.Point(m))
	}
	o.end()
	return o.flush(w)
}

// block writes one piece.
func (o *writer) block(name string, q interchange.Piece, size string) {
	o.put(0, "BLOCK").put(8, layerCut).put(2, name).put(70, "0").point(geometry.Point{})
	lines := []string{"Piece Name: " + ascii(q.Name), "Size: " + ascii(size)}
	if q.Quantity > 0 {
		lines = append(lines, "Quantity: "+quantity(q))
	}
	if q.Material != "" {
		lines = append(lines, "Material: "+ascii(q.Material))
	}
	lo, hi := q.Bounds()
	at := lo.Lerp(hi, 0.5)
	for i, line := range lines {
		o.text(layerCut, at.Add(geometry.Vec{Y: -2 * textMM * float64(i)}), textMM, line)
	}
	o.piece(q)
	o.put(0, "ENDBLK").put(8, layerCut)
}

// quantity says how often a piece is cut; of pairs, right and left ones (the custom of
// such files, from memory).
func quantity(q interchange.Piece) string {
	if q.Mirrored > 0 {
		return itoa(q.Quantity-q.Mirrored) + "," + itoa(q.Mirrored)
	}
	return itoa(q.Quantity)
}

// piece writes all but the standard's texts.
func (o *writer) piece(q interchange.Piece) {
	o.ring(layerCut, q.Cut)
	for _, h := range q.CutOuts {
		o.ring(layerCutOut, h)
	}
	o.ring(layerSew, q.Sew)
	for _, l := range q.Lines {
		layer := layerInternal // also what is folded
		for name, kind := range lineKinds {
			if kind == l.Kind {
				layer = name
			}
		}
		if len(l.Points) == 2 {
			o.line(layer, l.Points[0], l.Points[1])
		} else {
			o.polyline(layer, l.Points, false)
		}
	}
	if g := q.Grain; g != nil {
		o.line(layerGrain, g[0], g[1])
	}
	for _, n := range q.Notches {
		o.notch(n)
	}
	for _, d := range q.Drills {
		o.put(0, "POINT").put(8, layerDrill).point(d)
	}
	for _, n := range q.Notes {
		o.text(layerText, n.At, textMM, ascii(n.Text))
	}
}

// notch writes a point with its depth as thickness and its direction as angle: the custom
// of such files, from memory.
func (o *writer) notch(n interchange.Notch) {
	layer := layerNotch
	if n.Shape == interchange.NotchT {
		layer = layerTNotch
	}
	o.put(0, "POINT").put(8, layer).point(n.At).put(39, num(n.DepthMM)).put(50, num(n.Turn*180/math.Pi))
}

// ring writes a closed path and its knots on the layers of turn and curve points.
func (o *writer) ring(layer string, p geometry.Path) {
	if len(p) == 0 {
		return
	}
	o.polyline(layer, flattened(p.Segments()), true)
	for _, k := range p {
		at := layerCurve
		if k.Corner {
			at = layerTurn
		}
		o.put(0, "POINT").put(8, at).point(k.At)
	}
}

// flattened returns the points of segments that follow each other, less the last; curves
// by equal steps of their parameter.
func flattened(all []geometry.Segment) []geometry.Point {
	var out []geometry.Point
	for _, s := range all {
		if !s.Curved {
			out = append(out, s.A)
			continue
		}
		two := geometry.Path{{At: s.A, Out: &s.B}, {At: s.D, In: &s.C}}
		n := max(len(two.Flatten(chord))-1, fewest)
		for i := range n {
			out = append(out, s.At(float64(i)/float64(n)))
		}
	}
	return out
}

// check refuses what cannot be written.
func check(p interchange.Pattern) error {
	if len(p.Pieces) == 0 {
		return fmt.Errorf("dxf: %w", ErrNoPiece)
	}
	for _, q := range p.Pieces {
		if len(q.Cut) < 2 {
			return fmt.Errorf("dxf: %s: %w", q.Name, ErrNoPiece)
		}
		if !q.Finite() {
			return fmt.Errorf("dxf: %s: %w", q.Name, geometry.ErrNotFinite)
		}
	}
	return nil
}

// writer writes pairs of a group code and its value.
type writer struct{ b bytes.Buffer }

func (o *writer) put(code int, value string) *writer {
	fmt.Fprintf(&o.b, "%3d\n%s\n", code, value)
	return o
}

func (o *writer) section(name string) { o.put(0, "SECTION").put(2, name) }
func (o *writer) end()                { o.put(0, "ENDSEC") }

func (o *writer) point(p geometry.Point) *writer {
	return o.at(10, p)
}

func (o *writer) at(code int, p geometry.Point) *writer {
	return o.put(code, num(p.X)).put(code+10, num(p.Y)).put(code+20, num(0))
}

func (o *writer) line(layer string, a, b geometry.Point) {
	o.put(0, "LINE").put(8, layer).point(a).at(11, b)
}

func (o *writer) text(layer string, at geometry.Point, height float64, s string) {
	if s != "" {
		o.put(0, "TEXT").put(8, layer).point(at).put(40, num(height)).put(1, s)
	}
}

func (o *writer) polyline(layer string, points []geometry.Point, closed bool) {
	flag := "0"
	if closed {
		flag = "1"
	}
	o.put(0, "POLYLINE").put(8, layer).put(66, "1").at(10, geometry.Point{}).put(70, flag)
	for _, p := range points {
		o.put(0, "VERTEX").put(8, layer).point(p)
	}
	o.put(0, "SEQEND").put(8, layer)
}

func (o *writer) flush(w io.Writer) error {
	o.put(0, "EOF")
	_, err := w.Write(o.b.Bytes())
	return err
}

// num writes a number without a negative zero.
func num(x float64) string {
	s := strconv.FormatFloat(x, 'f', digits, 64)
	if s == "-0.0000" {
		return "0.0000"
	}
	return s
}

func itoa(n int) string { return strconv.Itoa(n) }
