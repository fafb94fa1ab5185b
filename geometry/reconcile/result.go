package reconcile

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// Result is what would move. Lengths in mm.
type Result struct {
	// Moves are the edges that would move by MinMoveMM or more, in the order of the
	// garment.
	Moves []Move `json:"moves"`
	// Seams are the seams that could be compared.
	Seams []Seam `json:"seams"`
	// Twins are the pairs that were compared.
	Twins []Twins `json:"twins"`
	// CostBefore and CostAfter are the weighted sums of squares; it never grows.
	CostBefore float64 `json:"cost_before"`
	CostAfter  float64 `json:"cost_after"`
	// Findings say what is not known, and what cannot be met.
	Findings []geometry.Finding `json:"findings"`

	solver *solver
	moves  []float64
	after  []block
}

// MinMoveMM is the least move that is listed: less than can be cut.
const MinMoveMM = 0.05

// Move is what would happen to an edge.
type Move struct {
	Piece     string `json:"piece"`
	Edge      string `json:"edge"`
	PieceName string `json:"piece_name"`
	Name      string `json:"name"`
	// MeanMM is the mean move, MostMM the greatest one, outward positive; MostAt is
	// where, in the piece frame.
	MeanMM float64        `json:"mean_mm"`
	MostMM float64        `json:"most_mm"`
	MostAt geometry.Point `json:"most_at_mm"`
	// AllowedMM is the most that it might move where it moves most.
	AllowedMM float64 `json:"allowed_mm"`
	// BeforeMM and AfterMM are its lengths along the outline.
	BeforeMM float64 `json:"before_mm"`
	AfterMM  float64 `json:"after_mm"`
	// DoubtBeforeMM and DoubtAfterMM are the distances within which 95 % of the true
	// edge are expected, in the mean.
	DoubtBeforeMM float64 `json:"doubt_before_mm"`
	DoubtAfterMM  float64 `json:"doubt_after_mm"`
	// Why says what moves it, in words.
	Why []string `json:"why"`
}

// Seam is a seam before and after.
type Seam struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// BeforeMM and AfterMM are by how much its first side is too long.
	BeforeMM float64 `json:"before_mm"`
	AfterMM  float64 `json:"after_mm"`
	LimitMM  float64 `json:"limit_mm"`
	// Angles are by how many degrees the joined corners that are meant to run on do not,
	// at the start before the end.
	AnglesBeforeDeg []float64 `json:"angles_before_deg,omitempty"`
	AnglesAfterDeg  []float64 `json:"angles_after_deg,omitempty"`
}

// Twins is a pair before and after: the root mean square of their distances.
type Twins struct {
	twin.Pair
	AName    string  `json:"a_name"`
	BName    string  `json:"b_name"`
	BeforeMM float64 `json:"before_mm"`
	AfterMM  float64 `json:"after_mm"`
	// Edges compare them edge by edge as they are.
	Edges []twin.EdgeRow `json:"edges"`
}

// EdgeRef names an edge of a piece.
type EdgeRef struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
}

// result describes a solution.
func (s *solver) result(x []float64, after []block) Result {
	r := Result{Moves: []Move{}, Seams: []Seam{}, Twins: []Twins{}, Findings: []geometry.Finding{}, solver: s, moves: x, after: after}
	first := s.offsOf(s.before)
	last, ok := s.measured(x)
	if !ok {
		last = first
	}
	r.CostBefore, r.CostAfter = s.cost(make([]float64, s.size), first), s.cost(x, last)
	r.Seams = s.seamRows(first, last)
	for k, t := range s.twins {
		a, _ := s.garment.Piece(t.A)
		b, _ := s.garment.Piece(t.B)
		was, is := rms(s.alike[k], make([]float64, s.size)), rms(s.alike[k], x)
		r.Twins = append(r.Twins, Twins{t.Pair, a.Name, b.Name, was, is, t.Edges})
		r.Findings = append(r.Findings, t.Findings...)
	}
	r.listMoves()
	r.Findings = append(s.asked(), r.Findings...)
	r.unmet()
	return r
}

