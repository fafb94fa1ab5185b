package fit

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// Options tune [Edge]. The zero value is right for a traced photo.
type Options struct {
	// Smooth says how readily the path gives up detail, from -1 (follow the
	// cloth closely) to 1 (as simple as can be). At 0, the default, a misfit is
	// followed when it stands out from the measured noise. Each step of 1
	// multiplies or divides by 4 both what counts as standing out and
	// ToleranceMM. Values outside are taken as the nearest end.
	Smooth float64
	// ToleranceMM is the misfit in mm below which no detail is added and within
	// which curves are written by cubics. 0 means 0.12.
	ToleranceMM float64
}

func (o Options) factor() float64 {
	if math.IsNaN(o.Smooth) {
		return 1
	}
	return math.Pow(4, math.Max(-1, math.Min(1, o.Smooth)))
}

func (o Options) tolerance() float64 {
	t := o.ToleranceMM
	if !(t > 0) {
		t = 0.12
	}
	return math.Min(t, 50) * o.factor()
}

func (o Options) misfit() float64 { return misfitZ * o.factor() }

// Result is a clean edge.
type Result struct {
	// Path is closed, in the plane frame and in the direction of the samples.
	// Corners are sharp; the handles of all other knots are in line.
	Path geometry.Path
	// UncertaintyMM is the distance within which 95 % of the true clean edge is
	// expected to lie from Path, as far as samples, noise and fray tell; errors
	// of scale are the camera's to state.
	UncertaintyMM float64
	// FrayMM is the robust amplitude (half the middle 80 %) of what was taken
	// off, the greatest of all edges, mm.
	FrayMM float64
	// Edges are the stretches from corner to corner in the order of the path;
	// one for the whole ring where there is no corner.
	Edges []EdgeReport
	// Findings names nicks that were bridged (code "nick-bridged"; Amount is the
	// depth in mm) and cuts that look like notches ("notch-found"), or says that
	// there are too many to be either ("edge-ragged"; Amount is their number).
	Findings []geometry.Finding
	// Notches are the cuts that look like notches, in the order of Findings.
	Notches []geometry.NotchCut
}

// EdgeReport says what the fit made of the stretch of path from one knot to
// another. Lengths are mm.
type EdgeReport struct {
	From, To      int     // indices of knots of the path; equal for a whole ring
	Straight      bool    // a single line
	Rippled       bool    // waves to both sides, averaged out (a removed elastic)
	UncertaintyMM float64 // as Result.UncertaintyMM, for this stretch
	FrayMM        float64 // as Result.FrayMM, for this stretch
	LossMM        float64 // how far the path was moved out from the middle of the fray
	WorstMM       float64 // largest deviation of the cloth from the path, bridged threads and nicks apart
	WorstAt       geometry.Point
}

// Edge turns a closed ring of edge samples, in order, cloth on the left of the
// way, into a clean path (see the package comment for what that means).
//
// The ring should be sampled at 0.3 to 1 mm; sparser rings work if their
// polygon is the edge. Errors: [ErrTooFew], [ErrTooSmall], [ErrTooLarge],
// [ErrNotClosed], [geometry.ErrNotFinite]. A ring that crosses itself is fitted
// as it runs. Outlines under 150 mm round are treated as scaled down copies:
// all feature sizes named in this package shrink with them.
func Edge(samples []Sample, opt Options) (Result, error) {
	raw, err := Prepare(samples)
	if err != nil {
		return Result{}, err
	}
	return raw.Fit(opt)
}

// Raw is an edge made ready to be fitted: all that doesn't depend on [Options],
// which is more than half of the work. It is never changed, and safe for use by
// several goroutines.
type Raw struct {
	ring    *ring
	noise   noise
	corners []corner
	cuts    []excursion
}

// Prepare measures a ring of samples for [Raw.Fit]; see [Edge] for what the ring
// must be, and for the errors.
func Prepare(samples []Sample) (*Raw, error) {
	raw, err := newRing(samples)
	if err != nil {
		return nil, err
	}
	shorn := raw.bridge(raw.spikes())
	cuts := shorn.excursions()
	r := shorn.bridge(cuts)
	nz := r.measureNoise()
	return &Raw{r, nz, r.corners(nz), cuts}, nil
}

// Fit draws the clean path.
func (raw *Raw) Fit(opt Options) (Result, error) {
	r := raw.ring
	corners, spans, ok := r.settle(raw.corners, raw.noise, opt)
	if !ok {
		return Result{}, fmt.Errorf("fit: %w", ErrTooSmall)
	}
	all := guesses()
	for _, s := range spans {
		s.wear(all, r.unit)
	}
	out := assemble(r, corners, spans, opt)
	out.Findings = findings(raw.cuts, r)
	out.Notches = notches(raw.cuts, r, out.Path)
	for _, k := range out.Path {
		if !k.At.IsFinite() {
			return Result{}, fmt.Errorf("fit: %w", ErrTooSmall)
		}
	}
	return out, nil
}

