package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// CodeOldStep is the code of the finding that old allowances differ where two edges
// run on smoothly.
const CodeOldStep = "old-allowance-step"

// Judgements about such places, from no source.
const (
	smoothTurnDeg = 10.0 // edges run on smoothly up to this turn
	rampRatio     = 10.0 // length of the change from one allowance to the other, as a multiple of it
	stepMM        = 1.0  // differences from here on are reported
)

// strip is a part of an edge along which its old allowance changes linearly.
type strip struct {
	edge       int
	first      int // index of its first knot on the stitch line
	start, end float64
}

// strips cuts the edges of a piece where an old allowance has to change: where two
// edges run on into each other smoothly a stitch line has no step, so that the
// allowance runs from one to the other on both sides. It returns the piece with an
// edge for each strip, the strips in the same order, and what the person should know.
// Only known allowances are made to meet.
func strips(p Piece, old []float64, known []bool) (Piece, []strip, []geometry.Finding) {
	n := len(p.Edges)
	at := stitched{piece: p, path: p.Knots} // the outline, read as a stitch line
	for _, e := range p.Edges {
		at.first = append(at.first, e.Knot)
	}
	meet := make([]float64, n) // the allowance where edge k begins, where it is not its own
	for k := range meet {
		before := (k + n - 1) % n
		meet[k] = math.NaN()
		if known[before] && known[k] && old[before] != old[k] && at.smooth(k) {
			meet[k] = (old[before] + old[k]) / 2
		}
	}
	var list []strip
	var places []place
	add := func(k int, q place, start, end float64) {
		q.found = true
		list, places = append(list, strip{edge: k, start: start, end: end}), append(places, q)
	}
	for k := range p.Edges {
		line := at.edge(k)
		length := geometry.ChainLength(line)
		here, next := meet[k], meet[(k+1)%n]
		ramp := func(to float64) float64 { return math.Min(2*rampRatio*math.Abs(to-old[k]), length/3) }
		place := func(s float64) place { return at.placeOn(k, s) }
		switch up, down := !math.IsNaN(here), !math.IsNaN(next); {
		case !up && !down:
			add(k, place(0), old[k], old[k])
		case up && !down:
			add(k, place(0), here, old[k])
			add(k, place(ramp(here)), old[k], old[k])
		case !up:
			add(k, place(0), old[k], old[k])
			add(k, place(length-ramp(next)), old[k], next)
		default:
			add(k, place(0), here, old[k])
			add(k, place(ramp(here)), old[k], old[k])
			add(k, place(length-ramp(next)), old[k], next)
		}
	}
	if len(list) == n {
		return p, list, nil
	}
	return p.cutInto(list, places), list, stepFindings(p, old, meet)
}

// smooth reports whether the outline runs on smoothly where edge k begins.
func (s stitched) smooth(k int) bool {
	n := len(s.first)
	before, after := s.edge((k+n-1)%n), s.edge(k)
	return heading(before[len(before)-1], 1).Dot(heading(after[0], 0)) > math.Cos(smoothTurnDeg*math.Pi/180)
}

// placeOn returns the place on the path at an arc length along edge k.
func (s stitched) placeOn(k int, mm float64) place {
	line, n := s.edge(k), len(s.path)
	for i, g := range line {
		l := g.Length()
		if mm < l || i == len(line)-1 {
			t := g.ParameterAt(mm)
			if t < 1e-6 {
				t = 0
			}
			return place{segment: (s.first[k] + i) % n, t: math.Min(t, 1-1e-6)}
		}
		mm -= l
	}
	return place{segment: s.first[k]}
}

// cutInto returns the piece with an edge for each strip.
func (p Piece) cutInto(list []strip, places []place) Piece {
	out := p
	knots := putIn(&out.Knots, places)
	out.Edges = make([]Edge, len(list))
	for i, r := range list {
		out.Edges[i] = p.Edges[r.edge]
		out.Edges[i].Knot = knots[i]
	}
	return out
}

func stepFindings(p Piece, old, meet []float64) []geometry.Finding {
	var out []geometry.Finding
	n := len(p.Edges)
	for k, m := range meet {
		before := (k + n - 1) % n
		step := math.Abs(old[k] - old[before])
		if math.IsNaN(m) || step < stepMM {
			continue
		}
		where := p.Knots[p.Edges[k].Knot].At
		out = append(out, geometry.Finding{
			Code: CodeOldStep, Severity: geometry.SeverityInfo, Piece: p.ID, Where: &where, Amount: step, Limit: stepMM,
			Message: fmt.Sprintf("%s: %s and %s run on into each other, but their old allowances are %.1f and %.1f mm; the stitch line is led from one to the other.", p.Name, p.Edges[before].Name, p.Edges[k].Name, old[before], old[k]),
			Remedy:  "Measure both near that place again; part the edges where the allowance really changes.",
		})
	}
	return out
}
