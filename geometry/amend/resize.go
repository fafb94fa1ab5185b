package amend

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Want is a measure that a garment is to have: of the body, to which the ease that is
// meant is added, or finished. Lengths in mm; one of both is given.
type Want struct {
	Measure    string  `json:"measure" maxLength:"500" doc:"The id of the measure."`
	BodyMM     float64 `json:"body_mm,omitempty" minimum:"0" maximum:"10000" doc:"The body's measure; the ease that is meant is added."`
	FinishedMM float64 `json:"finished_mm,omitempty" minimum:"0" maximum:"10000" doc:"The measure of the finished garment."`
}

// Resized says what another size changes. Lengths in mm.
type Resized struct {
	Measures []MeasureChange    `json:"measures" nullable:"false"`
	Lines    []LineChange       `json:"lines" nullable:"false"`
	Seams    []SeamChange       `json:"seams" nullable:"false"`
	Findings []geometry.Finding `json:"findings" nullable:"false"`
}

// MeasureChange is a finished measure before and after; Wanted is 0 where nothing was
// asked of it.
type MeasureChange struct {
	ID       string  `json:"id"`
	Name     string  `json:"name"`
	BeforeMM float64 `json:"before_mm"`
	AfterMM  float64 `json:"after_mm"`
	WantedMM float64 `json:"wanted_mm,omitempty"`
}

// LineChange is by how much a piece was opened along one of its lines.
type LineChange struct {
	Piece string  `json:"piece"`
	Mark  string  `json:"mark"`
	MM    float64 `json:"mm"`
}

// SeamChange is a seam before and after: how long its sides are, and by how much they are
// off what is meant.
type SeamChange struct {
	ID          string  `json:"id"`
	Name        string  `json:"name"`
	BeforeAMM   float64 `json:"before_a_mm"`
	BeforeBMM   float64 `json:"before_b_mm"`
	BeforeOffMM float64 `json:"before_off_mm"`
	AfterAMM    float64 `json:"after_a_mm"`
	AfterBMM    float64 `json:"after_b_mm"`
	AfterOffMM  float64 `json:"after_off_mm"`
	LimitMM     float64 `json:"limit_mm"`
	// Known says whether both stitch lines are known.
	Known bool `json:"known"`
	// OK says that the sides still agree as they did: within the limit, or no worse than
	// before by more than half a millimetre.
	OK bool `json:"ok"`
}

// Codes of the findings of changing the size.
const (
	// CodeSizeSeam: a seam does not agree any more.
	CodeSizeSeam = "size-seam"
	// CodeSizeOff: a measure could not be reached.
	CodeSizeOff = "size-off"
)

// Resize returns the garment in another size: every lengthen line that serves a measure is
// opened, or taken in, by as much as brings that measure to what is wanted, all lines of
// one measure by the same. Levels at which measures are taken go along with the cloth. How
// much is found by Newton's method on the measures as they are checked, since a line may
// change several of them. It fails with ErrOp where a measure is not there or no line
// serves it or changes it, and as Open does.
func Resize(g pattern.Garment, wants []Want) (pattern.Garment, Resized, error) {
	s, err := newSizing(g, wants)
	if err != nil {
		return g, Resized{}, err
	}
	before, err := pattern.Check(g)
	if err != nil {
		return g, Resized{}, err
	}
	x, err := s.solve(before)
	if err != nil {
		return g, Resized{}, err
	}
	now, findings, err := s.opened(x)
	if err != nil {
		return g, Resized{}, err
	}
	for i, m := range now.Measures {
		for _, w := range wants {
			if w.Measure == m.ID && w.BodyMM > 0 {
				now.Measures[i].BodyMM = w.BodyMM
			}
		}
	}
	after, err := pattern.Check(now)
	if err != nil {
		return g, Resized{}, err
	}
	return now, s.report(before, after, x, findings), nil
}

// sizing is a garment that changes its size.
type sizing struct {
	g     pattern.Garment
	ids   []string  // of the measures that are wanted
	want  []float64 // finished, mm
	lines [][]LineChange
}

