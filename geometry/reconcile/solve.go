package reconcile

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// MaxPieces is how many pieces are reconciled at once.
const MaxPieces = 200

// Errors.
var (
	// ErrTooMany says that the garment has more than MaxPieces pieces.
	ErrTooMany = fmt.Errorf("reconcile: more than %d pieces", MaxPieces)
	// ErrTwin says that a pair of twins names what there is not, or a piece twice.
	ErrTwin = errors.New("reconcile: not a pair of twins")
)

// Codes of findings.
const (
	// CodeUncertain: nothing says how sure the outline of a piece is, so it stays.
	CodeUncertain = "uncertainty-unknown"
	// CodeUnmet: something cannot be met within what the pieces are uncertain.
	CodeUnmet = "not-met"
	// CodeNothing: there is nothing that pieces could be compared by.
	CodeNothing = "nothing-to-compare"
)

// solver holds one garment while it is solved.
type solver struct {
	garment pattern.Garment
	fields  []*field
	first   []int // the first unknown of each piece
	size    int
	blocks  []block
	poses   map[int]bool // the unknowns that say how twins lie on each other
	twins   []twin.Twin
	alike   [][]row // the conditions of each pair of twins
	seams   []seam
	before  pattern.Report
}

const (
	steps    = 4    // of Gauss and Newton; lengths are nearly linear in such small moves
	stillMM  = 2e-3 // of a length: no further step
	tries    = 12   // for which nodes are held at their bounds
	held     = 1e-4 // mm, how firmly
	halvings = 6
)

// Solve reconciles a garment with the given pairs of twins. What cannot be compared or
// met is a finding; it fails with ErrTooMany, ErrTwin, or pattern.ErrInvalid. Nothing is
// changed; see [Result.Accept].
func Solve(g pattern.Garment, twins []twin.Pair) (Result, error) {
	if len(g.Pieces) > MaxPieces {
		return Result{}, ErrTooMany
	}
	report, err := pattern.Check(g)
	if err != nil {
		return Result{}, err
	}
	lines, err := pattern.Stitchings(g)
	if err != nil {
		return Result{}, err
	}
	s := &solver{garment: g, before: report}
	for _, p := range g.Pieces {
		s.fields = append(s.fields, newField(p))
	}
	if err := s.layOut(twins); err != nil {
		return Result{}, err
	}
	s.seams = s.seamsOf(report, lines)
	s.soften()
	x, cov := s.solve()
	return s.result(x, cov), nil
}

// layOut numbers the unknowns, block by block: pieces that are twins of each other, with
// three for how each pair lies on each other.
func (s *solver) layOut(pairs []twin.Pair) error {
	index := map[string]int{}
	group := make([]int, len(s.fields))
	for i, f := range s.fields {
		index[f.piece.ID], group[i] = i, i
	}
	taken := map[string]bool{}
	for _, p := range pairs {
		a, okA := index[p.A]
		b, okB := index[p.B]
		if !okA || !okB || taken[p.A] || taken[p.B] {
			return fmt.Errorf("%w: %q and %q; each piece has one twin", ErrTwin, p.A, p.B)
		}
		taken[p.A], taken[p.B] = true, true
		t, err := twin.Compare(s.garment, p)
		if err != nil {
			return fmt.Errorf("%w: %w", ErrTwin, err)
		}
		s.twins = append(s.twins, t)
		group[max(a, b)] = group[min(a, b)]
	}
	s.first = make([]int, len(s.fields))
	pose := make([]int, len(s.twins))
	for i := range s.fields {
		if group[i] != i {
			continue
		}
		b := block{first: s.size}
		for k, f := range s.fields {
			if group[k] == i {
				s.first[k], s.size = s.size, s.size+len(f.nodes)
			}
		}
		for k, t := range s.twins {
			if group[index[t.A]] == i {
				pose[k], s.size = s.size, s.size+3
			}
		}
		b.n = s.size - b.first
		b.cov = mat.NewSymDense(b.n, nil)
		s.blocks = append(s.blocks, b)
	}
	s.prior(pose)
	for k, t := range s.twins {
		s.alike = append(s.alike, s.twinRows(t, index[t.A], index[t.B], pose[k]))
	}
	return nil
}

