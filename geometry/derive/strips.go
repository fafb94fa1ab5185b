package derive

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// casing returns a strip as long as its edges, to hold an elastic or cord of WidthMM with
// PlayMM of room: as wide as both, or, folded in half, twice the elastic and the play.
//
// A band folded in half is cut 2 e + play + two allowances wide (a worked example: 2 x 2 in
// + 1/2 in + 1 1/4 in = 5 3/4 in, from a sewing blog). An applied strip is cut e + 1 in wide
// and 1/2 in longer than it is finished, with 1/4 in folded under all round (a clothing
// handbook, Basic Construction, Making Casings): play 1/2 in, allowance 1/4 in.
func (m *maker) casing() (pattern.Piece, error) {
	if err := m.want("width_mm", m.d.WidthMM); err != nil {
		return pattern.Piece{}, err
	}
	length, err := m.length()
	if err != nil {
		return pattern.Piece{}, err
	}
	wide := m.d.WidthMM + m.d.PlayMM
	if m.d.Folded {
		wide += m.d.WidthMM
	}
	p := m.strip(length, wide)
	if m.d.Folded {
		p.Marks = append(p.Marks, lengthwise(Own+"fold", pattern.MarkFoldLine, length, wide/2))
	}
	for i := range p.Edges {
		p.Edges[i].Finish = m.allowance()
	}
	return p, nil
}

// binding returns a strip as long as its edges, its ends with an allowance to join them.
// Folded to four layers it is cut four times as wide as it shows (from memory, common
// practice, no source); flat, as one layer round a seam allowance of WidthMM, it is cut
// 1/4 in wider than that (a 4-H sewing handbook on bound edges).
func (m *maker) binding() (pattern.Piece, error) {
	if err := m.want("width_mm", m.d.WidthMM); err != nil {
		return pattern.Piece{}, err
	}
	length, err := m.length()
	if err != nil {
		return pattern.Piece{}, err
	}
	const turn = 6.35
	wide := m.d.WidthMM + turn
	if m.d.Folded {
		wide = 4 * m.d.WidthMM
	}
	p := m.strip(length, wide)
	if m.d.Folded {
		for i := 1; i < 4; i++ {
			p.Marks = append(p.Marks, lengthwise(fmt.Sprintf("%sfold-%d", Own, i), pattern.MarkFoldLine, length, float64(i)*m.d.WidthMM))
		}
	}
	p.Edges[1].Finish, p.Edges[3].Finish = m.allowance(), m.allowance()
	return p, nil
}

// want holds that a measure is given.
func (m *maker) want(field string, mm float64) error {
	if !(mm > 0) {
		return fmt.Errorf("%w: %s is missing; say how many mm", ErrRecipe, field)
	}
	return nil
}

// allowance is the finish of what gets an allowance.
func (m *maker) allowance() *pattern.Finish {
	if m.d.AllowanceMM == 0 {
		return nil
	}
	return &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: m.d.AllowanceMM}
}

// length returns how long the edges are together, along their stitch lines, darts folded
// out: each once, twice on a half that is cut on the fold, or as often as is said.
func (m *maker) length() (float64, error) {
	var sum float64
	for _, s := range m.d.From {
		p, _ := m.g.Piece(s.Piece)
		k := p.Edge(s.Edge)
		if f := p.Edges[k].Finish; f != nil && f.Kind == pattern.FinishFold {
			return 0, fmt.Errorf("%w: %s of %s is a fold; no strip is sewn along it", ErrRecipe, p.Edges[k].Name, p.Name)
		}
		l := m.drafts[p.ID].Edges[k].LengthMM
		for _, mark := range p.Marks {
			if mark.Kind == pattern.MarkDart && mark.Edge == s.Edge && mark.Detached == "" {
				l -= mark.WidthMM
			}
		}
		times := s.Times
		if times == 0 {
			times = 1
			if p.OnFold() {
				times = 2
			}
		}
		sum += float64(times) * l
	}
	if sum > pattern.MaxPieceMM {
		return 0, fmt.Errorf("%w: a strip of %.2f m is longer than the %g m that are drawn; make it of fewer edges", ErrRoom, sum/1000, pattern.MaxPieceMM/1000)
	}
	return sum, nil
}

