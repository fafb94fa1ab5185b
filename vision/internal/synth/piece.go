package synth

import (
	"math"
	"math/rand/v2"

	"secondcut/geometry"
)

// drawnPiece is a piece made ready for drawing.
type drawnPiece struct {
	Piece
	*outline
	ragged  field
	threads []thread
}

// thread is a straight bit of a loose thread.
type thread struct {
	a, b geometry.Point
	half float64 // half its width, mm
	tone float64 // brightness against the cloth
}

func newPiece(p Piece) *drawnPiece {
	rings := append([]geometry.Path{p.Path}, p.Holes...)
	d := &drawnPiece{Piece: p, outline: newOutline(rings), ragged: newField(p.Edge.Seed + 1)}
	d.pullThreads(rand.New(rand.NewPCG(p.Edge.Seed, 0x7ead)))
	return d
}

// eaten returns how far inside the clean edge the cloth ends at a place of it.
func (d *drawnPiece) eaten(n near) float64 {
	e := &d.Edge
	loss := 0.0
	if e.LossMM > 0 {
		s := n.along + 1000*float64(n.ring)
		// Stretches that lost their outermost threads, with ragged ends; between
		// them the cut edge is still whole.
		runs := ramp(-0.15, 0.9, d.ragged.at(s/9, 3.5)+0.4*d.ragged.at(s/1.9, 7.5))
		ends := 0.5 + 0.5*d.ragged.at(s/0.35, 11.5)
		loss += e.LossMM * runs * (0.6 + 0.4*ends)
	}
	if e.ScallopMM > 0 && e.ScallopPeriod > 0 {
		phase := 2 * math.Pi * (n.along/e.ScallopPeriod + 0.15*d.ragged.at(n.along/40, 19.5))
		loss += e.ScallopMM / 2 * math.Cos(phase)
	}
	if k := d.nick(n.along); n.ring == 0 && k > 0 {
		loss = max(loss, k)
	}
	return loss
}

func (d *drawnPiece) nick(along float64) (depth float64) {
	for _, k := range d.Edge.Nicks {
		off := math.Remainder(along-k.Along*d.rings[0], d.rings[0]) - k.Lean*k.WidthMM
		half := k.WidthMM * (0.5 - math.Copysign(k.Lean, off)) // of the side that off lies on
		if off = math.Abs(off); off < half {
			depth = max(depth, k.DepthMM*(1-off/half))
		}
	}
	return depth
}

// pullThreads draws the loose threads, out of the edge and slightly curled.
func (d *drawnPiece) pullThreads(rng *rand.Rand) {
	if d.Edge.Threads <= 0 || d.Edge.ThreadMM <= 0 {
		return
	}
	edgeParts := len(d.parts)
	for _, p := range d.parts[:edgeParts] {
		along := p.b.Sub(p.a)
		expect := d.Edge.Threads * along.Len()
		for expect > 0 && rng.Float64() < expect {
			expect--
			d.pullThread(rng, p.a.Lerp(p.b, rng.Float64()), along.Unit().Perp().Scale(-1))
		}
	}
	for i, t := range d.threads {
		d.eachCell(t.a, t.b, func(c *cell) { c.threads = append(c.threads, int32(i)) })
	}
}

// pullThread adds one thread that leaves the edge at a, outward along out. Most
// are short: the length is the longest times a squared fraction.
func (d *drawnPiece) pullThread(rng *rand.Rand, a geometry.Point, out geometry.Vec) {
	u := rng.Float64()
	length := d.Edge.ThreadMM * (0.05 + 0.95*u*u*u)
	heading := math.Atan2(out.Y, out.X) + rng.NormFloat64()*0.45
	curl := rng.NormFloat64() * 0.9 / max(length, 2)
	half := 0.09 + 0.08*rng.Float64()
	tone := 0.85 + 0.4*rng.Float64()
	// It starts in the cloth, so that no gap opens where the edge is eaten in.
	a = geometry.Point{X: a.X - out.X*(d.Edge.LossMM+0.3), Y: a.Y - out.Y*(d.Edge.LossMM+0.3)}
	length += d.Edge.LossMM + 0.3
	const bit = 1.0
	for done := 0.0; done < length; done += bit {
		l := min(bit, length-done)
		b := geometry.Point{X: a.X + l*math.Cos(heading), Y: a.Y + l*math.Sin(heading)}
		d.threads = append(d.threads, thread{a, b, half, tone})
		a = b
		heading += curl*bit + rng.NormFloat64()*0.06
	}
}

// cover says whether q, on the cloth's upper face, is cloth, and how bright
// against the cloth's own colour.
func (d *drawnPiece) cover(q geometry.Point) (tone float64, ok bool) {
	c, _, _ := d.cellAt(q)
	if c == nil {
		return 0, false
	}
	if len(c.parts) == 0 {
		return 1, c.inside
	}
	n := d.locate(q)
	if n.depth >= reachMM { // too far inside to know the nearest place of the edge
		return 1, true
	}
	if over := n.depth - d.eaten(n); over > 0 {
		// The cut edge is rounded and catches less light.
		return 1 - 0.22*math.Exp(-over/0.35), true
	}
	for _, i := range c.threads {
		t := &d.threads[i]
		if distance(q, t.a, t.b) < t.half {
			return t.tone, true
		}
	}
	return 0, false
}

// busy reports whether cover may change within r mm of q.
func (d *drawnPiece) busy(q geometry.Point, r float64) bool {
	c, _, _ := d.cellAt(q)
	if c == nil || len(c.parts)+len(c.threads) == 0 {
		return false
	}
	n := d.locate(q)
	if n.depth > -reachMM && n.depth < reachMM {
		// eaten is steep along the edge: between its extremes all is possible.
		deep := d.Edge.LossMM + d.Edge.ScallopMM/2
		if n.ring == 0 && len(d.Edge.Nicks) > 0 {
			deep = max(deep, d.nick(n.along-r-0.2))
			deep = max(deep, max(d.nick(n.along), d.nick(n.along+r+0.2)))
		}
		if n.depth > -d.Edge.ScallopMM/2-r && n.depth < deep+r {
			return true
		}
	}
	for _, i := range c.threads {
		t := &d.threads[i]
		if distance(q, t.a, t.b) < t.half+r {
			return true
		}
	}
	return false
}

// shadow returns how much of the light at q on the surface is taken by the cloth
// lying beside it, 0..1.
func (d *drawnPiece) shadow(q geometry.Point, l *Light, from geometry.Vec) float64 {
	c, _, _ := d.cellAt(q)
	if c == nil {
		return 0
	}
	touch := 0.0
	if n := d.locate(q); n.depth > -reachMM {
		touch = 0.3 * math.Exp(min(n.depth, 0)/0.7)
	}
	soft := l.Soft
	if soft <= 0 {
		soft = 1
	}
	toward := d.locate(geometry.Point{X: q.X + from.X*l.Throw, Y: q.Y + from.Y*l.Throw})
	return max(touch, l.Dark*ramp(-soft, soft, toward.depth))
}