// prior fills the covariances before anything is compared.
func (s *solver) prior(pose []int) {
	set := func(i, j int, v float64) {
		for _, b := range s.blocks {
			if i >= b.first && i < b.first+b.n {
				b.cov.SetSym(i-b.first, j-b.first, v)
			}
		}
	}
	for k, f := range s.fields {
		for _, r := range f.runs {
			for i := r.from; i < r.to; i++ {
				for j := i; j < r.to; j++ {
					set(s.first[k]+i, s.first[k]+j, f.covariance(r, f.nodes[i], f.nodes[j]))
				}
			}
		}
	}
	s.poses = map[int]bool{}
	for _, i := range pose {
		s.poses[i], s.poses[i+1], s.poses[i+2] = true, true, true
		set(i, i, poseMM*poseMM)
		set(i+1, i+1, poseMM*poseMM)
		set(i+2, i+2, poseTurn*poseTurn)
	}
}

// variance returns that of the sum of a row before anything is compared, but for how
// twins lie on each other.
func (s *solver) variance(r row) float64 {
	var v float64
	for _, b := range s.blocks {
		for k, i := range r.at {
			if i < b.first || i >= b.first+b.n || s.poses[i] {
				continue
			}
			for l, j := range r.at {
				if j >= b.first && j < b.first+b.n && !s.poses[j] {
					v += r.by[k] * r.by[l] * b.cov.At(i-b.first, j-b.first)
				}
			}
		}
	}
	return v
}

// bounds returns how far each unknown may move, in mm; no end for what is no node.
func (s *solver) bounds() []float64 {
	out := make([]float64, s.size)
	for i := range out {
		out[i] = math.Inf(1)
	}
	for k, f := range s.fields {
		for i, n := range f.nodes {
			out[s.first[k]+i] = Bound * n.doubt
		}
	}
	return out
}

// soften lets each condition count by how far it is off before anything has moved.
func (s *solver) soften() {
	off := s.offsOf(s.before)
	for _, rows := range s.alike {
		for i, r := range rows {
			rows[i] = r.softened(s.variance(r))
		}
	}
	for i := range s.seams {
		m := &s.seams[i]
		m.length.want = -off.length[i]
		m.length = m.length.softened(s.variance(m.length))
		for k := range m.angles {
			a := &m.angles[k]
			a.want = -off.angle[i][k]
			a.row = a.softened(s.variance(a.row))
		}
	}
}

// joins returns the conditions that join pieces for the moves as they are, what the
// lengths and angles are off by given.
func (s *solver) joins(x []float64, off offs) []row {
	var out []row
	for i, m := range s.seams {
		m.length.want = m.length.value(x) - off.length[i]
		out = append(out, m.length)
		for k, a := range m.angles {
			a.want = a.value(x) - off.angle[i][k]
			out = append(out, a.row)
		}
	}
	return out
}

// solve returns the moves and the covariances that are left.
func (s *solver) solve() ([]float64, []block) {
	zero := make([]float64, s.size)
	off0 := s.offsOf(s.before)
	x, off := zero, off0
	cov := s.blocks
	cost0 := s.cost(zero, off0)
	for range steps {
		next, left := s.within(s.joins(x, off))
		now, better := s.improved(next, x, off)
		if !better {
			break
		}
		cov = left
		done := len(s.seams) == 0 || still(off, now)
		if x, off = next, now; done {
			break
		}
	}
	if s.cost(x, off) > cost0 {
		return zero, s.blocks
	}
	return x, cov
}

// improved measures moves and takes them back towards those before, in place, until they
// cost no more; not ok where they never do.
func (s *solver) improved(next, x []float64, off offs) (offs, bool) {
	cost := s.cost(x, off)
	for range halvings {
		if now, ok := s.measured(next); ok && s.cost(next, now) <= cost {
			return now, true
		}
		for i := range next {
			next[i] = (next[i] + x[i]) / 2
		}
	}
	return offs{}, false
}

