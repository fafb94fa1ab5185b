package pattern

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// Report is what the checks of a garment found.
type Report struct {
	Seams    []SeamRow    `json:"seams"`
	Curves   []CurveRow   `json:"curves,omitempty"`
	Measures []MeasureRow `json:"measures,omitempty"`
	Elastics []ElasticRow `json:"elastics,omitempty"`
	// Notches are offered for seams that have none, or on one side only.
	Notches  []NotchProposal    `json:"notch_proposals,omitempty"`
	Findings []geometry.Finding `json:"findings"`
}

// OK reports whether every seam could be checked and lies within its tolerance.
func (r Report) OK() bool {
	for _, s := range r.Seams {
		if !s.OK {
			return false
		}
	}
	return true
}

// Codes of the findings of Check.
const (
	// CodeSeamLength: the two sides of a seam differ by more than is meant.
	CodeSeamLength = "seam-length"
	// CodeSeamPart: they differ between two notches.
	CodeSeamPart = "seam-part"
	// CodeSeamNotches: they do not have the same notches.
	CodeSeamNotches = "seam-notches"
	// CodeSeamAngle: the edge beside a seam has a kink where the seam ends.
	CodeSeamAngle = "seam-angle"
	// CodeMeasure: a finished measure does not fit the body.
	CodeMeasure = "measure"
	// CodeNoGrain: a piece has no grain line.
	CodeNoGrain = "grain-missing"
	// CodeElasticLong: an elastic is not shorter than what it draws in.
	CodeElasticLong = "elastic-long"
	// CodeUnmeasured: something could not be measured, since a piece cannot be drawn.
	CodeUnmeasured = "not-measured"
	// CodePullOn: a garment may not pass the body when it is put on.
	CodePullOn = "pull-on"
)

// Check compares what gets sewn together along the stitch lines, and the finished
// measures with the body's. It fails with ErrInvalid when the garment is not valid.
// Everything else that is amiss is a finding, a piece whose stitch line cannot be drawn
// too: seams along it are listed as not known.
func Check(g Garment) (Report, error) {
	all, err := stitchAll(g)
	if err != nil {
		return Report{}, err
	}
	return check(g, all), nil
}

func check(g Garment, all []stitched) Report {
	c := checker{garment: g, pieces: map[string]stitched{}, asked: map[[2]string]bool{}}
	c.report.Seams, c.report.Findings = []SeamRow{}, []geometry.Finding{}
	for _, s := range all {
		if s.err != nil {
			c.find(pieceFinding(CodeUndrawn, s.piece, s.err))
			continue
		}
		c.pieces[s.piece.ID] = s
	}
	for _, s := range g.SeamPairs {
		if c.drawn(s.Name, slices.Concat(s.A, s.B)...) {
			c.seam(s)
		} else {
			c.report.Seams = append(c.report.Seams, SeamRow{ID: s.ID, Name: s.Name, EaseMM: s.EaseMM, LimitMM: cmp.Or(s.ToleranceMM, SeamToleranceMM)})
		}
	}
	for _, p := range g.CurvePairs {
		if c.drawn(p.Name, p.A, p.B) {
			c.curves(p)
		}
	}
	for _, m := range g.Measures {
		if c.drawn(m.Name, m.runs()...) {
			c.measure(m)
		}
	}
	c.elastics()
	c.marks()
	for _, r := range c.walked { // last: an edge that is needed itself is asked for first
		c.beside(r)
	}
	c.report.Findings = append(c.report.Findings, Cautions(g)...)
	return c.report
}

type checker struct {
	garment Garment
	pieces  map[string]stitched
	asked   map[[2]string]bool
	walked  []Run
	report  Report
}

// drawn reports whether there is a stitch line for all runs, and says so where not.
func (c *checker) drawn(name string, runs ...Run) bool {
	for _, r := range runs {
		if _, ok := c.pieces[r.Piece]; !ok {
			p, _ := c.garment.Piece(r.Piece)
			c.find(geometry.Finding{
				Code: CodeUnmeasured, Severity: geometry.SeverityWarning, Piece: r.Piece,
				Message: fmt.Sprintf("%s could not be measured, since %s cannot be drawn.", name, p.Name),
				Remedy:  "Correct that piece first.",
			})
			return false
		}
	}
	return true
}

func (c *checker) find(f geometry.Finding) { c.report.Findings = append(c.report.Findings, f) }