func rms(rows []row, x []float64) float64 {
	var sum float64
	for _, r := range rows {
		sum += math.Pow(r.want-r.value(x), 2)
	}
	return math.Sqrt(sum / math.Max(float64(len(rows)), 1))
}

// seamRows lists the seams with what they are off by.
func (s *solver) seamRows(before, after offs) []Seam {
	out := []Seam{}
	deg := func(rad []float64) []float64 {
		var all []float64
		for _, a := range rad {
			all = append(all, a*180/math.Pi)
		}
		return all
	}
	for i, m := range s.seams {
		limit := m.pair.ToleranceMM
		if limit == 0 {
			limit = pattern.SeamToleranceMM
		}
		out = append(out, Seam{m.pair.ID, m.pair.Name, before.length[i], after.length[i], limit, deg(before.angle[i]), deg(after.angle[i])})
	}
	return out
}

// listMoves lists the edges that move.
func (r *Result) listMoves() {
	s := r.solver
	after := s.moved(r.moves)
	left := s.variances(r.after)
	for k, f := range s.fields {
		for e, edge := range f.piece.Edges {
			nodes := f.alongEdge(e)
			m := Move{
				Piece: f.piece.ID, Edge: edge.ID, PieceName: f.piece.Name, Name: edge.Name,
				BeforeMM: lengthOf(f.piece, e), AfterMM: lengthOf(after.Pieces[k], e), Why: s.why(edgeRef{k, e}),
			}
			for _, i := range nodes {
				x, n := r.moves[s.first[k]+i], float64(len(nodes))
				m.MeanMM += x / n
				m.DoubtBeforeMM += f.nodes[i].doubt / n
				m.DoubtAfterMM += sigmas * math.Sqrt(math.Max(left[s.first[k]+i], 0)) / n
				if math.Abs(x) > math.Abs(m.MostMM) {
					m.MostMM, m.MostAt, m.AllowedMM = x, f.nodes[i].at, Bound*f.nodes[i].doubt
				}
			}
			if math.Abs(m.MostMM) >= MinMoveMM {
				r.Moves = append(r.Moves, m)
			}
		}
	}
}

// variances returns the variance of each unknown.
func (s *solver) variances(of []block) []float64 {
	out := make([]float64, s.size)
	for _, b := range of {
		for i := range b.n {
			out[b.first+i] = b.cov.At(i, i)
		}
	}
	return out
}

func lengthOf(p pattern.Piece, k int) float64 {
	var l float64
	n, from := len(p.Knots), p.Edges[k].Knot
	count := (p.Edges[(k+1)%len(p.Edges)].Knot - from + n) % n
	if count == 0 {
		count = n
	}
	for j := range count {
		l += p.Knots.Segment((from + j) % n).Length()
	}
	return l
}

// why says what an edge is compared with: its twin and its seams, or those beside it.
func (s *solver) why(e edgeRef) []string {
	out := []string{}
	piece := s.fields[e.piece].piece
	for _, t := range s.twins {
		switch {
		case t.A == t.B && t.A == piece.ID:
			out = append(out, "to be like its other half")
		case t.A == piece.ID || t.B == piece.ID:
			other, _ := s.garment.Piece(t.A)
			if t.A == piece.ID {
				other, _ = s.garment.Piece(t.B)
			}
			out = append(out, "to be like "+other.Name)
		}
	}
	n := len(piece.Edges)
	var beside []string
	own := false
	for _, m := range s.seams {
		switch {
		case slices.Contains(m.edges, e):
			out, own = append(out, "to fit "+m.pair.Name), true
		case slices.Contains(m.edges, edgeRef{e.piece, (e.edge + 1) % n}), slices.Contains(m.edges, edgeRef{e.piece, (e.edge + n - 1) % n}):
			beside = append(beside, "to let "+m.pair.Name+" fit")
		}
	}
	if own {
		return out
	}
	return append(out, beside...)
}

