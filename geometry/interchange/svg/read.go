package svg

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

const (
	maxBytes = 64 << 20
	maxDepth = 200
	maxParts = 200_000
)

// Options of reading.
type Options struct {
	// TallMM is how tall the largest piece is, in mm, from its lowest to its highest point,
	// for a drawing that does not say its unit, or a wrong one; 0 = as the drawing says.
	TallMM float64
}

// Read reads a drawing. Pieces are the closed outlines that lie in no other, or those on
// layers (groups) whose names say that they are cut; within one path a hole is what its
// fill rule leaves empty. Names are the titles, labels or ids of paths. What is hidden, cut
// off or copied (use) is not taken, and counted. It fails with ErrNotSVG, ErrNoUnit, ErrNoPiece or
// ErrTooLarge.
func Read(r io.Reader, opt Options) (interchange.Pattern, error) {
	d := reader{drawing: interchange.Drawing{Skipped: map[string]int{}}}
	if err := d.read(r); err != nil {
		return interchange.Pattern{}, err
	}
	to, found, err := d.root.toMM()
	if err != nil && opt.TallMM == 0 {
		return interchange.Pattern{}, err
	}
	if opt.TallMM > 0 {
		to, found = matrix{1, 0, 0, -1, 0, 0}, nil
	}
	d.drawing.Findings = append(found, d.drawing.Findings...)
	p := interchange.Assemble(d.mapped(to))
	if opt.TallMM > 0 && len(p.Pieces) > 0 {
		s := opt.TallMM / tallest(p.Pieces)
		p = interchange.Assemble(d.mapped(matrix{s, 0, 0, -s, 0, 0}))
	}
	if len(p.Pieces) == 0 {
		if len(p.Findings) > 0 {
			return p, fmt.Errorf("svg: %w: %s", ErrNoPiece, p.Findings[len(p.Findings)-1].Message)
		}
		return p, fmt.Errorf("svg: %w", ErrNoPiece)
	}
	p.Name = d.title
	return p, nil
}

func tallest(pieces []interchange.Piece) float64 {
	tall := 0.0
	for _, q := range pieces {
		lo, hi := q.Bounds()
		tall = math.Max(tall, hi.Y-lo.Y)
	}
	return tall
}

// state is what elements inherit.
type state struct {
	to      matrix
	role    interchange.Role
	name    string
	group   string // the name of the innermost group that is no layer
	stroke  int    // which one the element drew, from 1
	evenOdd bool
	hidden  bool
	size    float64 // of text
}

type reader struct {
	root    root
	title   string
	drawing interchange.Drawing // in the drawing's own units, mapped later
	stack   []state
	text    *interchange.Word
	inTitle bool
	parts   int
}

// mapped returns the drawing in mm. A knot where both neighbours run on in one line with it
// is smooth.
func (d *reader) mapped(to matrix) interchange.Drawing {
	out := d.drawing
	out.Strokes, out.Words = nil, nil
	out.Skipped = map[string]int{}
	for k, n := range d.drawing.Skipped {
		out.Skipped[k] = n
	}
	for _, s := range d.drawing.Strokes {
		t := s
		t.Rings = nil
		for _, r := range s.Rings {
			t.Rings = append(t.Rings, interchange.Ring{Knots: smoothed(r.Knots.Map(to.apply), r.Open), Open: r.Open})
		}
		out.Strokes = append(out.Strokes, t)
	}
	for _, w := range d.drawing.Words {
		out.Words = append(out.Words, interchange.Word{At: to.apply(w.At), SizeMM: w.SizeMM * to.scale(), Text: w.Text})
	}
	return out
}

// smoothed marks the knots where a path turns by less than a degree, one side at least
// being a curve.
func smoothed(p geometry.Path, open bool) geometry.Path {
	n := len(p)
	for i := range p {
		if open && (i == 0 || i == n-1) {
			continue
		}
		in, out := p.Segment((i+n-1)%n), p.Segment(i)
		if !in.Curved && !out.Curved {
			continue
		}
		u, v := in.Deriv(1), out.Deriv(0)
		p[i].Corner = !(math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) < math.Pi/180) || u.Len() == 0 || v.Len() == 0
	}
	return p
}

// read walks the elements.
func (d *reader) read(r io.Reader) error {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	x := xml.NewDecoder(limited)
	x.Strict = true
	x.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("it is in %s instead of UTF-8", label)
	}
	for {
		token, err := x.Token()
		switch {
		case limited.N <= 0 || d.parts > maxParts:
			return fmt.Errorf("svg: %w", ErrTooLarge)
		case errors.Is(err, io.EOF) && d.parts > 0 && len(d.stack) == 0:
			return nil
		case err != nil:
			return fmt.Errorf("svg: %w: %w", ErrNotSVG, err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			if d.parts++; d.parts == 1 && t.Name.Local != "svg" || len(d.stack) > maxDepth {
				return fmt.Errorf("svg: %w", ErrNotSVG)
			}
			d.open(t.Name.Local, attributes(t.Attr))
		case xml.EndElement:
			d.close(t.Name.Local)
		case xml.CharData:
			d.words(string(t))
		}
	}
}

// attributes are those of an element, and over them those of its style.
func attributes(list []xml.Attr) map[string]string {
	out := map[string]string{}
	for _, a := range list {
		if a.Name.Space != "" && a.Name.Local == "label" || a.Name.Space == "" {
			out[a.Name.Local] = a.Value
		}
	}
	for _, rule := range strings.Split(out["style"], ";") {
		if k, v, ok := strings.Cut(rule, ":"); ok {
			out[strings.TrimSpace(k)] = strings.TrimSpace(v)
		}
	}
	return out
}