// settle fits the spans and drops the corners that they show to be none: those
// that hardly turn, and blunt ones that a smooth span passes just as simply.
func (r *ring) settle(corners []corner, nz noise, opt Options) ([]corner, []*span, bool) {
	if len(corners) == 0 {
		over := math.Min(overlapMM*r.unit, 0.2*r.total)
		s, ok := r.fitSpan(-over, r.total+over, 0, nz, opt)
		return corners, []*span{s}, ok
	}
	spans := make([]*span, len(corners))
	for k := range corners {
		s, ok := r.between(corners, k, 1, nz, opt)
		if !ok {
			return nil, nil, false
		}
		spans[k] = s
	}
	kept := make([]bool, len(corners))
	for len(corners) > 1 {
		k := bluntest(corners, spans, kept)
		if k < 0 {
			return corners, spans, true
		}
		n := len(corners)
		before := (k + n - 1) % n
		s, ok := r.between(corners, before, 2, nz, opt)
		turns := turnAt(spans, k)
		most := spans[before].pieces() + spans[k].pieces() - 1
		switch {
		case turns > 1.5*math.Abs(corners[k].turn):
			most = mostBreaks // the spans hide a bend behind the corner
		case turns < 30*math.Pi/180:
			most++ // more often the noise of a bend
		}
		rounds := ok && r.stray(corners[k], s, s) > 1.4*r.stray(corners[k], spans[before], spans[k])+0.06*r.unit
		if !ok || (turns > 0.85*leastTurn && (s.missed || rounds || s.pieces() > most)) {
			kept[k] = true
			continue
		}
		spans[before] = s
		corners = append(corners[:k:k], corners[k+1:]...)
		spans = append(spans[:k:k], spans[k+1:]...)
		kept = append(kept[:k:k], kept[k+1:]...)
	}
	if turnAt(spans, 0) < 0.85*leastTurn {
		return r.settle(nil, nz, opt)
	}
	return corners, spans, true
}

// between fits the span from corner k over the next m corners.
func (r *ring) between(corners []corner, k, m int, nz noise, opt Options) (*span, bool) {
	a, b := corners[k], corners[(k+m)%len(corners)]
	hi := b.s
	if hi <= a.s {
		hi += r.total
	}
	sd := math.Max(nz.local[r.wrap(r.index(a.s))], nz.local[r.wrap(r.index(hi))])
	return r.fitSpan(a.s, hi, nearGapMM*r.unit+math.Min(2*sd, 3*r.unit), nz, opt)
}

// stray returns how far, in the mean, the points within 5 mm of a corner lie off
// the spans before and after it, mm.
func (r *ring) stray(c corner, before, after *span) float64 {
	i, j := r.index(c.s-5*r.unit), r.index(c.s+5*r.unit)
	var sum float64
	for k := i; k < j; k++ {
		s, u, p := before, r.arc(k), r.p[r.wrap(k)]
		if u > c.s {
			s = after
		}
		// The arc lengths of the span run on over the ring's seam.
		u += r.total * math.Round(((s.lo+s.hi)/2-u)/r.total)
		q, d := s.at(u)
		q, d = s.at(u + p.Sub(q).Dot(d)/math.Max(d.Dot(d), 1e-12))
		sum += math.Abs(d.Unit().Cross(p.Sub(q)))
	}
	return sum / float64(max(1, j-i))
}

// turnAt returns by how much the fitted spans turn at corner k, radians.
func turnAt(spans []*span, k int) float64 {
	before, s := spans[(k+len(spans)-1)%len(spans)], spans[k]
	_, a := before.at(before.breaks[len(before.breaks)-1])
	_, b := s.at(s.breaks[0])
	return math.Abs(turn(a, b))
}

// bluntest returns the corner that turns least, by its spans or by what lies
// close to it, if that is under 50 degrees and it is not among those to be kept;
// else -1.
func bluntest(corners []corner, spans []*span, kept []bool) int {
	best, at := 50*math.Pi/180, -1
	for k := range spans {
		if t := math.Min(turnAt(spans, k), math.Abs(corners[k].turn)); t < best && !kept[k] {
			best, at = t, k
		}
	}
	return at
}

// clean returns the point and unit tangent of the clean edge at u.
func (s *span) clean(u float64) (geometry.Point, geometry.Vec) {
	p, d := s.at(u)
	t := d.Unit()
	return p.Add(t.Perp().Scale(-s.loss)), t
}