// line returns the stitch line of a run in its own direction.
func (c *checker) line(r Run) []geometry.Segment {
	s := c.pieces[r.Piece]
	line := s.edge(s.piece.Edge(r.Edge))
	if r.Reverse {
		return geometry.ChainReversed(line)
	}
	return line
}

// known reports whether the stitch line of a run is known, and asks for the old
// allowance, once an edge, where it is not.
func (c *checker) known(r Run) bool {
	s := c.pieces[r.Piece]
	k := s.piece.Edge(r.Edge)
	key := [2]string{r.Piece, r.Edge}
	if !s.known[k] && !c.asked[key] {
		c.asked[key] = true
		c.find(s.askOld(k, "what is sewn along it cannot be checked"))
	}
	return s.known[k]
}

// beside asks for the old allowances of the edges at both ends of a run, since it is
// measured only up to where they were traced.
func (c *checker) beside(r Run) {
	s := c.pieces[r.Piece]
	k, n := s.piece.Edge(r.Edge), len(s.first)
	for _, j := range []int{(k + n - 1) % n, (k + 1) % n} {
		key := [2]string{r.Piece, s.piece.Edges[j].ID}
		if !s.known[k] || s.known[j] || c.asked[key] {
			continue
		}
		c.asked[key] = true
		f := s.askOld(j, fmt.Sprintf("%s beside it is measured only up to where it was traced", s.piece.Edges[k].Name))
		f.Severity = geometry.SeverityWarning
		c.find(f)
	}
}

// marks checks what every piece should carry.
func (c *checker) marks() {
	for _, p := range c.garment.Pieces {
		grain := false
		for _, m := range p.Marks {
			if m.Detached != "" {
				c.find(detached(p, m))
			}
			grain = grain || m.Kind == MarkGrain && m.Detached == ""
		}
		if !grain {
			c.find(geometry.Finding{
				Code: CodeNoGrain, Severity: geometry.SeverityWarning, Piece: p.ID,
				Message: fmt.Sprintf("%s has no grain line; cut off the grain it would hang askew.", p.Name),
				Remedy:  "Draw one along the threads that ran as the selvage did.",
			})
		}
		s, drawn := c.pieces[p.ID]
		for k, e := range p.Edges {
			if drawn && e.finish().Kind != FinishKeep {
				c.known(Run{Piece: p.ID, Edge: s.piece.Edges[k].ID})
			}
		}
	}
}

// MeasureRow is a finished measure. Lengths in mm.
type MeasureRow struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	FinishedMM float64 `json:"finished_mm"`
	BodyMM     float64 `json:"body_mm,omitempty"`
	EaseMM     float64 `json:"ease_mm,omitempty"`
	OffMM      float64 `json:"off_mm"`
	LimitMM    float64 `json:"limit_mm"`
	OK         bool    `json:"ok"`
}

func (c *checker) measure(m Measure) {
	row := MeasureRow{ID: m.ID, Name: m.Name, BodyMM: m.BodyMM, EaseMM: m.EaseMM, LimitMM: m.ToleranceMM}
	if row.LimitMM == 0 {
		row.LimitMM = MeasureToleranceMM
	}
	for _, q := range m.Parts {
		row.FinishedMM += c.part(q)
	}
	row.OK = true
	if m.BodyMM > 0 {
		row.OffMM = row.FinishedMM - m.BodyMM - m.EaseMM
		row.OK = math.Abs(row.OffMM) <= row.LimitMM
	}
	c.report.Measures = append(c.report.Measures, row)
	if !row.OK {
		way := "larger"
		if row.OffMM < 0 {
			way = "smaller"
		}
		c.find(geometry.Finding{
			Code: CodeMeasure, Severity: geometry.SeverityWarning, Amount: math.Abs(row.OffMM), Limit: row.LimitMM,
			Message: fmt.Sprintf("%s is %.1f mm finished, %.1f mm %s than the body's %.1f mm and the ease of %.1f mm that is meant.", m.Name, row.FinishedMM, math.Abs(row.OffMM), way, m.BodyMM, m.EaseMM),
			Remedy:  "Change the pieces, or the ease if it is meant so.",
		})
	}
}

// runs returns the pieces that a measure goes along.
func (m Measure) runs() []Run {
	out := make([]Run, len(m.Parts))
	for i, q := range m.Parts {
		out[i] = Run{Piece: q.Piece, Edge: q.Edge}
	}
	return out
}

