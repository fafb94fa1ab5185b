package pattern

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"
	"unicode/utf8"

	"secondcut/geometry"
)

// ErrInvalid says that a garment breaks a rule; the message names the field.
var ErrInvalid = errors.New("the garment is not valid")

// Bounds of what a garment may hold: far above any real one, to keep nonsense
// out.
const (
	maxPieces  = 1000
	maxKnots   = 20000
	maxExtent  = 50e3 // mm from the origin
	maxTextLen = 500
	maxNoteLen = 4000
	maxDoubtMM = 1000
)

// Validate returns nil or an error that wraps ErrInvalid and names the first
// field that breaks a rule, such as pieces[0].knots.
func (g Garment) Validate() error {
	if g.Format != Format {
		return wrong("format", "is %q, not %q", g.Format, Format)
	}
	if err := checkText("name", g.Name); err != nil {
		return err
	}
	if n := len(g.Pieces); n == 0 || n > maxPieces {
		return wrong("pieces", "are %d; a garment has 1 to %d", n, maxPieces)
	}
	seen := map[string]bool{}
	for i, p := range g.Pieces {
		field := fmt.Sprintf("pieces[%d]", i)
		if seen[p.ID] {
			return wrong(field+".id", "%q is there twice", p.ID)
		}
		seen[p.ID] = true
		if err := p.check(field + "."); err != nil {
			return err
		}
	}
	return g.checkRest()
}

// checkRest validates what stands beside the pieces and refers to them.
func (g Garment) checkRest() error {
	if err := cmp.Or(
		g.checkTexts(),
		checkSwatches(g.Swatches, g.Cloths),
		each("cloths", g.Cloths, func(c Cloth, at string) (string, error) { return c.ID, c.check(at) }),
		each("seam_pairs", g.SeamPairs, func(s SeamPair, at string) (string, error) { return s.ID, s.check(at, g) }),
		each("curve_pairs", g.CurvePairs, func(c CurvePair, at string) (string, error) { return c.ID, c.check(at, g) }),
		each("measures", g.Measures, func(m Measure, at string) (string, error) { return m.ID, m.check(at, g) }),
	); err != nil {
		return err
	}
	for i, p := range g.Pieces {
		if p.Label == nil {
			continue
		}
		for j, c := range p.Label.Cuts {
			if err := c.checkCloth(fmt.Sprintf("pieces[%d].label.cuts[%d].", i, j), g); err != nil {
				return err
			}
		}
	}
	return nil
}

func (g Garment) checkTexts() error {
	return cmp.Or(
		checkDate(g.Date), checkNote("size_worn", g.SizeWorn), checkNote("size_measured", g.SizeMeasured),
		checkNote("version", g.Version), checkNote("notes", g.Notes),
	)
}

func (c Cut) checkCloth(prefix string, g Garment) error {
	if c.Cloth != "" && !slices.ContainsFunc(g.Cloths, func(d Cloth) bool { return d.ID == c.Cloth }) {
		return wrong(prefix+"cloth", "is %q, but the garment has no such cloth", c.Cloth)
	}
	return nil
}

// each validates the entries of a list and holds that no id is there twice.
func each[T any](list string, entries []T, check func(entry T, prefix string) (id string, err error)) error {
	if len(entries) > maxSeams {
		return wrong(list, "are %d; there may be %d", len(entries), maxSeams)
	}
	seen := map[string]bool{}
	for i, e := range entries {
		field := fmt.Sprintf("%s[%d].", list, i)
		id, err := check(e, field)
		if err != nil {
			return err
		}
		if seen[id] {
			return wrong(field+"id", "%q is there twice", id)
		}
		seen[id] = true
	}
	return nil
}

func checkDate(s string) error {
	if s == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return wrong("date", "is %q; write it as 2026-03-31", s)
	}
	return nil
}

// checkNote bounds a text that may be empty.
func checkNote(field, s string) error {
	if n := utf8.RuneCountInString(s); n > maxNoteLen {
		return wrong(field, "has %d characters; it may have %d", n, maxNoteLen)
	}
	return nil
}

// check validates a piece; prefix stands before each field's name.
func (p Piece) check(prefix string) error {
	if err := cmp.Or(checkText(prefix+"id", p.ID), checkText(prefix+"name", p.Name)); err != nil {
		return err
	}
	if err := checkRings(prefix, p.Knots, p.Holes); err != nil {
		return err
	}
	if err := p.checkEdges(prefix); err != nil {
		return err
	}
	if err := p.checkDrawn(prefix); err != nil {
		return err
	}
	if !(p.UncertaintyMM >= 0 && p.UncertaintyMM <= maxExtent) {
		return wrong(prefix+"uncertainty_mm", "is %g; it must not be negative", p.UncertaintyMM)
	}
	for i, s := range p.Unsure {
		if !sane(s.From) || !sane(s.To) || utf8.RuneCountInString(s.Why) > maxTextLen {
			return wrong(fmt.Sprintf("%sunsure[%d]", prefix, i), "lies out of all bounds or says too much")
		}
		if !(s.UncertaintyMM >= 0 && s.UncertaintyMM <= maxDoubtMM) {
			return wrong(fmt.Sprintf("%sunsure[%d].uncertainty_mm", prefix, i), "is %g; it lies between 0 and %d mm", s.UncertaintyMM, maxDoubtMM)
		}
	}
	if g := p.Grain; g != nil && !(g.Deg >= 0 && g.Deg < 180 && g.Sure >= 0 && g.Sure <= 1) {
		return wrong(prefix+"grain", "is %g degrees, %g sure; degrees run from 0 to below 180, certainty from 0 to 1", g.Deg, g.Sure)
	}
	if !sane(p.PlaneToPiece.Move) || !(math.Abs(p.PlaneToPiece.Turn) <= 100) {
		return wrong(prefix+"plane_to_piece", "is out of all bounds")
	}
	return nil
}