func newSizing(g pattern.Garment, wants []Want) (sizing, error) {
	s := sizing{g: g}
	if len(wants) == 0 || len(wants) > 50 {
		return s, fmt.Errorf("%w: say which measures another size is to have", ErrOp)
	}
	for _, w := range wants {
		i := slices.IndexFunc(g.Measures, func(m pattern.Measure) bool { return m.ID == w.Measure })
		if i < 0 || slices.Contains(s.ids, w.Measure) {
			return s, fmt.Errorf("%w: the garment has no measure %q, or it is wanted twice", ErrOp, w.Measure)
		}
		m := g.Measures[i]
		mm := w.FinishedMM
		if w.BodyMM > 0 {
			mm = w.BodyMM + m.EaseMM
		}
		if (w.BodyMM > 0) == (w.FinishedMM > 0) || !(mm > 0 && mm <= 20000) {
			return s, fmt.Errorf("%w: for %s give either the body's measure or the finished one, in mm", ErrOp, m.Name)
		}
		var lines []LineChange
		for _, p := range g.Pieces {
			for _, mark := range p.Marks {
				if mark.Kind == pattern.MarkLengthen && mark.Measure == m.ID && mark.Detached == "" {
					lines = append(lines, LineChange{Piece: p.ID, Mark: mark.ID})
				}
			}
		}
		if len(lines) == 0 {
			return s, fmt.Errorf("%w: no line says where the pieces give way for %s; put a lengthen line on each piece that does, and choose this measure for it", ErrOp, m.Name)
		}
		s.ids, s.want, s.lines = append(s.ids, m.ID), append(s.want, mm), append(s.lines, lines)
	}
	return s, nil
}

// opened returns the garment with the lines of each measure opened by x mm.
func (s sizing) opened(x []float64) (pattern.Garment, []geometry.Finding, error) {
	g := s.g
	g.Pieces, g.Measures = slices.Clone(g.Pieces), slices.Clone(g.Measures)
	var findings []geometry.Finding
	for i, lines := range s.lines {
		if math.Abs(x[i]) < 0.01 {
			continue
		}
		for _, l := range lines {
			k := slices.IndexFunc(g.Pieces, func(p pattern.Piece) bool { return p.ID == l.Piece })
			p := g.Pieces[k]
			m := slices.IndexFunc(p.Marks, func(m pattern.Mark) bool { return m.ID == l.Mark })
			if m < 0 || len(p.Marks[m].Points) != 2 {
				continue
			}
			a, b := p.Marks[m].Points[0], p.Marks[m].Points[1]
			now, more, err := Open(p, a, b, x[i], JoinEven)
			if err != nil {
				return g, nil, fmt.Errorf("%s, at the line %q: %w", p.Name, l.Mark, err)
			}
			g.Pieces[k] = now
			findings = append(findings, more...)
			g.Measures = levelled(g.Measures, p, opening{line: through(a, b), by: x[i], out: math.Max(-x[i], 0)})
		}
	}
	return g, findings, nil
}

// levelled moves the levels at which a piece is measured across as the cloth there moves.
func levelled(all []pattern.Measure, p pattern.Piece, o opening) []pattern.Measure {
	lo, hi := p.Knots.Flatten(1).Bounds()
	for i, m := range all {
		all[i].Parts = slices.Clone(m.Parts)
		for j, q := range m.Parts {
			if q.Piece == p.ID && q.Edge == "" {
				all[i].Parts[j].LevelMM = o.move(geometry.Point{X: (lo.X + hi.X) / 2, Y: q.LevelMM}).Y
			}
		}
	}
	return all
}

// measured returns the wanted measures of the garment when its lines are opened by x.
func (s sizing) measured(x []float64) ([]float64, error) {
	g, _, err := s.opened(x)
	if err != nil {
		return nil, err
	}
	r, err := pattern.Check(g)
	if err != nil {
		return nil, err
	}
	return s.of(r), nil
}

func (s sizing) of(r pattern.Report) []float64 {
	out := make([]float64, len(s.ids))
	for _, m := range r.Measures {
		if i := slices.Index(s.ids, m.ID); i >= 0 {
			out[i] = m.FinishedMM
		}
	}
	return out
}

