package derive

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Errors of making a piece. Each is wrapped in a sentence for the person.
var (
	// ErrRecipe says that what is to be made is not said properly, or refers to what is
	// not there.
	ErrRecipe = errors.New("the piece cannot be made")
	// ErrRoom says that it does not fit the piece that it is made of.
	ErrRoom = errors.New("there is no room for it")
)

// CodeStale is the code of the finding that a parent has changed.
const CodeStale = "parent-changed"

// Own is what the ids of marks begin with that come with a derived piece; others on it are
// the person's.
const Own = "made-"

// Make returns a new piece of a garment after a recipe, whose State is filled in. Its id is
// free in the garment. A finding asks for an old allowance where the stitch line that it is
// drawn from is not known. It fails with ErrRecipe or ErrRoom.
func Make(g pattern.Garment, d pattern.Derived) (pattern.Piece, []geometry.Finding, error) {
	m := maker{g: g, d: d}
	if err := m.open(); err != nil {
		return pattern.Piece{}, nil, err
	}
	p, err := m.make()
	if err != nil {
		return p, nil, err
	}
	d.State = State(g, d)
	p.Derived = &d
	p.ID = freeID(g, string(d.Kind))
	p.Name = m.parent.Name + ", " + names[d.Kind]
	p.OutlineMeans = pattern.MeansStitchLine
	p.UncertaintyMM = m.parent.UncertaintyMM
	p.Label = m.label()
	lo, _ := p.Knots.Flatten(1e-3).Bounds()
	p = moved(p, geometry.Vec{X: -lo.X, Y: -lo.Y})
	if err := p.Validate(); err != nil {
		return p, nil, fmt.Errorf("%w: no piece would be left", ErrRoom)
	}
	return p, m.findings, nil
}

var names = map[pattern.DerivedKind]string{
	pattern.DerivedFacing: "facing", pattern.DerivedCasing: "casing", pattern.DerivedBinding: "binding",
	pattern.DerivedInterfacing: "interfacing", pattern.DerivedPocketBag: "pocket bag", pattern.DerivedLining: "lining",
}

