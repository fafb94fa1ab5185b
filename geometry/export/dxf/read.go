package dxf

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"secondcut/geometry"
)

// Read reads a file after ASTM D6673, a block with a closed line on layer 1 being a
// piece, or a drawing with its layers in words, each closed line on CUT or
// CUT-LINE being a piece, or a hole in the one round it. Lengths come in mm: inches where the file says "Units: ENGLISH" or has
// $INSUNITS 1, else what it says, else mm. Between marked points a curve is made again
// where one cubic runs within 0.02 mm of the points; else the points stay knots. Where no
// turn points are marked, a bend of more than 30 degrees is a corner (a judgement, no
// source). It fails with ErrNotDXF, ErrTooLarge or ErrNoPiece.
func Read(r io.Reader) (Pattern, error) {
	f, err := parse(r)
	if err != nil {
		return Pattern{}, err
	}
	b := reader{out: Pattern{Skipped: map[string]int{}}, scale: 1}
	b.unit(f)
	for _, e := range f.entities {
		b.style(e)
	}
	for _, bl := range f.blocks {
		b.block(bl)
	}
	if len(b.out.Pieces) == 0 {
		b.plain(f.entities)
	}
	if len(b.out.Pieces) == 0 {
		return Pattern{}, fmt.Errorf("dxf: no closed line on layer 1 of a block, nor on a layer CUT or CUT-LINE: %w", ErrNoPiece)
	}
	return b.out, nil
}

type reader struct {
	out   Pattern
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
	q := Piece{Name: bl.name}
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
func (b *reader) words(q *Piece, e entity) bool {
	if e.kind != "TEXT" {
		return false
	}
	if e.layer() == layerText {
		q.Notes = append(q.Notes, e.text[1])
		return true
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
		q.Quantity = min(max(n, 0)+max(m, 0), 1000)
	}
	return true
}

// drawn takes what is drawn, and reports whether it could use it.
func (b *reader) drawn(q *Piece, e entity, set marked) bool {
	switch e.kind {
	case "POINT":
		return b.spot(q, e)
	case "LINE":
		p, ok1 := e.point(10)
		r, ok2 := e.point(11)
		if !ok1 || !ok2 {
			return false
		}
		return q.open(e.layer(), []geometry.Point{b.at(p), b.at(r)})
	case "POLYLINE", "LWPOLYLINE":
		points, closed := b.run(e)
		if !closed {
			return len(points) > 1 && q.open(e.layer(), points)
		}
		return q.closed(e.layer(), regrow(points, set))
	}
	return false
}

func (b *reader) spot(q *Piece, e entity) bool {
	p, ok := e.point(10)
	if !ok {
		return false
	}
	switch l := e.layer(); l {
	case layerTurn, layerCurve:
	case layerDrill:
		q.Drills = append(q.Drills, b.at(p))
	case layerNotch, layerTNotch:
		depth, _ := e.num(39)
		turn, _ := e.num(50)
		q.Notches = append(q.Notches, Notch{At: b.at(p), Turn: turn * math.Pi / 180, DepthMM: depth * b.scale, T: l == layerTNotch})
	default:
		return false
	}
	return true
}

// open files an open line by its layer.
func (q *Piece) open(layer string, points []geometry.Point) bool {
	switch layer {
	case layerGrain:
		q.Grain = &[2]geometry.Point{points[0], points[len(points)-1]}
	case layerInternal, layerSew, layerMirror:
		q.Lines = append(q.Lines, Line{LineKind(layer), points})
	default:
		return false
	}
	return true
}

// closed files a closed path by its layer, turned to run as its kind does.
func (q *Piece) closed(layer string, p geometry.Path) bool {
	if math.Abs(p.Area()) < 1 { // a square millimetre is less than any cloth
		return false
	}
	switch {
	case layer == layerCut && len(q.Cut) == 0:
		q.Cut = wound(p, 1)
	case layer == layerCutOut:
		q.CutOuts = append(q.CutOuts, wound(p, -1))
	case layer == layerSew && len(q.Sew) == 0:
		q.Sew = wound(p, 1)
	default:
		return false
	}
	return true
}

// wound returns the path so that its area has a sign.
func wound(p geometry.Path, sign float64) geometry.Path {
	if p.Area()*sign > 0 {
		return p
	}
	out := make(geometry.Path, len(p))
	for i, k := range p {
		out[(len(p)-i)%len(p)] = geometry.Knot{At: k.At, In: k.Out, Out: k.In, Corner: k.Corner}
	}
	return out
}

// inWords are the layers of drawings whose layers have names, by those of the standard.
var inWords = map[string]string{
	"CUT": layerCut, "CUT-LINE": layerCut, "STITCH": layerSew, "STITCH-LINE": layerSew,
	"FOLD-LINES": layerInternal, "GRAIN": layerGrain, "GRAIN-LINE": layerGrain, "TEXT": layerText,
}

// plain reads a drawing without blocks: pieces are what is closed on the layer to cut, and
// the rest belongs to the first that holds it.
func (b *reader) plain(all []entity) {
	var rings []geometry.Path
	var rest []entity
	for _, e := range all {
		e.text[8] = inWords[e.layer()]
		if points, closed := b.run(e); closed && e.layer() == layerCut {
			rings = append(rings, regrow(points, marked{}))
		} else {
			rest = append(rest, e)
		}
	}
	var holes []geometry.Path
	for i, r := range rings {
		if within(rings, i) {
			holes = append(holes, r)
			continue
		}
		q := Piece{Name: fmt.Sprintf("Piece %d", len(b.out.Pieces)+1)}
		if q.closed(layerCut, r) {
			b.out.Pieces = append(b.out.Pieces, q)
		}
	}
	for _, h := range holes {
		if q := b.holder(h[0].At); q != nil {
			q.closed(layerCutOut, h)
		}
	}
	for _, e := range rest {
		p, ok := e.point(10)
		if len(e.points) > 0 {
			p, ok = e.points[0], true
		}
		q := b.holder(b.at(p))
		if !ok || q == nil || e.layer() == "" || !b.words(q, e) && !b.drawn(q, e, marked{}) {
			b.out.Skipped[e.kind]++
		}
	}
}

// within reports whether a ring lies in a larger one.
func within(rings []geometry.Path, i int) bool {
	for j, r := range rings {
		if j != i && math.Abs(r.Area()) > math.Abs(rings[i].Area()) && r.Flatten(0.1).Contains(rings[i][0].At) {
			return true
		}
	}
	return false
}

// holder returns the first piece that a point lies in, or nil.
func (b *reader) holder(p geometry.Point) *Piece {
	for i := range b.out.Pieces {
		if q := &b.out.Pieces[i]; q.Cut.Flatten(0.1).Contains(p) {
			return q
		}
	}
	return nil
}