// solve returns by how much the lines of each measure are opened.
func (s sizing) solve(before pattern.Report) ([]float64, error) {
	const step, near = 4.0, 0.02 // mm
	n := len(s.ids)
	x, have := make([]float64, n), s.of(before)
	for range 6 {
		off := mat.NewVecDense(n, nil)
		for i := range n {
			off.SetVec(i, s.want[i]-have[i])
		}
		if mat.Norm(off, math.Inf(1)) < near {
			return x, nil
		}
		j := mat.NewDense(n, n, nil)
		for k := range n {
			try := slices.Clone(x)
			try[k] += step
			got, err := s.measured(try)
			if err != nil {
				return nil, err
			}
			for i := range n {
				j.Set(i, k, (got[i]-have[i])/step)
			}
		}
		var by mat.VecDense
		if err := by.SolveVec(j, off); err != nil || !(mat.Norm(&by, math.Inf(1)) <= MaxMM) {
			return nil, s.stiff(j)
		}
		for i := range n {
			x[i] += by.AtVec(i)
		}
		var err error
		if have, err = s.measured(x); err != nil {
			return nil, err
		}
	}
	return x, nil
}

// stiff says which measure its lines do not change as they should.
func (s sizing) stiff(j *mat.Dense) error {
	for i := range s.ids {
		if math.Abs(j.At(i, i)) < 0.05 {
			m := s.g.Measures[slices.IndexFunc(s.g.Measures, func(m pattern.Measure) bool { return m.ID == s.ids[i] })]
			return fmt.Errorf("%w: opening the lines for %s does not change it; do they cross what it is measured along?", ErrOp, m.Name)
		}
	}
	return fmt.Errorf("%w: the lines of these measures change the same lengths, so that no size meets them all; leave one measure out", ErrMuch)
}

func (s sizing) report(before, after pattern.Report, x []float64, findings []geometry.Finding) Resized {
	out := Resized{Measures: []MeasureChange{}, Lines: []LineChange{}, Seams: []SeamChange{}, Findings: append([]geometry.Finding{}, findings...)}
	for i, m := range before.Measures {
		c := MeasureChange{ID: m.ID, Name: m.Name, BeforeMM: m.FinishedMM, AfterMM: after.Measures[i].FinishedMM}
		if k := slices.Index(s.ids, m.ID); k >= 0 {
			c.WantedMM = s.want[k]
			if off := math.Abs(c.AfterMM - c.WantedMM); off > 0.5 {
				out.Findings = append(out.Findings, geometry.Finding{
					Code: CodeSizeOff, Severity: geometry.SeverityWarning, Amount: off, Limit: 0.5,
					Message: fmt.Sprintf("%s comes to %.1f mm, %.1f mm off what is wanted.", m.Name, c.AfterMM, off),
					Remedy:  "Change it in smaller steps, or put the lines elsewhere.",
				})
			}
		}
		out.Measures = append(out.Measures, c)
	}
	for i, lines := range s.lines {
		for _, l := range lines {
			l.MM = x[i]
			out.Lines = append(out.Lines, l)
		}
	}
	for i, r := range before.Seams {
		q := after.Seams[i]
		c := SeamChange{
			ID: r.ID, Name: r.Name, BeforeAMM: r.AMM, BeforeBMM: r.BMM, BeforeOffMM: r.OffMM, AfterAMM: q.AMM, AfterBMM: q.BMM, AfterOffMM: q.OffMM,
			LimitMM: q.LimitMM, Known: q.Known,
			OK: math.Abs(q.OffMM) <= q.LimitMM || math.Abs(q.OffMM) <= math.Abs(r.OffMM)+0.5,
		}
		if !c.OK {
			out.Findings = append(out.Findings, geometry.Finding{
				Code: CodeSizeSeam, Severity: geometry.SeverityWarning, Amount: math.Abs(q.OffMM), Limit: q.LimitMM,
				Message: fmt.Sprintf("%s: its sides agreed to %.1f mm, and are off by %.1f mm in this size.", r.Name, math.Abs(r.OffMM), math.Abs(q.OffMM)),
				Remedy:  "Put a line on the other piece as well, at the same level; or make both sides agree afterwards.",
			})
		}
		out.Seams = append(out.Seams, c)
	}
	return out
}