func (d *reader) top() *state { return &d.stack[len(d.stack)-1] }

// apart are elements whose content is not drawn where it stands.
var apart = map[string]bool{
	"defs": true, "symbol": true, "clipPath": true, "mask": true, "marker": true, "pattern": true, "style": true, "script": true, "metadata": true,
	"linearGradient": true, "radialGradient": true, "filter": true, "foreignObject": true,
}

func (d *reader) open(kind string, a map[string]string) {
	s := state{to: unit, size: 16}
	if len(d.stack) > 0 {
		s = *d.top()
	}
	s.name, s.stroke = "", 0
	if t, ok := a["transform"]; ok {
		m, fine := parseTransform(t)
		if !fine {
			d.drawing.Skipped["parts with a transform that is not known"]++
			s.hidden = true
		}
		s.to = s.to.of(m)
	}
	s.hidden = s.hidden || apart[kind] || a["display"] == "none" || a["visibility"] == "hidden" || a["visibility"] == "collapse"
	if rule, ok := a["fill-rule"]; ok {
		s.evenOdd = rule == "evenodd"
	}
	if size, ok := parseLength(a["font-size"]); ok {
		s.size = size.n
		if u := unitMM[size.unit]; u > 0 {
			s.size *= u / unitMM["px"]
		}
	}
	s.name = a["label"]
	if s.name == "" {
		s.name = a["id"]
	}
	d.stack = append(d.stack, s)
	switch kind {
	case "svg":
		d.nested(a)
	case "g", "a":
		d.group()
	case "use", "image", "foreignObject":
		if !s.hidden {
			d.drawing.Skipped[kind+" elements"]++
		}
	case "text":
		x, _ := parseLength(firstOf(a["x"]))
		y, _ := parseLength(firstOf(a["y"]))
		if !s.hidden {
			d.text = &interchange.Word{At: s.to.apply(geometry.Point{X: x.n, Y: y.n}), SizeMM: s.size * s.to.scale()}
		}
	case "title":
		d.inTitle = true
	default:
		d.shape(kind, a)
	}
}

func firstOf(list string) string {
	if f := strings.FieldsFunc(list, func(r rune) bool { return r == ' ' || r == ',' }); len(f) > 0 {
		return f[0]
	}
	return ""
}

// nested takes the size of the outermost drawing; one within it is not taken.
func (d *reader) nested(a map[string]string) {
	if len(d.stack) == 1 {
		d.root = root{a["width"], a["height"], a["viewBox"], a["preserveAspectRatio"]}
		d.top().name = ""
		return
	}
	d.drawing.Skipped["drawings within the drawing"]++
	d.top().hidden = true
}

// group takes the meaning of a layer from its name. That of the innermost counts.
func (d *reader) group() {
	s := d.top()
	if role := interchange.RoleOf(s.name); role != interchange.RoleUnknown {
		s.role = role
	} else if name := pieceName(s.name); name != "" {
		s.group = name
	}
}

// shape takes what draws a line.
func (d *reader) shape(kind string, a map[string]string) {
	s := d.top()
	rings, err, is := rings(kind, a)
	if !is || s.hidden {
		return
	}
	if err != nil {
		d.drawing.Findings = append(d.drawing.Findings, geometry.Finding{
			Code: interchange.CodeLeft, Severity: geometry.SeverityWarning,
			Message: fmt.Sprintf("The path %q was read up to where it is not understood: %v.", s.name, err), Remedy: "Save the drawing anew, or draw the rest here.",
		})
	}
	if len(rings) == 0 {
		return
	}
	for i := range rings {
		rings[i].Knots = rings[i].Knots.Map(s.to.apply)
	}
	role := s.role
	if role == interchange.RoleUnknown {
		role = interchange.RoleOf(s.name)
	}
	name := pieceName(s.name)
	if name == "" {
		name = s.group
	}
	d.drawing.Strokes = append(d.drawing.Strokes, interchange.Stroke{Role: role, Rings: rings, EvenOdd: s.evenOdd, Name: name})
	s.stroke = len(d.drawing.Strokes)
}

// pieceName returns a name for people of a label or id: none where it only counts.
func pieceName(id string) string {
	name := strings.TrimSpace(strings.NewReplacer("_", " ", "-", " ").Replace(id))
	word := strings.ToLower(strings.TrimRight(name, "0123456789. "))
	for _, plain := range []string{"", "g", "group", "layer", "path", "rect", "polygon", "ellipse", "circle", "shape", "polyline", "line"} {
		if word == plain {
			return ""
		}
	}
	return name
}

func (d *reader) words(text string) {
	switch {
	case d.text != nil:
		d.text.Text += text
	case d.inTitle && len(d.stack) == 2 && d.title == "":
		d.title = strings.TrimSpace(text)
	case d.inTitle && len(d.stack) > 2 && strings.TrimSpace(text) != "":
		if n := d.stack[len(d.stack)-2].stroke; n > 0 {
			d.drawing.Strokes[n-1].Name = strings.TrimSpace(text)
		}
	}
}

func (d *reader) close(kind string) {
	switch kind {
	case "text":
		if d.text != nil {
			d.text.Text = strings.Join(strings.Fields(d.text.Text), " ")
			d.drawing.Words = append(d.drawing.Words, *d.text)
		}
		d.text = nil
	case "title":
		d.inTitle = false
	}
	d.stack = d.stack[:len(d.stack)-1]
}
