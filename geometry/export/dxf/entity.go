package dxf

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"secondcut/geometry"
)

const (
	maxBytes  = 64 << 20
	maxValues = 4e6
	// farMM bounds coordinates: a kilometre is no garment.
	farMM = 1e6
)

// entity is a thing of the file with its values by group code; of a polyline, with its
// points as well.
type entity struct {
	kind   string
	text   map[int]string
	points []geometry.Point
	bulges []float64
	closed bool
}

func (e entity) layer() string { return strings.ToUpper(strings.TrimSpace(e.text[8])) }

func (e entity) num(code int) (float64, bool) {
	x, err := strconv.ParseFloat(strings.TrimSpace(e.text[code]), 64)
	return x, err == nil && math.Abs(x) <= farMM
}

func (e entity) point(code int) (geometry.Point, bool) {
	x, okX := e.num(code)
	y, okY := e.num(code + 10)
	return geometry.Point{X: x, Y: y}, okX && okY
}

// file is what is read of a file: the entities of each block, in order, those outside
// of blocks, and the values of the settings.
type file struct {
	blocks   []block
	entities []entity
	units    string
}

type block struct {
	name     string
	entities []entity
}

// parse reads the pairs of a file. It fails with ErrNotDXF or ErrTooLarge.
func parse(r io.Reader) (file, error) {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	lines := bufio.NewScanner(limited)
	lines.Buffer(make([]byte, 4096), 1<<20)
	var f file
	p := parser{file: &f}
	for n := 0; lines.Scan(); n++ {
		code, err := strconv.Atoi(strings.TrimSpace(lines.Text()))
		if err != nil {
			return f, fmt.Errorf("dxf: line %d: %w", 2*n+1, ErrNotDXF)
		}
		if !lines.Scan() {
			return f, fmt.Errorf("dxf: it ends in the middle: %w", ErrNotDXF)
		}
		if n > maxValues {
			return f, fmt.Errorf("dxf: %w", ErrTooLarge)
		}
		if p.take(code, strings.TrimRight(lines.Text(), "\r")); p.done {
			return f, nil
		}
	}
	switch err := lines.Err(); {
	case limited.N <= 0:
		return f, fmt.Errorf("dxf: %w", ErrTooLarge)
	case err != nil:
		return f, fmt.Errorf("dxf: %w: %w", ErrNotDXF, err)
	}
	return f, fmt.Errorf("dxf: it has no end: %w", ErrNotDXF)
}

// parser gathers pairs into entities.
type parser struct {
	file    *file
	section string
	setting string
	now     entity
	poly    *entity // the polyline whose vertices follow
	inBlock bool
	done    bool
}

func (p *parser) take(code int, value string) {
	if code == 0 {
		p.finish()
		p.now = entity{kind: strings.TrimSpace(value), text: map[int]string{}}
		p.done = p.now.kind == "EOF"
		return
	}
	if p.now.kind == "SECTION" && code == 2 {
		p.section = strings.TrimSpace(value)
	}
	if p.section == "HEADER" {
		if code == 9 {
			p.setting = strings.TrimSpace(value)
		} else if p.setting == "$INSUNITS" {
			p.file.units = strings.TrimSpace(value)
		}
		return
	}
	if p.now.text == nil {
		return
	}
	if p.now.kind == "LWPOLYLINE" {
		p.now.lwpoint(code, value)
	}
	if _, twice := p.now.text[code]; !twice {
		p.now.text[code] = value
	}
}

// lwpoint takes a value of the short form of polylines, in which points are not named.
func (e *entity) lwpoint(code int, value string) {
	x, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	n := len(e.points)
	switch {
	case err != nil || !(math.Abs(x) <= farMM):
	case code == 10:
		e.points, e.bulges = append(e.points, geometry.Point{X: x}), append(e.bulges, 0)
	case code == 20 && n > 0:
		e.points[n-1].Y = x
	case code == 42 && n > 0:
		e.bulges[n-1] = x
	}
}

// finish files the entity that has ended.
func (p *parser) finish() {
	e := p.now
	switch e.kind {
	case "", "SECTION", "ENDSEC", "TABLE", "ENDTAB", "ENDBLK":
		p.inBlock = p.inBlock && e.kind != "ENDBLK"
		return
	case "BLOCK":
		p.file.blocks = append(p.file.blocks, block{name: strings.TrimSpace(e.text[2])})
		p.inBlock = true
		return
	case "POLYLINE":
		e.closed = flag(e)&1 != 0
		p.poly = &e
		return
	case "VERTEX":
		p.vertex(e)
		return
	case "SEQEND":
		if p.poly != nil {
			p.file.add(*p.poly, p.inBlock)
			p.poly = nil
		}
		return
	case "LWPOLYLINE":
		e.closed = flag(e)&1 != 0
	}
	if p.section == "BLOCKS" || p.section == "ENTITIES" {
		p.file.add(e, p.inBlock)
	}
}

func (p *parser) vertex(e entity) {
	if p.poly == nil {
		return
	}
	const control = 16 // of a spline's frame, which is not on the line
	if q, ok := e.point(10); ok && flag(e)&control == 0 {
		bulge, _ := e.num(42)
		p.poly.points, p.poly.bulges = append(p.poly.points, q), append(p.poly.bulges, bulge)
	}
}

func flag(e entity) int {
	n, _ := strconv.Atoi(strings.TrimSpace(e.text[70]))
	return n
}

func (f *file) add(e entity, inBlock bool) {
	if n := len(f.blocks); inBlock && n > 0 {
		f.blocks[n-1].entities = append(f.blocks[n-1].entities, e)
		return
	}
	f.entities = append(f.entities, e)
}