// asked says what is not known.
func (s *solver) asked() []geometry.Finding {
	out := []geometry.Finding{}
	for _, f := range s.before.Findings {
		if f.Code == pattern.CodeOldUnknown && f.Severity == geometry.SeverityError || f.Code == pattern.CodeUnmeasured || f.Code == pattern.CodeUndrawn {
			out = append(out, f)
		}
	}
	for _, f := range s.fields {
		if f.piece.UncertaintyMM == 0 {
			out = append(out, geometry.Finding{
				Code: CodeUncertain, Severity: geometry.SeverityInfo, Piece: f.piece.ID,
				Message: fmt.Sprintf("%s stays as it is: nothing says how sure its outline is.", f.piece.Name),
				Remedy:  "Nothing is to be done for a piece that was drawn by hand; trace one that was not.",
			})
		}
	}
	if len(s.seams) == 0 && len(s.twins) == 0 {
		out = append(out, geometry.Finding{
			Code: CodeNothing, Severity: geometry.SeverityInfo,
			Message: "There is nothing that the pieces could be compared by: no seam whose old allowances are known, and no twins.",
			Remedy:  "Say which edges are sewn together and what their old allowances are, or name the pieces that are mirror images of each other.",
		})
	}
	return out
}

// unmet says what is still off.
func (r *Result) unmet() {
	for _, m := range r.Seams {
		if math.Abs(m.AfterMM) <= m.LimitMM {
			continue
		}
		r.Findings = append(r.Findings, geometry.Finding{
			Code: CodeUnmet, Severity: geometry.SeverityWarning, Amount: math.Abs(m.AfterMM), Limit: m.LimitMM,
			Message: fmt.Sprintf("%s: the sides differ by %.1f mm, and by %.1f mm still when every edge has moved as far as it is uncertain and other seams let it.", m.Name, math.Abs(m.BeforeMM), math.Abs(m.AfterMM)),
			Remedy:  "Look for ease that is meant, an old allowance that was measured wrongly, or an edge that is worn further than it seems.",
		})
	}
}

// Accept returns the garment with some edges moved, all others as they were. Where an
// accepted edge runs on into one that is not, it ends there unmoved; at a corner the
// accepted one slides along the other. Names that do not occur are passed over.
func (r Result) Accept(edges []EdgeRef) pattern.Garment {
	return r.solver.moved(r.chosen(edges))
}

// Outline is an outline before and after all moves, as points that belong together one
// by one: mm, piece frame.
type Outline struct {
	Piece  string           `json:"piece"`
	Name   string           `json:"name"`
	Before []geometry.Point `json:"before_mm"`
	After  []geometry.Point `json:"after_mm"`
	// Edges are the edges that the points begin.
	Edges []string `json:"edges"`
}

// Outlines returns the outlines of all pieces, to be drawn over each other.
func (r Result) Outlines() []Outline {
	s := r.solver
	out := []Outline{}
	for k, f := range s.fields {
		bent := f.bent(r.moves[s.first[k] : s.first[k]+len(f.nodes)])
		o := Outline{Piece: f.piece.ID, Name: f.piece.Name}
		for j := range f.path {
			was, is := f.path.Segment(j), bent.Segment(j)
			parts := 1
			if was.Curved {
				parts = 8
			}
			for i := range parts {
				t := float64(i) / float64(parts)
				o.Before, o.After = append(o.Before, was.At(t)), append(o.After, is.At(t))
				o.Edges = append(o.Edges, f.piece.Edges[f.edges[j]].ID)
			}
		}
		out = append(out, o)
	}
	return out
}

// SeamsWith returns the seams as they are when some edges are accepted.
func (r Result) SeamsWith(edges []EdgeRef) []Seam {
	s := r.solver
	off, ok := s.measured(r.chosen(edges))
	if !ok {
		return r.Seams
	}
	return s.seamRows(s.offsOf(s.before), off)
}

// chosen returns the moves of some edges.
func (r Result) chosen(edges []EdgeRef) []float64 {
	s := r.solver
	out := make([]float64, len(r.moves))
	for k, f := range s.fields {
		for i, n := range f.nodes {
			ok := true
			for _, e := range []int{n.edge, n.beside} {
				ok = ok && slices.Contains(edges, EdgeRef{f.piece.ID, f.piece.Edges[e].ID})
			}
			if ok {
				out[s.first[k]+i] = r.moves[s.first[k]+i]
			}
		}
	}
	return out
}
