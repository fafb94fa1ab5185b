package sheet

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/pattern"
)

// Text sizes in mm (em); capitals are 0.72 of it, so that notes have capitals
// of 3.5 mm, the smallest that reads well at arm's length.
const (
	nameSize = 8.0
	noteSize = 4.9
	tinySize = 3.2
	leading  = 1.35
)

// label is the block of text on a piece: its name, then its notes.
type label struct {
	lines []labelLine
	box   box     // in the frame that is turned back by turn
	turn  float64 // direction of the text
	scale float64 // of the sizes above; 0 where nothing found room
}

type labelLine struct {
	text string
	bold bool
	size float64 // at scale 1
}

// plan is where words and arrow of a piece stand.
type plan struct {
	label label
	// notes are what marks at a point say, beside them.
	notes []export.Item
	// grain holds the ends of the arrow; nil where there is none, or a mark
	// draws it.
	grain []geometry.Point
	// short says that only the name found room, or not even that.
	short bool
}

// newPlan finds room for the words of marks; for the label along the grain, as
// large as fits; and for the grain arrow where no mark gives it: inside the stitch
// line, clear of the piece's art, and off the joins where it can. Where the label
// finds no room along the grain, as on narrow strips on the bias, it runs across it
// or along the longest edge.
func newPlan(p Piece, art []export.Item, joins [][]geometry.Point) plan {
	r := newRoom(p, art, joins, p.turn())
	var out plan
	out.notes = r.markNotes(p)
	out.label, out.short = r.placeLabel(p)
	if out.short {
		for _, turn := range []float64{readable(p.turn() + math.Pi/2), p.longest()} {
			other := newRoom(p, append(slices.Clone(art), out.notes...), joins, turn)
			if l, short := other.placeLabel(p); !short {
				out.label, out.short = l, false
				break
			}
		}
	}
	r.block(out.label.items())
	out.grain = r.placeGrain(p)
	return out
}

// longest returns the direction of the longest stretch between two knots.
func (p Piece) longest() float64 {
	best, turn := 0.0, 0.0
	for _, s := range p.Outline.Segments() {
		if v := s.D.Sub(s.A); v.Len() > best {
			best, turn = v.Len(), math.Atan2(v.Y, v.X)
		}
	}
	return readable(turn)
}

// room is the free room of a piece in a frame in which words run upright.
type room struct {
	turn        float64
	back        geometry.Rigid // from the piece to the frame
	whole, tile *field         // the latter without the joins
	centre      func(geometry.Point) float64
}

func newRoom(p Piece, art []export.Item, joins [][]geometry.Point, turn float64) room {
	r := room{turn: turn, back: geometry.Rigid{Turn: -turn}}
	inner := p.Outline
	if len(p.Stitch) > 0 {
		inner = p.Stitch
	}
	rings := coarse(append([]geometry.Path{inner}, p.Holes...)...)
	for _, ring := range rings {
		turnLine(ring, r.back)
	}
	lo, hi := rings[0].Bounds()
	r.centre = nearTo(lo.Lerp(hi, 0.5))
	r.whole = newField(box{lo, hi})
	r.whole.outside(rings)
	for _, ring := range rings {
		r.whole.ring(ring, 2.5)
	}
	block(r.whole, art, r.back, 2.2)
	r.tile = r.whole.copy()
	for _, j := range joins {
		line := slices.Clone(j)
		turnLine(line, r.back)
		r.tile.line(line, joinMM+1)
	}
	return r
}

// block blocks what items cover.
func (r room) block(items []export.Item) {
	block(r.whole, items, r.back, 3)
	block(r.tile, items, r.back, 3)
}

// markNotes writes what marks at a point say, and texts that are marks: these where
// they were put if there is room, the others beside their marks, or else as near as
// there is room.
func (r room) markNotes(p Piece) []export.Item {
	var out []export.Item
	for _, m := range p.Marks {
		sin, cos := math.Sincos(r.turn)
		note := noteAt(LayerMarks, m.At.Add(geometry.Vec{X: cos, Y: sin}.Scale(6)), r.turn, export.AlignLeft, m.Text)
		switch m.Kind {
		case pattern.MarkNotch, pattern.MarkSnip, pattern.MarkDrill, pattern.MarkButtonhole:
		case pattern.MarkText:
			note.Layer, note.At, note.Size = LayerText, m.At, noteSize
		default:
			continue
		}
		if m.Text == "" {
			continue
		}
		note.At = r.near(note, r.back.Apply(m.At))
		r.block([]export.Item{note})
		out = append(out, note)
	}
	return out
}

