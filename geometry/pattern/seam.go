package pattern

import (
	"fmt"
	"strings"
)

// SeamPair is a seam: the edges of two sides that get sewn together.
type SeamPair struct {
	// ID names the pair within its garment, Name is what people call it.
	ID   string `json:"id"`
	Name string `json:"name"`
	// A and B are the two sides, each walked from where the sewing begins.
	A []Run `json:"a"`
	B []Run `json:"b"`
	// EaseMM is how much longer A is meant to be than B, in mm; negative where B is
	// the longer one.
	EaseMM float64 `json:"ease_mm,omitempty"`
	// ToleranceMM is how far the lengths may be off, in mm; 0 = SeamToleranceMM.
	ToleranceMM float64 `json:"tolerance_mm,omitempty"`
	// RunsOnStart and RunsOnEnd say that the edge beside the seam runs on without a
	// kink where the sewing begins and ends, as a hem or a neck line does.
	RunsOnStart bool `json:"runs_on_start,omitempty"`
	RunsOnEnd   bool `json:"runs_on_end,omitempty"`
	// MatchPrint says that stripes or checks of the cloth meet along the seam.
	MatchPrint bool `json:"match_print,omitempty"`
}

// Run is an edge as a seam takes it.
type Run struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
	// Reverse says that it is walked against the direction of its outline.
	Reverse bool `json:"reverse,omitempty"`
}

// CurvePair is two edges to be laid on each other.
type CurvePair struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	A    Run    `json:"a"`
	B    Run    `json:"b"`
}

// SeamToleranceMM is by how much the two sides of a seam may differ when nothing
// else is said: 1/16 in, the strict tolerance of truing by hand (a sewing
// magazine's article on patternwork, Dec 2018; 1/8 in is its ordinary one).
const SeamToleranceMM = 1.6

const maxSeams = 5000

func (r Run) check(prefix string, g Garment) error {
	p, ok := g.Piece(r.Piece)
	if !ok {
		return wrong(prefix+"piece", "is %q, but the garment has no such piece", r.Piece)
	}
	if p.Edge(r.Edge) < 0 {
		return wrong(prefix+"edge", "is %q, but piece %q has no such edge", r.Edge, r.Piece)
	}
	return nil
}

func (s SeamPair) check(prefix string, g Garment) error {
	if err := checkText(prefix+"id", s.ID); err != nil {
		return err
	}
	if err := checkText(prefix+"name", s.Name); err != nil {
		return err
	}
	seen := map[[2]string]string{}
	for _, side := range []struct {
		name string
		runs []Run
	}{{"a", s.A}, {"b", s.B}} {
		if len(side.runs) == 0 || len(side.runs) > 100 {
			return wrong(prefix+side.name, "has %d edges; a side of a seam has 1 to 100", len(side.runs))
		}
		for i, r := range side.runs {
			field := fmt.Sprintf("%s%s[%d]", prefix, side.name, i)
			if err := r.check(field+".", g); err != nil {
				return err
			}
			key := [2]string{r.Piece, r.Edge}
			if before, twice := seen[key]; twice {
				return wrong(field, "is the same edge as %s; an edge always fits itself and its mirror image, so it needs no pair", strings.TrimPrefix(before, prefix))
			}
			seen[key] = field
		}
	}
	if !(s.EaseMM >= -2000 && s.EaseMM <= 2000) {
		return wrong(prefix+"ease_mm", "is %g mm; it lies between -2000 and 2000", s.EaseMM)
	}
	if !(s.ToleranceMM >= 0 && s.ToleranceMM <= 100) {
		return wrong(prefix+"tolerance_mm", "is %g mm; it lies between 0 and 100", s.ToleranceMM)
	}
	return nil
}

func (c CurvePair) check(prefix string, g Garment) error {
	for _, err := range []error{
		checkText(prefix+"id", c.ID), checkText(prefix+"name", c.Name),
		c.A.check(prefix+"a.", g), c.B.check(prefix+"b.", g),
	} {
		if err != nil {
			return err
		}
	}
	if c.A.Piece == c.B.Piece && c.A.Edge == c.B.Edge {
		return wrong(prefix+"b", "is the same edge as a")
	}
	return nil
}

// Measure is a finished measure of the garment, such as the hem's girth, beside
// the body's. Lengths in mm.
type Measure struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// BodyMM is the body's measure, EaseMM what the garment is meant to be larger;
	// BodyMM 0 = only the finished measure is stated.
	BodyMM float64 `json:"body_mm,omitempty"`
	EaseMM float64 `json:"ease_mm,omitempty"`
	// ToleranceMM is how far it may be off; 0 = MeasureToleranceMM.
	ToleranceMM float64 `json:"tolerance_mm,omitempty"`
	// Parts add up to the measure.
	Parts []Part `json:"parts"`
}

// Part is a part of a finished measure: the stitch line of an edge, or the width
// of the piece between its stitch lines at a height.
type Part struct {
	Piece string `json:"piece"`
	// Edge is measured along its stitch line; empty = measure across at LevelMM.
	Edge string `json:"edge,omitempty"`
	// LevelMM is a height (y) in the piece frame, where Edge is empty.
	LevelMM float64 `json:"level_mm,omitempty"`
	// Times is how often the part goes into the measure; 0 = as often as the piece
	// is cut from its first cloth, twice that for a piece on the fold, where only
	// the fold itself is there once.
	Times int `json:"times,omitempty"`
}

// MeasureToleranceMM is how far a finished measure may be off when nothing else is
// said: half a centimetre (judgement, no source).
const MeasureToleranceMM = 5.0

func (m Measure) check(prefix string, g Garment) error {
	if err := checkText(prefix+"id", m.ID); err != nil {
		return err
	}
	if err := checkText(prefix+"name", m.Name); err != nil {
		return err
	}
	if !(m.BodyMM >= 0 && m.BodyMM <= 10000) {
		return wrong(prefix+"body_mm", "is %g mm; it lies between 0 and 10000", m.BodyMM)
	}
	if !(m.EaseMM >= -5000 && m.EaseMM <= 5000) {
		return wrong(prefix+"ease_mm", "is %g mm; it lies between -5000 and 5000", m.EaseMM)
	}
	if !(m.ToleranceMM >= 0 && m.ToleranceMM <= 1000) {
		return wrong(prefix+"tolerance_mm", "is %g mm; it lies between 0 and 1000", m.ToleranceMM)
	}
	if len(m.Parts) == 0 || len(m.Parts) > 100 {
		return wrong(prefix+"parts", "are %d; a measure has 1 to 100", len(m.Parts))
	}
	for i, q := range m.Parts {
		field := fmt.Sprintf("%sparts[%d].", prefix, i)
		p, ok := g.Piece(q.Piece)
		switch {
		case !ok:
			return wrong(field+"piece", "is %q, but the garment has no such piece", q.Piece)
		case q.Edge != "" && p.Edge(q.Edge) < 0:
			return wrong(field+"edge", "is %q, but piece %q has no such edge", q.Edge, q.Piece)
		case q.Times < 0 || q.Times > 100:
			return wrong(field+"times", "is %d; it lies between 0 and 100", q.Times)
		case !(q.LevelMM >= -maxExtent && q.LevelMM <= maxExtent):
			return wrong(field+"level_mm", "is out of all bounds")
		}
	}
	return nil
}