// strip returns a rectangle that lies along the grain: the bias has it at 45 degrees to
// the threads. Edges: lower, right end, upper, left end.
func (m *maker) strip(length, wide float64) pattern.Piece {
	p := pattern.Piece{}
	for _, q := range []geometry.Point{{}, {X: length}, {X: length, Y: wide}, {Y: wide}} {
		p.Knots = append(p.Knots, geometry.Knot{At: q, Corner: true})
	}
	for i, name := range []string{"lower", "right end", "upper", "left end"} {
		p.Edges = append(p.Edges, pattern.Edge{ID: fmt.Sprintf("edge-%d", i+1), Name: name, Knot: i})
	}
	deg := 0.0
	p.Marks = []pattern.Mark{{ID: Own + "grain", Kind: pattern.MarkGrain, Deg: &deg, Bias: m.d.Bias}}
	return p
}

func lengthwise(id string, kind pattern.MarkKind, length, y float64) pattern.Mark {
	return pattern.Mark{ID: id, Kind: kind, Points: []geometry.Point{{Y: y}, {X: length, Y: y}}}
}

// pocketBag returns a bag whose opening is a part of the edge, from AtMM on and LengthMM
// long: it reaches WidthMM into the piece, hangs DropMM below the lower end of the opening
// (down the grain is towards -y), and is rounded below.
func (m *maker) pocketBag() (pattern.Piece, error) {
	if err := m.want("width_mm", m.d.WidthMM); err != nil {
		return pattern.Piece{}, err
	}
	if err := m.want("length_mm", m.d.LengthMM); err != nil {
		return pattern.Piece{}, err
	}
	p := m.sewn()
	k := p.Edge(m.d.From[0].Edge)
	line := p.EdgeChain(k)
	if whole := geometry.ChainLength(line); m.d.AtMM+m.d.LengthMM > whole+1e-6 {
		return p, fmt.Errorf("%w: %s is %.1f mm long; an opening from %.1f to %.1f mm does not lie on it", ErrRoom, p.Edges[k].Name, whole, m.d.AtMM, m.d.AtMM+m.d.LengthMM)
	}
	open := part(line, m.d.AtMM, m.d.AtMM+m.d.LengthMM)
	from, to := open[0].A, open[len(open)-1].D
	u := to.Sub(from).Unit()
	in := u.Perp()
	far, near := to.Add(in.Scale(m.d.WidthMM)), from.Add(in.Scale(m.d.WidthMM))
	if to.Y < from.Y { // the edge runs down
		far = far.Add(u.Scale(m.d.DropMM))
	} else {
		near = near.Add(u.Scale(-m.d.DropMM))
	}
	ring := knotsOf(open)
	corner := geometry.Knot{At: to, Corner: true}
	if last := open[len(open)-1]; last.Curved {
		corner.In = &last.C
	}
	ring = append(ring, corner, geometry.Knot{At: far, Corner: true}, geometry.Knot{At: near, Corner: true})
	round := len(ring) - 1
	if to.Y < from.Y {
		round--
	}
	p.Knots = rounded(ring, round, m.d.WidthMM/3)
	p.Holes, p.Marks = nil, grainMarks(p)
	p.Edges = []pattern.Edge{
		{ID: "opening", Name: "opening", Knot: 0, Finish: m.allowance()},
		{ID: "bag", Name: "bag", Knot: len(open), Finish: m.allowance()},
	}
	return p, nil
}

// rounded cuts off a corner between two lines by a quarter turn that begins a distance
// before it, or a third of the shorter line (a cubic on both tangents).
func rounded(ring geometry.Path, i int, by float64) geometry.Path {
	n := len(ring)
	at, before, after := ring[i].At, ring[(i+n-1)%n].At, ring[(i+1)%n].At
	by = math.Min(by, math.Min(at.Dist(before), at.Dist(after))/2)
	const kappa = 0.552284749831 // of a quarter circle
	a, d := at.Add(before.Sub(at).Unit().Scale(by)), at.Add(after.Sub(at).Unit().Scale(by))
	b, c := a.Lerp(at, kappa), d.Lerp(at, kappa)
	out := append(geometry.Path{}, ring[:i]...)
	out = append(out, geometry.Knot{At: a, Out: &b}, geometry.Knot{At: d, In: &c})
	return append(out, ring[i+1:]...)
}