// State returns what stands for the pieces that a recipe names, as they are: it changes
// when an outline moves by a hundredth of a millimetre or an edge is finished otherwise.
func State(g pattern.Garment, d pattern.Derived) string {
	h := sha256.New()
	round := func(q geometry.Point) geometry.Point {
		return geometry.Point{X: math.Round(q.X*100)/100 + 0, Y: math.Round(q.Y*100)/100 + 0}
	}
	seen := map[string]bool{}
	for _, s := range d.From {
		p, ok := g.Piece(s.Piece)
		if seen[s.Piece] || !ok {
			continue
		}
		seen[s.Piece] = true
		var darts []pattern.Mark
		for _, m := range p.Marks {
			if m.Kind == pattern.MarkDart || m.Kind == pattern.MarkNotch {
				m.At = math.Round(m.At*1e6) / 1e6
				darts = append(darts, m)
			}
		}
		edges := slices.Clone(p.Edges)
		for i := range edges {
			edges[i].Name = "" // a name changes nothing
		}
		data, err := json.Marshal([]any{p.Knots.Map(round), p.OutlineMeans, edges, darts})
		if err != nil {
			continue // a point that is no number: the piece is drawn by nothing else either
		}
		h.Write(data)
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// Stale returns a finding for each derived piece whose parents have changed since it was
// made, or are gone.
func Stale(g pattern.Garment) []geometry.Finding {
	var out []geometry.Finding
	for _, p := range g.Pieces {
		if p.Derived == nil || State(g, *p.Derived) == p.Derived.State {
			continue
		}
		f := geometry.Finding{Code: CodeStale, Severity: geometry.SeverityWarning, Piece: p.ID}
		var gone, from []string
		for _, s := range p.Derived.From {
			if q, ok := g.Piece(s.Piece); !ok {
				gone = append(gone, s.Piece)
			} else if !slices.Contains(from, q.Name) {
				from = append(from, q.Name)
			}
		}
		f.Message = fmt.Sprintf("%s was made of %s, which has changed since.", p.Name, strings.Join(from, " and "))
		f.Remedy = "Make it anew; what you put on it stays. Or leave it, if it is cut already."
		if len(gone) > 0 {
			f.Message = fmt.Sprintf("%s was made of a piece that is gone.", p.Name)
			f.Remedy = "It stays as it is. Bring the other piece back from the trash, or make this one of another piece."
		}
		out = append(out, f)
	}
	return out
}

// Update returns a derived piece made anew of what its parents are now. Its id, name and
// label, the finishes, names and allowances of its edges, and the marks that are not its
// recipe's stay; a mark whose edge is gone is kept, detached, and reported. What was drawn
// into its outline by hand is lost. It fails with ErrRecipe or ErrRoom.
func Update(g pattern.Garment, id string) (pattern.Piece, []geometry.Finding, error) {
	old, ok := g.Piece(id)
	if !ok || old.Derived == nil {
		return old, nil, fmt.Errorf("%w: there is no piece %q that was made of another", ErrRecipe, id)
	}
	now, findings, err := Make(g, *old.Derived)
	if err != nil {
		return old, nil, err
	}
	now.ID, now.Name, now.Label, now.Face, now.PlaneToPiece = old.ID, old.Name, old.Label, old.Face, old.PlaneToPiece
	for i, e := range now.Edges {
		if k := old.Edge(e.ID); k >= 0 {
			was := old.Edges[k]
			now.Edges[i].Name, now.Edges[i].Finish, now.Edges[i].OldAllowance = was.Name, was.Finish, was.OldAllowance
		}
	}
	for _, m := range old.Marks {
		if strings.HasPrefix(m.ID, Own) {
			continue
		}
		if m.Edge != "" && now.Edge(m.Edge) < 0 && m.Detached == "" {
			m.Detached = fmt.Sprintf("its edge %q is gone", m.Edge)
			findings = append(findings, geometry.Finding{
				Code: pattern.CodeDetached, Severity: geometry.SeverityWarning, Piece: old.ID,
				Message: fmt.Sprintf("%s: the %s %q is not drawn: %s.", old.Name, m.Kind, m.ID, m.Detached),
				Remedy:  "Hang it on another edge, or remove it.",
			})
		}
		now.Marks = append(now.Marks, m)
	}
	return now, findings, now.Validate()
}

// maker makes one piece.
type maker struct {
	g        pattern.Garment
	d        pattern.Derived
	parent   pattern.Piece
	drafts   map[string]pattern.Drafted
	findings []geometry.Finding
}

// open drafts the pieces that the recipe names.
func (m *maker) open() error {
	if len(m.d.From) == 0 {
		return fmt.Errorf("%w: say of which edge", ErrRecipe)
	}
	m.drafts = map[string]pattern.Drafted{}
	for i, s := range m.d.From {
		at := slices.IndexFunc(m.g.Pieces, func(p pattern.Piece) bool { return p.ID == s.Piece })
		if at < 0 {
			return fmt.Errorf("%w: the garment has no piece %q", ErrRecipe, s.Piece)
		}
		p := m.g.Pieces[at]
		if i == 0 {
			m.parent = p
		}
		if s.Edge != "" && p.Edge(s.Edge) < 0 {
			return fmt.Errorf("%w: %s has no edge %q", ErrRecipe, p.Name, s.Edge)
		}
		if s.Edge == "" && m.d.Kind != pattern.DerivedInterfacing && m.d.Kind != pattern.DerivedLining {
			return fmt.Errorf("%w: say along which edge of %s", ErrRecipe, p.Name)
		}
		if m.d.Kind != pattern.DerivedCasing && m.d.Kind != pattern.DerivedBinding && p.ID != m.parent.ID {
			return fmt.Errorf("%w: it is made of one piece, not of %s and %s", ErrRecipe, m.parent.Name, p.Name)
		}
		if _, done := m.drafts[p.ID]; done {
			continue
		}
		d, err := pattern.Draft(m.g, at, pattern.Options{})
		if err != nil {
			return fmt.Errorf("%w: %w", ErrRecipe, err)
		}
		m.drafts[p.ID] = d
		for k, e := range d.Edges {
			if !e.Known && m.takes(p.Edges[k].ID) {
				m.findings = append(m.findings, unknown(p, p.Edges[k]))
			}
		}
	}
	return nil
}

// takes reports whether an edge of the parent counts for the recipe.
func (m *maker) takes(edge string) bool {
	return slices.ContainsFunc(m.d.From, func(s pattern.Source) bool { return s.Edge == edge || s.Edge == "" })
}

func unknown(p pattern.Piece, e pattern.Edge) geometry.Finding {
	return geometry.Finding{
		Code: pattern.CodeOldUnknown, Severity: geometry.SeverityWarning, Piece: p.ID,
		Message: fmt.Sprintf("%s, %s: the old allowance is not known, so that what is made of it is drawn from the traced edge.", p.Name, e.Name),
		Remedy:  "Enter the old allowance, and make it anew.",
	}
}

func (m *maker) make() (pattern.Piece, error) {
	switch m.d.Kind {
	case pattern.DerivedFacing:
		return m.facing()
	case pattern.DerivedCasing:
		return m.casing()
	case pattern.DerivedBinding:
		return m.binding()
	case pattern.DerivedInterfacing:
		return m.interfacing()
	case pattern.DerivedPocketBag:
		return m.pocketBag()
	case pattern.DerivedLining:
		return m.lining()
	}
	return pattern.Piece{}, fmt.Errorf("%w: %q is nothing that can be made", ErrRecipe, m.d.Kind)
}

// sewn returns the parent on its stitch line: what lay outside it is gone, and finishes
// are what they were.
func (m *maker) sewn() pattern.Piece {
	p, d := m.parent, m.drafts[m.parent.ID]
	p.Knots, p.OutlineMeans, p.Derived, p.Label, p.LostEdges = d.StitchLine, pattern.MeansStitchLine, nil, nil, nil
	p.Unsure, p.PlaneToPiece, p.Grain, p.Face = nil, geometry.Rigid{}, nil, m.parent.Face
	p.Edges = slices.Clone(p.Edges)
	for k := range p.Edges {
		p.Edges[k].Knot, p.Edges[k].OldAllowance = d.Edges[k].Knot, nil
	}
	slices.SortFunc(p.Edges, func(a, b pattern.Edge) int { return a.Knot - b.Knot })
	p.Marks = nil
	for _, mark := range m.parent.Marks {
		if mark.Detached == "" {
			mark.ID = Own + strings.TrimPrefix(mark.ID, Own)
			p.Marks = append(p.Marks, mark)
		}
	}
	return p
}

// inset returns a sewn piece with edges moved in by mm, and none of its marks.
func inset(p pattern.Piece, by func(e pattern.Edge) float64) (pattern.Piece, error) {
	p.OutlineMeans, p.Marks, p.Holes = pattern.MeansCutEdge, nil, nil
	p.Edges = slices.Clone(p.Edges)
	for k, e := range p.Edges {
		p.Edges[k].OldAllowance, p.Edges[k].Finish = &pattern.OldAllowance{Is: pattern.OldNone}, nil
		if mm := by(e); mm > 0 {
			p.Edges[k].OldAllowance = &pattern.OldAllowance{Is: pattern.OldLength, MM: mm}
		}
	}
	d, err := pattern.Draft(pattern.Garment{Format: pattern.Format, Name: p.Name, Pieces: []pattern.Piece{p}}, 0, pattern.Options{})
	if err != nil {
		return p, fmt.Errorf("%w: %s is too narrow or too tightly bent for it; choose a smaller width", ErrRoom, p.Name)
	}
	p.Knots, p.OutlineMeans = d.StitchLine, pattern.MeansStitchLine
	for k := range p.Edges {
		p.Edges[k].Knot, p.Edges[k].OldAllowance = d.Edges[k].Knot, nil
	}
	slices.SortFunc(p.Edges, func(a, b pattern.Edge) int { return a.Knot - b.Knot })
	return p, nil
}

// label says how often the piece is cut, and from what: as often as its parent, a strip
// along several pieces once.
func (m *maker) label() *pattern.Label {
	cut := pattern.Cut{Count: 1}
	strip := m.d.Kind == pattern.DerivedCasing || m.d.Kind == pattern.DerivedBinding
	if l := m.parent.Label; l != nil && len(l.Cuts) > 0 && (!strip || len(m.drafts) == 1) {
		cut = pattern.Cut{Cloth: l.Cuts[0].Cloth, Count: l.Cuts[0].Count, Mirrored: l.Cuts[0].Mirrored && !strip}
	}
	use := map[pattern.DerivedKind]pattern.ClothUse{pattern.DerivedInterfacing: pattern.ClothInterfacing, pattern.DerivedLining: pattern.ClothLining, pattern.DerivedPocketBag: pattern.ClothLining}[m.d.Kind]
	for _, c := range m.g.Cloths {
		if use != "" && c.Use == use {
			cut.Cloth = c.ID
			break
		}
	}
	return &pattern.Label{Cuts: []pattern.Cut{cut}}
}

func freeID(g pattern.Garment, stem string) string {
	for n := 1; ; n++ {
		id := cmp.Or(map[bool]string{true: stem}[n == 1], fmt.Sprintf("%s-%d", stem, n))
		if _, taken := g.Piece(id); !taken {
			return id
		}
	}
}

// moved returns the piece elsewhere.
func moved(p pattern.Piece, by geometry.Vec) pattern.Piece {
	f := func(q geometry.Point) geometry.Point { return q.Add(by) }
	p.Knots = p.Knots.Map(f)
	holes := p.Holes
	p.Holes = nil
	for _, h := range holes {
		p.Holes = append(p.Holes, h.Map(f))
	}
	p.Marks = slices.Clone(p.Marks)
	for i, m := range p.Marks {
		pts := m.Points
		m.Points = nil
		for _, q := range pts {
			m.Points = append(m.Points, f(q))
		}
		p.Marks[i] = m
	}
	return p
}
