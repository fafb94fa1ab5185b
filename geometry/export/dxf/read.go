package dxf

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

// Read reads a file after ASTM D6673, a block with a closed line on layer 1 being a
// piece, or a drawing with its layers in words, as [interchange.Assemble] understands
// them. Lengths come in mm: inches where the file says "Units: ENGLISH" or has
// $INSUNITS 1, else what it says, else mm. Between marked points a curve is made again
// where one cubic runs within 0.02 mm of the points; else the points stay knots. Where no
// turn points are marked, a bend of more than 30 degrees is a corner (a judgement, no
// source). It fails with ErrNotDXF, ErrTooLarge or ErrNoPiece.
func Read(r io.Reader) (interchange.Pattern, error) {
	f, err := parse(r)
	if err != nil {
		return interchange.Pattern{}, err
	}
	b := reader{out: interchange.Pattern{Skipped: map[string]int{}}, scale: 1}
	b.unit(f)
	for _, e := range f.entities {
		b.style(e)
	}
	for _, bl := range f.blocks {
		b.block(bl)
	}
	if len(b.out.Pieces) == 0 {
		b.out = b.inWords(f.entities)
	}
	if len(b.out.Pieces) == 0 {
		return interchange.Pattern{}, fmt.Errorf("dxf: no closed line on layer 1 of a block, nor on a layer CUT or CUT-LINE: %w", ErrNoPiece)
	}
	return b.out, nil
}

type reader struct {
	out   interchange.Pattern
	scale float64
}

// unit sets the millimetres of a unit: numbers of $INSUNITS as the reference of DXF has
// them (1 inch, 4 mm, 5 cm).
func (b *reader) unit(f file) {
	switch f.units {
	case "1":
		b.scale = 25.4
	case "5":
		b.scale = 10
	}
	all := f.entities
	for _, bl := range f.blocks {
		all = append(all[:len(all):len(all)], bl.entities...)
	}
	for _, e := range all {
		switch v, ok := value(e, "Units"); {
		case !ok:
		case strings.EqualFold(v, "ENGLISH"):
			b.scale = 25.4
		case strings.EqualFold(v, "METRIC"):
			b.scale = 1
		}
	}
}

// value returns what a text says of a key, "Key: value".
func value(e entity, key string) (string, bool) {
	if e.kind != "TEXT" {
		return "", false
	}
	k, v, ok := strings.Cut(e.text[1], ":")
	return strings.TrimSpace(v), ok && strings.EqualFold(strings.TrimSpace(k), key)
}

func (b *reader) style(e entity) {
	if v, ok := value(e, "Style Name"); ok {
		b.out.Name = v
	}
	if v, ok := value(e, "Sample Size"); ok {
		b.out.Size = v
	}
}

func (b *reader) at(p geometry.Point) geometry.Point {
	return geometry.Point{X: p.X * b.scale, Y: p.Y * b.scale}
}

// block reads one piece; a block without a closed line to cut along is none.
func (b *reader) block(bl block) {
	q := interchange.Piece{Name: bl.name}
	var set marked
	for _, e := range bl.entities {
		if p, ok := e.point(10); ok && e.kind == "POINT" {
			set.add(e.layer(), b.at(p))
		}
	}
	for _, e := range bl.entities {
		if !b.words(&q, e) && !b.drawn(&q, e, set) {
			b.out.Skipped[e.kind]++
		}
	}
	if len(q.Cut) > 0 {
		b.out.Pieces = append(b.out.Pieces, q)
	}
}

