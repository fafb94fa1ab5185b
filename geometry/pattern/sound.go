package pattern

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// Codes of the findings of Sound.
const (
	// CodePieceInvalid: a piece breaks a rule and is left out.
	CodePieceInvalid = "piece-invalid"
	// CodeGone: something refers to a piece, edge or cloth that is gone.
	CodeGone = "gone"
)

// Sound returns the garment without what would make it invalid as a whole, so that
// the rest can be drawn and checked: pieces that break a rule, and seams, curves,
// measures and cuts that refer to what is gone. Each is reported. What is wrong with
// the garment's own texts stays for Validate.
func Sound(g Garment) (Garment, []geometry.Finding) {
	var findings []geometry.Finding
	pieces := g.Pieces
	g.Pieces = nil
	for i, p := range pieces {
		field := fmt.Sprintf("pieces[%d]", i)
		if err := p.check(field + "."); err != nil {
			findings = append(findings, pieceFinding(CodePieceInvalid, p, err))
			continue
		}
		g.Pieces = append(g.Pieces, p)
	}
	left := func(list, name string, err error) {
		findings = append(findings, geometry.Finding{
			Code: CodeGone, Severity: geometry.SeverityWarning, Field: fieldOf(err),
			Message: fmt.Sprintf("%s %q is left out: %s.", list, name, textOf(err)),
			Remedy:  "Choose its edges again, or remove it.",
		})
	}
	g.SeamPairs = sift(g.SeamPairs, "seam_pairs", func(s SeamPair, at string) error { return s.check(at, g) },
		func(s SeamPair, err error) { left("The seam", s.Name, err) })
	g.CurvePairs = sift(g.CurvePairs, "curve_pairs", func(c CurvePair, at string) error { return c.check(at, g) },
		func(c CurvePair, err error) { left("The pair of curves", c.Name, err) })
	g.Measures = sift(g.Measures, "measures", func(m Measure, at string) error { return m.check(at, g) },
		func(m Measure, err error) { left("The measure", m.Name, err) })
	for i := range g.Pieces {
		p := &g.Pieces[i]
		if p.Label == nil {
			continue
		}
		l := *p.Label
		l.Cuts = sift(l.Cuts, fmt.Sprintf("pieces[%d].label.cuts", i), func(c Cut, at string) error { return c.checkCloth(at, g) },
			func(_ Cut, err error) { left("A cut of", p.Name, err) })
		p.Label = &l
	}
	return g, findings
}

// sift returns the entries that pass and tells of the others.
func sift[T any](entries []T, list string, check func(T, string) error, tell func(T, error)) []T {
	var out []T
	for i, e := range entries {
		if err := check(e, fmt.Sprintf("%s[%d].", list, i)); err != nil {
			tell(e, err)
			continue
		}
		out = append(out, e)
	}
	return out
}

// ValidateParts returns nil or the first rule, as ErrInvalid, that the texts, lists
// and references beside the pieces break. Entries that stand alike in before are not
// held to refer to what is still there.
func (g Garment) ValidateParts(before Garment) error {
	if err := g.checkTexts(); err != nil {
		return err
	}
	return cmp.Or(
		each("cloths", g.Cloths, func(c Cloth, at string) (string, error) { return c.ID, c.check(at) }),
		each("seam_pairs", g.SeamPairs, unless(before.SeamPairs, func(s SeamPair, at string) (string, error) { return s.ID, s.check(at, g) })),
		each("curve_pairs", g.CurvePairs, unless(before.CurvePairs, func(c CurvePair, at string) (string, error) { return c.ID, c.check(at, g) })),
		each("measures", g.Measures, unless(before.Measures, func(m Measure, at string) (string, error) { return m.ID, m.check(at, g) })),
	)
}

// unless lets entries pass that were there before.
func unless[T any](before []T, check func(T, string) (string, error)) func(T, string) (string, error) {
	return func(e T, at string) (string, error) {
		id, err := check(e, at)
		if err != nil && slices.ContainsFunc(before, func(b T) bool { return reflect.DeepEqual(b, e) }) {
			err = nil
		}
		return id, err
	}
}

// ValidateParts returns nil or the first rule, as ErrInvalid, that the piece breaks in
// what was added to its outline: meaning, edges, marks, label. The outline itself may
// be anything that has knots.
func (p Piece) ValidateParts() error {
	if err := p.checkEdges(""); err != nil {
		return err
	}
	return p.checkDrawn("")
}

// pieceFinding says why a piece is left out.
func pieceFinding(code string, p Piece, err error) geometry.Finding {
	return geometry.Finding{
		Code: code, Severity: geometry.SeverityError, Piece: p.ID, Field: fieldOf(err),
		Message: fmt.Sprintf("%s cannot be drawn: %s.", p.Name, strings.TrimSuffix(strings.TrimPrefix(textOf(err), "("+p.Name+"): "), ".")),
		Remedy:  remedyOf(err),
	}
}

// fieldOf returns the field that an error names, or "".
func fieldOf(err error) string {
	if e, ok := errors.AsType[*FieldError](err); ok {
		return e.Field
	}
	return ""
}

// textOf returns an error without its kind.
func textOf(err error) string {
	e, ok := errors.AsType[*FieldError](err)
	switch {
	case !ok:
		return err.Error()
	case e.Kind == ErrDraft:
		return e.Text
	}
	return e.Field + " " + e.Text
}

// remedyOf says what to do about a piece that cannot be drawn.
func remedyOf(err error) string {
	const others = " The other pieces are drawn without it."
	var wide *offset.TooWideError
	switch {
	case errors.As(err, &wide) && strings.Contains(textOf(err), "old_allowance"):
		return fmt.Sprintf("Measure the old allowances at %s again, or correct the outline there.", wide.Name) + others
	case errors.As(err, &wide):
		return fmt.Sprintf("Give %s a narrower finish, or correct the outline there.", wide.Name) + others
	case strings.HasSuffix(fieldOf(err), ".knots"):
		return "Correct the outline, or trace the piece again." + others
	}
	return "Correct it." + others
}

// Validate returns nil or the first rule, as ErrInvalid, that the piece breaks, but for
// what it refers to outside of itself.
func (p Piece) Validate() error { return p.check("") }