// checkDrawn validates what the person adds to the outline.
func (p Piece) checkDrawn(prefix string) error {
	if p.OutlineMeans != "" && p.OutlineMeans != MeansCutEdge && p.OutlineMeans != MeansStitchLine {
		return wrong(prefix+"outline_means", "is %q; it is cut-edge or stitch-line", p.OutlineMeans)
	}
	if p.Face != "" && p.Face != FaceRight && p.Face != FaceWrong {
		return wrong(prefix+"face", "is %q; it is right or wrong", p.Face)
	}
	if err := each(prefix+"marks", p.Marks, func(m Mark, at string) (string, error) { return m.ID, m.check(at, p) }); err != nil {
		return err
	}
	if p.Label != nil {
		if err := p.Label.check(prefix + "label."); err != nil {
			return err
		}
	}
	if p.Derived != nil {
		return p.Derived.check(prefix + "derived.")
	}
	return nil
}

func (p Piece) checkEdges(prefix string) error {
	if len(p.Edges) == 0 {
		return wrong(prefix+"edges", "are missing; an outline has at least one")
	}
	seen := map[string]bool{}
	for i, e := range p.LostEdges {
		if err := e.check(fmt.Sprintf("%slost_edges[%d]", prefix, i), seen); err != nil {
			return err
		}
	}
	for i, e := range p.Edges {
		field := fmt.Sprintf("%sedges[%d]", prefix, i)
		if err := e.check(field, seen); err != nil {
			return err
		}
		if e.Knot < 0 || e.Knot >= len(p.Knots) {
			return wrong(field+".knot", "is %d; the outline has knots 0 to %d", e.Knot, len(p.Knots)-1)
		}
		if i > 0 && e.Knot <= p.Edges[i-1].Knot {
			return wrong(field+".knot", "is %d, not after that of the edge before", e.Knot)
		}
	}
	return nil
}

// check validates an edge but for its place; seen are the ids before it.
func (e Edge) check(field string, seen map[string]bool) error {
	if err := cmp.Or(checkText(field+".id", e.ID), checkText(field+".name", e.Name)); err != nil {
		return err
	}
	if seen[e.ID] {
		return wrong(field+".id", "%q is there twice", e.ID)
	}
	seen[e.ID] = true
	if e.OldAllowance != nil {
		if err := e.OldAllowance.check(field + ".old_allowance."); err != nil {
			return err
		}
	}
	if e.Finish != nil {
		return e.Finish.check(field + ".finish.")
	}
	return nil
}

func checkRings(prefix string, outline geometry.Path, holes []geometry.Path) error {
	if err := checkRing(prefix+"knots", outline); err != nil {
		return err
	}
	// A square millimetre is less than any cloth.
	switch area := outline.Area(); {
	case area <= -1:
		return wrong(prefix+"knots", "run clockwise; an outline runs counter-clockwise round the cloth, so give its knots in the opposite order")
	case area < 1:
		return wrong(prefix+"knots", "enclose %.1f mm² of cloth: the outline crosses itself or lies flat", area)
	}
	for i, h := range holes {
		field := fmt.Sprintf("%sholes[%d]", prefix, i)
		if err := checkRing(field, h); err != nil {
			return err
		}
		if h.Area() >= 0 {
			return wrong(field, "does not run clockwise")
		}
	}
	return nil
}

func checkRing(field string, ring geometry.Path) error {
	if n := len(ring); n < 2 || n > maxKnots {
		return wrong(field, "has %d knots; there must be 2 to %d", n, maxKnots)
	}
	for i, k := range ring {
		if !sane(k.At) || (k.In != nil && !sane(*k.In)) || (k.Out != nil && !sane(*k.Out)) {
			return wrong(fmt.Sprintf("%s[%d]", field, i), "lies more than %g m away or is not finite", maxExtent/1000)
		}
	}
	return nil
}

func sane(p geometry.Point) bool {
	return p.IsFinite() && math.Abs(p.X) <= maxExtent && math.Abs(p.Y) <= maxExtent
}

func checkText(field, s string) error {
	if n := utf8.RuneCountInString(s); n < 1 || n > maxTextLen {
		return wrong(field, "has %d characters; it must have 1 to %d", n, maxTextLen)
	}
	return nil
}

// FieldError is an error about one value of a garment. It is ErrInvalid or
// ErrDraft, as Kind says.
type FieldError struct {
	Kind error
	// Cause is what went wrong below; nil where nothing did.
	Cause error
	// Field is where the value stands in the garment file, such as
	// pieces[0].edges[2].finish.depth_mm; Text goes on from there.
	Field, Text string
}

// Error returns kind, field and text in one sentence.
func (e *FieldError) Error() string { return fmt.Sprintf("%v: %s %s", e.Kind, e.Field, e.Text) }

// Unwrap returns kind and cause.
func (e *FieldError) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Kind}
	}
	return []error{e.Kind, e.Cause}
}

func wrong(field, format string, args ...any) error {
	return &FieldError{Kind: ErrInvalid, Field: field, Text: fmt.Sprintf(format, args...)}
}