// words takes a text.
func (b *reader) words(q *interchange.Piece, e entity) bool {
	if e.kind != "TEXT" {
		return false
	}
	if e.layer() == layerText {
		at, ok := e.point(10)
		if ok {
			q.Notes = append(q.Notes, interchange.Note{At: b.at(at), Text: e.text[1]})
		}
		return ok
	}
	if v, ok := value(e, "Piece Name"); ok && v != "" {
		q.Name = v
	}
	if v, ok := value(e, "Material"); ok {
		q.Material = v
	}
	if v, ok := value(e, "Quantity"); ok {
		first, second, _ := strings.Cut(v, ",")
		n, _ := strconv.Atoi(strings.TrimSpace(first))
		m, _ := strconv.Atoi(strings.TrimSpace(second))
		q.Quantity, q.Mirrored = min(max(n, 0)+max(m, 0), 1000), min(max(m, 0), 1000)
	}
	return true
}

// drawn takes what is drawn, and reports whether it could use it.
func (b *reader) drawn(q *interchange.Piece, e entity, set marked) bool {
	switch e.kind {
	case "POINT":
		return b.spot(q, e)
	case "LINE":
		p, ok1 := e.point(10)
		r, ok2 := e.point(11)
		if !ok1 || !ok2 {
			return false
		}
		return open(q, e.layer(), []geometry.Point{b.at(p), b.at(r)})
	case "POLYLINE", "LWPOLYLINE":
		points, ring := b.run(e)
		if !ring {
			return len(points) > 1 && open(q, e.layer(), points)
		}
		return closed(q, e.layer(), regrow(points, set))
	}
	return false
}

func (b *reader) spot(q *interchange.Piece, e entity) bool {
	p, ok := e.point(10)
	if !ok {
		return false
	}
	l := e.layer()
	if shape, ok := notchShapes[l]; ok {
		depth, said := e.num(39)
		if !said {
			depth, _ = e.num(30) // others write it as height
		}
		turn, _ := e.num(50)
		q.Notches = append(q.Notches, interchange.Notch{At: b.at(p), Turn: turn * math.Pi / 180, DepthMM: math.Abs(depth) * b.scale, Shape: shape})
		return true
	}
	if l == layerDrill {
		q.Drills = append(q.Drills, b.at(p))
	}
	return l == layerDrill || l == layerTurn || l == layerCurve
}

// open files an open line by its layer.
func open(q *interchange.Piece, layer string, points []geometry.Point) bool {
	kind, ok := lineKinds[layer]
	switch {
	case layer == layerGrain && q.Grain == nil:
		q.Grain = &[2]geometry.Point{points[0], points[len(points)-1]}
	case ok:
		q.Lines = append(q.Lines, interchange.Line{Kind: kind, Points: points})
	default:
		return false
	}
	return true
}

// lineKinds are the kinds of open lines by layer.
var lineKinds = map[string]interchange.LineKind{
	layerInternal: interchange.LineInternal, layerSew: interchange.LineSew, layerMirror: interchange.LineMirror,
}

// notchShapes are the shapes of notches by layer. Layer 4 holds slits and wedges, which
// nothing that is known of the standard tells apart: they are read as slits.
var notchShapes = map[string]interchange.NotchShape{
	layerNotch: interchange.NotchSlit, layerTNotch: interchange.NotchT,
	layerCastle: interchange.NotchOther, layerCheckNotch: interchange.NotchOther, layerUNotch: interchange.NotchOther,
}

// closed files a closed path by its layer, turned to run as its kind does.
func closed(q *interchange.Piece, layer string, p geometry.Path) bool {
	if math.Abs(p.Area()) < 1 { // a square millimetre is less than any cloth
		return false
	}
	switch {
	case layer == layerCut && len(q.Cut) == 0:
		q.Cut = interchange.Wound(p, 1)
	case layer == layerCutOut:
		q.CutOuts = append(q.CutOuts, interchange.Wound(p, -1))
	case layer == layerSew && len(q.Sew) == 0:
		q.Sew = interchange.Wound(p, 1)
	case lineKinds[layer] != "":
		ring := p.Flatten(chord)
		q.Lines = append(q.Lines, interchange.Line{Kind: lineKinds[layer], Points: append(ring, ring[0])})
	default:
		return false
	}
	return true
}