// part returns what a part adds to a measure.
func (c *checker) part(q Part) float64 {
	s, k := c.pieces[q.Piece], -1
	if q.Edge != "" {
		k = s.piece.Edge(q.Edge)
	}
	times := float64(q.Times)
	if q.Times == 0 {
		times = float64(s.piece.cuts())
		if s.piece.OnFold() && (k < 0 || s.piece.Edges[k].finish().Kind != FinishFold) {
			times *= 2
		}
	}
	if k < 0 {
		return times * widthAt(s.path.Flatten(0.02), q.LevelMM)
	}
	run := Run{Piece: q.Piece, Edge: q.Edge}
	c.known(run)
	l := geometry.ChainLength(s.edge(k))
	return times * (l - taken(c.darts(run), 1, l))
}

// widthAt returns how much of the line y = level lies inside a ring, in mm.
func widthAt(ring geometry.Polyline, level float64) float64 {
	var sum float64 // of x where the ring passes the level, by turns to add and to subtract
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if (a.Y > level) == (b.Y > level) {
			continue
		}
		x := a.X + (b.X-a.X)*(level-a.Y)/(b.Y-a.Y)
		if b.Y > a.Y { // up: the cloth lies to the left of a counter-clockwise ring
			sum += x
		} else {
			sum -= x
		}
	}
	return sum
}

// ElasticRow is an elastic and the casing that it draws in. Lengths in mm.
type ElasticRow struct {
	Name string `json:"name"`
	// LengthMM is what to cut, OpeningMM the casing laid flat.
	LengthMM  float64 `json:"length_mm"`
	OpeningMM float64 `json:"opening_mm"`
	// PulledMM is how far the elastic ring reaches when pulled; 0 = not known.
	PulledMM float64 `json:"pulled_mm,omitempty"`
}

// elastics compares each elastic with the casing edges of its loop.
func (c *checker) elastics() {
	type loop struct {
		row     ElasticRow
		e       Elastic
		unknown bool // a piece of it cannot be drawn
	}
	var order []string
	loops := map[string]*loop{}
	for _, p := range c.garment.Pieces {
		s, drawn := c.pieces[p.ID]
		for k, e := range p.Edges {
			f := e.finish()
			if f.Elastic == nil {
				continue
			}
			key, name := f.Elastic.Loop, f.Elastic.Loop
			if key == "" {
				key, name = p.ID+"\x00"+e.ID, p.Name+", "+e.Name
			}
			if loops[key] == nil {
				order = append(order, key)
				loops[key] = &loop{row: ElasticRow{Name: name, LengthMM: f.Elastic.LengthMM()}, e: *f.Elastic}
			}
			if !drawn {
				loops[key].unknown = true
				continue
			}
			times := float64(max(f.Elastic.Times, 1))
			if p.OnFold() {
				times *= 2
			}
			loops[key].row.OpeningMM += times * geometry.ChainLength(s.edge(k))
		}
	}
	for _, key := range order {
		l := loops[key]
		if l.unknown {
			continue
		}
		c.elastic(&l.row, l.e)
		c.report.Elastics = append(c.report.Elastics, l.row)
	}
}

func (c *checker) elastic(row *ElasticRow, e Elastic) {
	ring := row.LengthMM - e.OverlapMM
	if ring >= row.OpeningMM {
		c.find(geometry.Finding{
			Code: CodeElasticLong, Severity: geometry.SeverityWarning, Amount: ring, Limit: row.OpeningMM,
			Message: fmt.Sprintf("%s: the elastic makes a ring of %.0f mm, which does not draw in the casing of %.0f mm.", row.Name, ring, row.OpeningMM),
			Remedy:  "Cut the elastic shorter, or the casing wider.",
		})
	}
	row.PulledMM = ring * e.Stretch
	if e.PassMM == 0 {
		return
	}
	// What is laid flat and what is pulled must both pass (from memory; common
	// practice, no source).
	pass := row.OpeningMM
	if e.Stretch > 0 {
		pass = math.Min(pass, row.PulledMM)
	}
	if pass < e.PassMM {
		c.find(geometry.Finding{
			Code: CodePullOn, Severity: geometry.SeverityWarning, Amount: pass, Limit: e.PassMM,
			Message: fmt.Sprintf("%s opens to %.0f mm at most but must pass %.0f mm when it is put on.", row.Name, pass, e.PassMM),
			Remedy:  "Widen the casing, choose an elastic that stretches further, or add an opening.",
		})
	}
}
