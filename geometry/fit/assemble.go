package fit

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// end is where a span meets a corner: the point, and the parameters at which the
// span before ends and the span after begins.
type end struct {
	at            geometry.Point
	before, after float64
}

// meetSpans intersects the clean curves on both sides of corner c. Where they
// meet nowhere near, the corner found by its local fits is kept.
func meetSpans(a, b *span, c corner, unit float64) end {
	ahi := a.breaks[len(a.breaks)-1]
	blo := b.breaks[0]
	e := end{at: c.outside(a.loss, b.loss), before: ahi, after: blo}
	far := 12 * unit
	x := c.at
	ua, ub := ahi, blo
	for range 8 {
		p, t := a.clean(ua)
		q, v := b.clean(ub)
		den := t.Cross(v)
		if math.Abs(den) < 0.1 {
			return e
		}
		x = p.Add(t.Scale(q.Sub(p).Cross(v) / den))
		ua = math.Max(ahi-far, math.Min(ahi+far, ua+x.Sub(p).Dot(t)))
		ub = math.Max(blo-far, math.Min(blo+far, ub+x.Sub(q).Dot(v)))
	}
	p, _ := a.clean(ua)
	q, _ := b.clean(ub)
	allowed := 0.4*unit + 6*math.Max(a.level.sd, b.level.sd) + 2*math.Max(a.loss, b.loss)
	if p.Dist(x)+q.Dist(x) > 0.05*unit || x.Dist(e.at) > allowed {
		return e
	}
	return end{x, ua, ub}
}

// outside returns the corner of the edges moved out by before and after, mm.
func (c corner) outside(before, after float64) geometry.Point {
	m, n := c.in.Perp().Scale(-1), c.out.Perp().Scale(-1)
	den := m.Cross(n)
	if math.Abs(den) < 0.1 {
		return c.at
	}
	// v with v.m = before and v.n = after.
	v := geometry.Vec{X: before*n.Y - after*m.Y, Y: after*m.X - before*n.X}
	return c.at.Add(v.Scale(1 / den))
}

// assemble writes the spans as a path and the reports on it.
func assemble(r *ring, corners []corner, spans []*span, opt Options) Result {
	var out Result
	n := len(spans)
	ends := make([]end, len(corners))
	for k := range corners {
		ends[k] = meetSpans(spans[(k+n-1)%n], spans[k], corners[k], r.unit)
	}
	for k, s := range spans {
		rep := s.report(opt)
		rep.From = len(out.Path)
		if len(corners) == 0 {
			out.Path = appendCourse(out.Path, s.closed(r.total), s.tolerance(opt, r.unit), true)
		} else {
			a, b := ends[k], ends[(k+1)%n]
			if s.line {
				out.Path = append(out.Path, geometry.Knot{At: a.at, Corner: true})
			} else {
				out.Path = appendCourse(out.Path, s.course(a, b, r.unit), s.tolerance(opt, r.unit), false)
			}
		}
		rep.To = len(out.Path)
		out.Edges = append(out.Edges, rep)
		out.FrayMM = math.Max(out.FrayMM, s.fray)
	}
	out.Edges[n-1].To = 0
	out.Path = joinHandles(out.Path)
	out.UncertaintyMM = pooled(spans, len(corners) > 0, r.unit, opt)
	return out
}

// tolerance is what the cubics may differ from the clean curve: no more than a
// part of what the curve itself is uncertain by.
func (s *span) tolerance(opt Options, unit float64) float64 {
	return math.Max(0.7*opt.tolerance()*unit, 0.35*s.standardError())
}

// course samples the clean curve from corner a to corner b.
func (s *span) course(a, b end, unit float64) *course {
	lo, hi := a.after, b.before
	c := &course{cornered: true}
	n := int(math.Max(16, math.Min(160, (hi-lo)/(3*unit))))
	for i := range n + 1 {
		p, t := s.clean(lo + (hi-lo)*float64(i)/float64(n))
		switch i {
		case 0:
			p = a.at
		case n:
			p = b.at
		}
		c.add(p, t)
	}
	return c
}

// closed samples the clean curve of a ring without corners once round. The span
// runs past both ends; there its two versions are blended.
func (s *span) closed(total float64) *course {
	over := -s.lo
	c := &course{}
	const n = 240
	for i := range n + 1 {
		u := total * float64(i) / n
		p, t := s.clean(u)
		other := 0.0
		switch {
		case u < over:
			other = total
		case u > total-over:
			other = -total
		}
		if other != 0 {
			// g falls from 1/2 at the seam to 0 where the overlap ends.
			f := math.Min(u, total-u) / over
			g := 0.5 * (1 - f*f*(3-2*f))
			q, v := s.clean(u + other)
			p, t = p.Lerp(q, g), t.Scale(1-g).Add(v.Scale(g))
		}
		c.add(p, t)
	}
	c.p[n], c.t[n] = c.p[0], c.t[0]
	return c
}

// appendCourse writes the course as cubics. The last knot of the course is the
// first of the next span, or of this one when closed; its In handle is put into
// the knot after the last one, which joinHandles takes apart.
func appendCourse(path geometry.Path, c *course, tol float64, closed bool) geometry.Path {
	at := c.split(tol)
	if closed && len(at) < 4 { // a closed curve needs three cubics at least
		m := len(c.p) - 1
		at = []int{0, m / 3, 2 * m / 3, m}
	}
	for k := 0; k+1 < len(at); k++ {
		seg, _ := c.bezier(at[k], at[k+1])
		b, d := seg.B, seg.C
		path = append(path, geometry.Knot{At: seg.A, Out: &b, In: &d, Corner: k == 0 && !closed})
	}
	return path
}