// near returns where a text may stand: where it does, if it is a text of its own
// and there is room, else as near to a point of the frame as there is.
func (r room) near(t export.Text, q geometry.Point) geometry.Point {
	line := textBox(t)
	turnLine(line, r.back)
	if t.Layer == LayerText && r.tile.lies(boundsOf(line)) {
		return t.At
	}
	for _, f := range []*field{r.tile, r.whole} {
		if b, ok := f.find(export.TextWidth(t.Content, t.Size, t.Bold), t.Size, nearTo(q)); ok {
			return r.back.Inverse().Apply(b.lo.Add(geometry.Vec{Y: 0.25 * t.Size}))
		}
	}
	return t.At
}

func turnLine(line []geometry.Point, by geometry.Rigid) {
	for i, q := range line {
		line[i] = by.Apply(q)
	}
}

// block blocks what items cover: lines with clear mm on either side, words with
// somewhat less.
func block(f *field, items []export.Item, frame geometry.Rigid, clear float64) {
	for _, it := range items {
		switch it := it.(type) {
		case export.Shape:
			for _, c := range it.Contours {
				line := flatLine(c)
				turnLine(line, frame)
				f.line(line, clear)
			}
		case export.Text:
			line := textBox(it)
			turnLine(line, frame)
			f.box(boundsOf(line).grown(0.7 * clear))
		}
	}
}

// flatLine returns a contour as points, curves within half a millimetre or so; a
// closed one ends where it begins.
func flatLine(c export.Contour) []geometry.Point {
	var out []geometry.Point
	segments := c.Segments()
	for _, s := range segments {
		n := 1
		if s.Curved {
			n = min(2+int(s.A.Dist(s.D)/10), 100)
		}
		for i := range n {
			out = append(out, s.At(float64(i)/float64(n)))
		}
	}
	if len(segments) > 0 {
		out = append(out, segments[len(segments)-1].D)
	}
	return out
}

// textBox returns the corners of a text: capitals are 0.72 em high, and a fifth
// hangs below the baseline (the font says 0.212).
func textBox(t export.Text) []geometry.Point {
	w := export.TextWidth(t.Content, t.Size, t.Bold)
	from := map[export.Align]float64{export.AlignLeft: 0, export.AlignCentre: -w / 2, export.AlignRight: -w}[t.Align]
	turn := geometry.Rigid{Turn: t.Turn, Move: t.At}
	at := func(x, y float64) geometry.Point { return turn.Apply(geometry.Point{X: x, Y: y}) }
	return []geometry.Point{at(from, -0.212*t.Size), at(from+w, -0.212*t.Size), at(from+w, 0.72*t.Size), at(from, 0.72*t.Size)}
}

// placeLabel returns the largest label that fits, the whole text if it can be
// read, else the name alone. short says that not all is written.
func (r room) placeLabel(p Piece) (l label, short bool) {
	turn, tiles, whole := r.turn, r.tile, r.whole
	// Widths of the text, in em of the notes, the pleasant ones first; on narrow
	// pieces the notes run on in long lines.
	var listed, runOn []label
	for _, w := range []float64{34, 26, 46, 20, 64, 15, 100} {
		listed = append(listed, newLabel(p, turn, w, p.words()))
	}
	for _, w := range []float64{34, 60, 20, 100} {
		runOn = append(runOn, newLabel(p, turn, w, []string{strings.Join(p.words(), "; ")}))
	}
	name := []label{newLabel(p, turn, 34, nil), newLabel(p, turn, 12, nil)}
	large, middle, small := []float64{1.6, 1.3, 1.1, 1, 0.85, 0.75}, []float64{1.3, 1, 0.85, 0.75}, []float64{0.62, 0.52}
	for _, try := range []struct {
		labels []label
		on     *field
		scales []float64
		short  bool
	}{
		{listed, tiles, large, false},
		{runOn, tiles, middle, false},
		{listed, whole, middle, false},
		{runOn, whole, middle, false},
		{listed, tiles, small, false},
		{listed, whole, small, false},
		{runOn, whole, small, false},
		{name, whole, []float64{1, 0.8, 0.62, 0.5, 0.4}, true},
	} {
		for _, scale := range try.scales {
			for _, l := range try.labels {
				w, h := l.size(scale)
				if b, ok := try.on.find(w, h, r.centre); ok {
					l.box, l.scale = b, scale
					return l, try.short
				}
			}
		}
	}
	return label{turn: turn}, true
}