// within solves the linear problem so that no node moves beyond its bound: those that
// would are held there, as long as they press against it.
func (s *solver) within(joins []row) ([]float64, []block) {
	x, blocks := make([]float64, s.size), make([]block, 0, len(s.blocks))
	for _, b := range s.blocks {
		var own []row
		for _, rows := range s.alike { // a pair lies within one block
			if len(rows) > 0 && rows[0].within(b) {
				own = append(own, rows...)
			}
		}
		var solved []block
		x, solved, _ = condition([]block{b}, x, own)
		blocks = append(blocks, solved...)
	}
	bounds := s.bounds()
	at := map[int]float64{} // nodes that are held, and where
	var out []float64
	var cov []block
	for range tries {
		rows := joins
		var of []int
		for i := range s.size {
			if want, ok := at[i]; ok {
				r := row{want: want, sd: held}
				r.add(i, 1)
				rows, of = append(rows[:len(rows):len(rows)], r), append(of, i)
			}
		}
		var press []float64
		out, cov, press = condition(blocks, x, rows)
		changed := false
		for k, i := range of { // one that is pressed outwards would rather come back
			if press[len(joins)+k]*at[i] > 0 {
				delete(at, i)
				changed = true
			}
		}
		for i, b := range bounds {
			if _, ok := at[i]; !ok && math.Abs(out[i]) > b+1e-6 {
				at[i] = math.Copysign(b, out[i])
				changed = true
			}
		}
		if !changed {
			break
		}
	}
	for i, b := range bounds {
		out[i] = math.Max(-b, math.Min(b, out[i]))
	}
	return out, cov
}

// cost returns the sum of squares: moves in units of their uncertainty, and conditions
// in units of theirs.
func (s *solver) cost(x []float64, off offs) float64 {
	sum := s.strain(x)
	for _, rows := range s.alike {
		for _, r := range rows {
			sum += math.Pow((r.want-r.value(x))/r.sd, 2)
		}
	}
	for i, m := range s.seams {
		sum += math.Pow(off.length[i]/m.length.sd, 2)
		for k, a := range m.angles {
			sum += math.Pow(off.angle[i][k]/a.sd, 2)
		}
	}
	return sum
}

// strain returns the sum of squares of the moves themselves.
func (s *solver) strain(x []float64) float64 {
	var sum float64
	for k, f := range s.fields {
		for _, r := range f.runs {
			var of []int
			for i := r.from; i < r.to; i++ {
				if f.nodes[i].doubt > 0 {
					of = append(of, i)
				}
			}
			if len(of) == 0 {
				continue
			}
			cov, v := mat.NewSymDense(len(of), nil), mat.NewVecDense(len(of), nil)
			for a, i := range of {
				v.SetVec(a, x[s.first[k]+i])
				for b := a; b < len(of); b++ {
					cov.SetSym(a, b, f.covariance(r, f.nodes[i], f.nodes[of[b]]))
				}
				cov.SetSym(a, a, cov.At(a, a)*(1+1e-9))
			}
			var chol mat.Cholesky
			var solved mat.VecDense
			if chol.Factorize(cov) && chol.SolveVecTo(&solved, v) == nil {
				sum += mat.Dot(v, &solved)
			}
		}
	}
	return sum
}

// offs is how far the seams are off: lengths in mm, angles in radians.
type offs struct {
	length []float64
	angle  [][]float64
}

// offsOf reads them from a report.
func (s *solver) offsOf(r pattern.Report) offs {
	var out offs
	rows := map[string]pattern.SeamRow{}
	for _, q := range r.Seams {
		rows[q.ID] = q
	}
	for _, m := range s.seams {
		q := rows[m.pair.ID]
		out.length = append(out.length, q.OffMM)
		var angles []float64
		for _, a := range m.angles {
			deg := q.EndDeg
			if a.start {
				deg = q.StartDeg
			}
			rad := 0.0
			if deg != nil {
				rad = pattern.JoinedOff(*deg) * math.Pi / 180
			}
			angles = append(angles, rad)
		}
		out.angle = append(out.angle, angles)
	}
	return out
}

// measured measures the seams on the moved pieces; not ok where one cannot be drawn.
func (s *solver) measured(x []float64) (offs, bool) {
	report, err := pattern.Check(s.moved(x))
	if err != nil {
		return offs{}, false
	}
	for _, r := range report.Seams {
		for _, b := range s.before.Seams {
			if b.ID == r.ID && b.Known && !r.Known {
				return offs{}, false
			}
		}
	}
	return s.offsOf(report), true
}

// moved returns the garment with its outlines moved.
func (s *solver) moved(x []float64) pattern.Garment {
	out := s.garment
	out.Pieces = nil
	for k, f := range s.fields {
		out.Pieces = append(out.Pieces, f.bend(x[s.first[k]:s.first[k]+len(f.nodes)]))
	}
	return out
}

func still(a, b offs) bool {
	for i := range a.length {
		if math.Abs(a.length[i]-b.length[i]) > stillMM {
			return false
		}
	}
	return true
}