// joinHandles moves the In handles, which appendCourse left on the knot where
// their segment begins, to the knot where it ends.
func joinHandles(path geometry.Path) geometry.Path {
	n := len(path)
	out := make(geometry.Path, n)
	for i, k := range path {
		out[i] = k
		out[i].In = path[(i+n-1)%n].In
	}
	return out
}

// standardError is that of the fitted curve, mm: noise over the number of
// independent samples for each parameter.
func (s *span) standardError() float64 {
	length := math.Max(s.hi-s.lo, 1e-9)
	dof := 2.0
	if !s.line {
		dof = float64(len(s.breaks) + 2)
	}
	return s.level.sd * math.Sqrt(dof*s.level.tau/length)
}

// worn is the robust amplitude of what was taken off beyond the noise, mm.
func (s *span) worn() float64 {
	floor := 1.3 * math.Max(s.sigma, 0.05)
	return math.Sqrt(math.Max(0, s.fray*s.fray-floor*floor))
}

// uncertainty combines what the noise leaves open, what the fray hides, the
// tolerances of the fit, and the error that all samples share. The shares were
// calibrated on synthetic pieces with 0 to 1.8 mm of loss, evenly and unevenly
// spread, so that nine of ten and more lie within what is stated (the coverage
// test holds it).
func (s *span) uncertainty(opt Options) float64 {
	se := s.standardError()
	hidden := math.Hypot(1.8*s.doubt, 0.5*s.worn())
	if s.ripple {
		hidden = 0.1 * s.worn()
	}
	detail := 0.35 * opt.tolerance()
	return 2 * math.Sqrt(se*se+hidden*hidden+detail*detail+s.bias*s.bias)
}

// ending is the uncertainty near the ends of the span: a curve that is held from
// one side only is twice as free there (that of a line exactly so), and a patch
// of fray beside a corner has nothing beyond it to be told by.
func (s *span) ending(opt Options) float64 {
	se := 2 * s.standardError()
	return math.Hypot(s.uncertainty(opt), math.Hypot(2*se, 0.8*s.worn()))
}

func (s *span) report(opt Options) EdgeReport {
	return EdgeReport{
		Straight: s.line, Rippled: s.ripple,
		UncertaintyMM: s.uncertainty(opt), FrayMM: s.fray, LossMM: s.loss,
		WorstMM: s.worst, WorstAt: s.worstAt,
	}
}

// endMM is the length of a span that counts as near its end.
const endMM = 10.0

// pooled returns the distance that 95 % of all edges keep, when each is normally
// off by half its own 95 % distance.
func pooled(spans []*span, cornered bool, unit float64, opt Options) float64 {
	var lengths, doubts []float64
	var all, lo, hi float64
	for _, s := range spans {
		l, ends := s.hi-s.lo, 0.0
		if cornered {
			ends = math.Min(2*endMM*unit, l/2)
		}
		lengths = append(lengths, l-ends, ends)
		doubts = append(doubts, s.uncertainty(opt), s.ending(opt))
		all, hi = all+l, math.Max(hi, s.ending(opt))
	}
	for range 40 {
		mid := (lo + hi) / 2
		in := 0.0
		for k, l := range lengths {
			in += l * math.Erf(mid/math.Max(doubts[k], 1e-9)*1.96/math.Sqrt2)
		}
		if in < 0.95*all {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// inward returns the cuts that are worth a word, and whether they come so thick that
// they are none.
func inward(cuts []excursion, r *ring) (in []excursion, thick bool) {
	for _, e := range cuts {
		if e.inward && e.depth >= 2*r.unit {
			in = append(in, e)
		}
	}
	return in, len(in) > mostCuts(r)
}

// mostCuts is how many cuts a ring may have before they are no longer told one by
// one.
func mostCuts(r *ring) int { return max(6, int(r.total/200)) }

// findings reports the cuts into the cloth that were bridged. Threads are not
// worth a word, and where cuts come thick they are one finding.
func findings(cuts []excursion, r *ring) []geometry.Finding {
	in, thick := inward(cuts, r)
	if thick {
		at := in[0].at
		return []geometry.Finding{{
			Code: "edge-ragged", Severity: geometry.SeverityWarning, Where: &at,
			Amount: float64(len(in)), Limit: float64(mostCuts(r)),
			Message: fmt.Sprintf("The edge was seen to jump in and out at %d places: the outline passes them, but may be off there.", len(in)),
			Remedy:  "Compare the outline with the photo; better light or a plainer surface under the cloth may help.",
		}}
	}
	var out []geometry.Finding
	for _, e := range in {
		at := e.at
		f := geometry.Finding{
			Code: "nick-bridged", Severity: geometry.SeverityInfo, Where: &at, Amount: e.depth,
			Message: fmt.Sprintf("A cut or tear %.1f mm deep was bridged: the outline runs straight across it.", e.depth),
			Remedy:  "If the edge really runs into the cloth here, move the outline in by hand.",
		}
		if _, made := e.notch(); made {
			f.Code = "notch-found"
			f.Message = fmt.Sprintf("A cut %.1f mm deep looks like a notch; the outline runs straight across it.", e.depth)
			f.Remedy = "Make it a notch of the pattern if it was one, or leave it out."
		}
		out = append(out, f)
	}
	return out
}