// words returns what is written on a piece below its name.
func (p Piece) words() []string {
	out := slices.Clone(p.Notes)
	if !p.Complete {
		out = append(out, p.size, p.Meaning, p.sureText())
	}
	return out
}

// newLabel sets the name and the notes in lines of at most width em of the notes.
func newLabel(p Piece, turn, width float64, notes []string) label {
	l := label{turn: turn}
	add := func(content string, size float64, bold bool) {
		for _, line := range export.Wrap(wholeLengths(content), size, width*noteSize, bold) {
			l.lines = append(l.lines, labelLine{strings.ReplaceAll(line, noBreak, " "), bold, size}) // found by those who search for it
		}
	}
	add(p.Name, nameSize, true)
	for _, note := range notes {
		add(note, noteSize, false)
	}
	return l
}

// noBreak is the no-break space.
const noBreak = "\u00a0"

var (
	beforeUnit     = regexp.MustCompile(`(\d) (mm|cm)\b`)
	beforeFraction = regexp.MustCompile(`(\d) (\d+/\d)`)
)

// wholeLengths keeps the parts of a length on one line.
func wholeLengths(note string) string {
	note = beforeUnit.ReplaceAllString(note, "$1"+noBreak+"$2")
	return beforeFraction.ReplaceAllString(note, "$1"+noBreak+"$2")
}

// size returns the width and height of the label at a scale.
func (l label) size(scale float64) (width, height float64) {
	for _, line := range l.lines {
		width = math.Max(width, export.TextWidth(line.text, line.size, line.bold))
		height += line.size * leading
	}
	return width * scale, height * scale
}

func (l label) items() []export.Item {
	if l.scale == 0 {
		return nil
	}
	frame := geometry.Rigid{Turn: l.turn}
	var items []export.Item
	y := l.box.hi.Y
	for _, line := range l.lines {
		size := line.size * l.scale
		y -= size * leading
		items = append(items, export.Text{
			Layer: LayerText, At: frame.Apply(geometry.Point{X: l.box.lo.X, Y: y + size*(leading-1)}), Size: size,
			Bold: line.bold, Ink: 0.9, Turn: l.turn, Content: line.text,
		})
	}
	return items
}

// placeGrain returns the ends of a grain arrow along the grain, as long as there
// is room, up to 250 mm; nil where none is to be drawn.
func (r room) placeGrain(p Piece) []geometry.Point {
	if p.GrainDeg == nil || p.hasGrainMark() {
		return nil
	}
	const wide, spare = 14.0, 4.0
	frame := r.back.Inverse()
	for _, f := range []*field{r.tile, r.whole} {
		for _, length := range []float64{250, 200, 150, 110, 80, 55, 35} {
			if b, ok := f.find(length+2*spare, wide, r.centre); ok {
				half := geometry.Vec{X: length / 2}
				return []geometry.Point{frame.Apply(b.centre().Add(half.Scale(-1))), frame.Apply(b.centre().Add(half))}
			}
		}
	}
	return nil
}

// items returns the label, the words of marks and the arrow.
func (p plan) items() []export.Item {
	items := append(p.label.items(), p.notes...)
	if p.grain != nil {
		items = append(items, arrow(p.grain[0], p.grain[1], "grain")...)
	}
	return items
}

// paragraph sets text in lines of at most width mm from the upper left corner
// and returns it with the height at which the next one may begin.
func paragraph(at geometry.Point, width, size float64, bold bool, content string) ([]export.Item, float64) {
	var items []export.Item
	y := at.Y
	for _, line := range export.Wrap(content, size, width, bold) {
		y -= size * leading
		items = append(items, export.Text{Layer: LayerText, At: geometry.Point{X: at.X, Y: y + size*(leading-1)}, Size: size, Bold: bold, Ink: 0.9, Content: line})
	}
	return items, y
}
