package lay

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Task is the laying of a garment's pieces on one cloth.
type Task struct {
	Cloth    Cloth
	Instance Instance
	// Findings say what is laid otherwise than one would expect.
	Findings []geometry.Finding
	parts    map[string]part
}

// part is how a piece of the instance comes from a drafted piece.
type part struct {
	id, name string
	// cut is its cut line in the piece frame, as it is laid.
	cut geometry.Polyline
	// turnDeg and mirrored bring the drafted piece to the instance's outline: first
	// mirrored (x to -x), then turned.
	turnDeg  float64
	mirrored bool
	layers   int
	atFold   bool
	// bases are the instance's turns along the grain, without what it may be off.
	bases []float64
}

// Codes of the findings of laying.
const (
	// CodeGrainless: a piece without a grain line is laid as it is drawn.
	CodeGrainless = "lay-grain"
	// CodeOneLayer: a piece is cut from one layer of folded cloth.
	CodeOneLayer = "lay-one-layer"
	// CodeFoldAskew: a fold edge does not run along the threads.
	CodeFoldAskew = "lay-fold-askew"
	// CodeNapTurned: the layers of a crosswise fold run in opposite ways.
	CodeNapTurned = "lay-nap-turned"
	// CodeNotLaid: a piece cannot be laid.
	CodeNotLaid = "lay-not-laid"
	// CodeTooWide: a piece is wider than the cloth as it lies.
	CodeTooWide = "lay-too-wide"
	// CodeBias: a piece is laid on the bias.
	CodeBias = "lay-bias"
	// CodePrint: something about the stripes cannot be matched, or needs care.
	CodePrint = "lay-print"
)

// NewTask returns the laying of all pieces of a garment that are cut from a cloth;
// clothID is empty for the main one. A piece that does not say how often it is cut is
// cut once. Pieces lie with their grain along the cloth:
//   - a pair goes through both layers of folded cloth, or lies once each way;
//   - a piece on the fold lies there as a half when the cloth is folded lengthwise, else
//     it is drawn whole;
//   - single pieces on folded cloth are cut from the upper layer, unless they are their
//     own mirror image.
//
// It fails with ErrCloth, ErrInstance where nothing is cut from this cloth, or as
// [pattern.DraftAll] does.
func NewTask(g pattern.Garment, clothID string, c Cloth) (Task, error) {
	if err := c.check(); err != nil {
		return Task{}, err
	}
	c = c.settled()
	halves, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		return Task{}, err
	}
	wholes, err := pattern.DraftAll(g, pattern.Options{Unfold: true})
	if err != nil {
		return Task{}, err
	}
	t := Task{Cloth: c, parts: map[string]part{}, Instance: Instance{
		Name: g.Name, WidthMM: c.laidWidth(), GapMM: c.GapMM, MaxLengthMM: c.laidLength(),
	}}
	for _, f := range c.Flaws {
		t.Instance.Kept = append(t.Instance.Kept, Obstacle{Outline: f})
	}
	if c.Remnant != nil {
		t.Instance.Kept = append(t.Instance.Kept, outside(c.Remnant)...)
	}
	if c.Nap && c.Spread == Crosswise {
		t.Findings = append(t.Findings, geometry.Finding{
			Code: CodeNapTurned, Severity: geometry.SeverityWarning, Field: "spread",
			Message: "On cloth folded across, the nap of the lower layer runs the other way.",
			Remedy:  "Cut the cloth at the fold, turn one layer round, and lay it on the other, right sides together; or fold it lengthwise.",
		})
	}
	for i, p := range g.Pieces {
		for n, cut := range cutsFrom(g, p, clothID) {
			t.add(p, halves[i], wholes[i], cut, n)
		}
	}
	if len(t.Instance.Pieces) == 0 {
		return t, fmt.Errorf("%w: no piece is cut from this cloth", ErrInstance)
	}
	t.match(g, halves)
	return t, nil
}

// cutsFrom returns how often a piece is cut from a cloth.
func cutsFrom(g pattern.Garment, p pattern.Piece, clothID string) []pattern.Cut {
	if p.Label == nil || len(p.Label.Cuts) == 0 {
		if isMain(g, clothID) {
			return []pattern.Cut{{Count: 1}}
		}
		return nil
	}
	var out []pattern.Cut
	for _, c := range p.Label.Cuts {
		if c.Cloth == clothID || c.Cloth == "" && isMain(g, clothID) || clothID == "" && isMain(g, c.Cloth) {
			out = append(out, c)
		}
	}
	return out
}

func isMain(g pattern.Garment, id string) bool {
	return id == "" || slices.ContainsFunc(g.Cloths, func(c pattern.Cloth) bool { return c.ID == id && c.Use == pattern.ClothMain })
}

// add adds what is cut of one piece.
func (t *Task) add(p pattern.Piece, half, whole pattern.Drafted, cut pattern.Cut, n int) {
	if !half.Drawn() {
		t.find(CodeNotLaid, geometry.SeverityError, p, "cannot be drawn and is not laid", "Mend what the draft says of it.")
		return
	}
	id := p.ID
	if n > 0 {
		id = fmt.Sprintf("%s/%d", p.ID, n+1)
	}
	if fold, ok := foldEdge(p, half); ok && t.Cloth.Spread == Lengthwise {
		if t.atFold(id, p, half, cut, fold) {
			return
		}
	}
	t.plain(id, p, whole, cut)
}

// grainDeg is the direction of the grain in the piece frame.
func (t *Task) grainDeg(p pattern.Piece, d pattern.Drafted) float64 {
	if d.GrainDeg != nil {
		return *d.GrainDeg
	}
	t.find(CodeGrainless, geometry.SeverityWarning, p, "has no grain line and is laid as it is drawn", "Draw its grain line.")
	return 90
}

// plain adds a piece that does not lie at a fold.
func (t *Task) plain(id string, p pattern.Piece, d pattern.Drafted, cut pattern.Cut) {
	q := part{id: p.ID, name: p.Name, turnDeg: 90 - t.grainDeg(p, d), layers: t.Cloth.layers(), bases: t.Cloth.bases()}
	// Open cloth lies right side up; a piece that was photographed from its wrong side
	// is drawn mirrored then.
	q.mirrored = p.Face == pattern.FaceWrong
	piece := Piece{ID: id, Count: cut.Count, TurnsDeg: t.Cloth.around(q.bases), Outline: q.outline(d.CutLine)}
	if onBias(d) {
		q.bases = onBiasOf(q.bases)
		piece.TurnsDeg = t.Cloth.around(q.bases)
		t.find(CodeBias, geometry.SeverityInfo, p, "lies on the bias, at 45 degrees to the selvage",
			"Let it hang before hemming; bias stretches. Cut it single, without dragging the cloth.")
	}
	switch {
	case q.layers == 1 && cut.Mirrored:
		piece.Mirrored = cut.Count / 2
	case q.layers == 1:
	case cut.Mirrored:
		piece.Count, piece.AnyFace = cut.Count/2, true
	case cut.Count > 1 && ownMirror(piece.Outline, t.Cloth.Nap):
		piece.Count = cut.Count / 2
		if cut.Count%2 == 1 {
			t.oneLayer(id+"/single", p, q, piece, 1)
		}
	default:
		t.oneLayer(id, p, q, piece, cut.Count)
		return
	}
	t.put(piece, q)
}

// oneLayer adds pieces that are cut from the upper layer of folded cloth alone. With
// right sides together it lies wrong side up, so that they lie mirrored on it.
func (t *Task) oneLayer(id string, p pattern.Piece, q part, piece Piece, count int) {
	up := "wrong"
	piece.ID, piece.Count, piece.Mirrored, piece.AnyFace = id, count, count, false
	if t.Cloth.RightSideOut {
		up, piece.Mirrored = "right", 0
	}
	t.find(CodeOneLayer, geometry.SeverityInfo, p,
		fmt.Sprintf("is cut %s from the upper layer alone, whose %s side is up", times(count), up),
		"Mark these places, cut them after the rest, and keep the lower layer for other things. Or lay the cloth open.")
	q.layers = 1
	t.put(piece, q)
}

func times(n int) string {
	if n == 0 {
		return "not once"
	}
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func (t *Task) put(p Piece, q part) {
	t.tooWide(p, q)
	t.Instance.Pieces = append(t.Instance.Pieces, p)
	t.parts[p.ID] = q
}

// tooWide says so where a piece fits on the cloth at no turn, with the way out.
func (t *Task) tooWide(p Piece, q part) {
	least := math.Inf(1)
	for _, deg := range p.turns() {
		lo, hi := turned(p.Outline, Placement{RotationDeg: deg}).Bounds()
		least = min(least, hi.Y-lo.Y)
	}
	if least > t.Instance.WidthMM*(1+slack) {
		way := t.Cloth.WayOut()
		t.Findings = append(t.Findings, geometry.Finding{
			Code: CodeTooWide, Severity: geometry.SeverityError, Piece: q.id, Amount: least, Limit: t.Instance.WidthMM,
			Message: fmt.Sprintf("%s is %.0f mm wide and the cloth as it lies %.0f mm.", q.name, least, t.Instance.WidthMM),
			Remedy:  strings.ToUpper(way[:1]) + way[1:] + ".",
		})
	}
}

// foldEdge returns the line of the edge that lies on the fold, from end to end.
func foldEdge(p pattern.Piece, d pattern.Drafted) ([2]geometry.Point, bool) {
	for _, e := range p.Edges {
		if e.Finish == nil || e.Finish.Kind != pattern.FinishFold {
			continue
		}
		for _, f := range d.FoldLines {
			if f.Edge == e.ID && len(f.Points) > 1 {
				return [2]geometry.Point{f.Points[0], f.Points[len(f.Points)-1]}, true
			}
		}
	}
	return [2]geometry.Point{}, false
}

// atFold adds a half that lies at the fold, and reports whether it can.
func (t *Task) atFold(id string, p pattern.Piece, d pattern.Drafted, cut pattern.Cut, fold [2]geometry.Point) bool {
	v := fold[1].Sub(fold[0])
	along := math.Atan2(v.Y, v.X) * 180 / math.Pi
	// A fold runs along the threads, from which the grain line of a bias piece is 45 degrees off.
	if onBias(d) {
		t.find(CodeFoldAskew, geometry.SeverityWarning, p, "is cut on the bias, so that it cannot lie at the fold, and is laid whole",
			"Cut it from a single layer. If it should lie at the fold, take the bias off its grain line.")
		return false
	}
	if d.GrainDeg != nil {
		if off := offGrain(along, *d.GrainDeg); off > 0.5+t.Cloth.GrainTolDeg {
			t.find(CodeFoldAskew, geometry.SeverityWarning, p,
				fmt.Sprintf("has its fold edge %.1f degrees off the grain and is laid whole", off), "Set the grain line along the fold edge.")
			return false
		}
	}
	// The outline runs counter-clockwise, so the piece lies to the left of its edge:
	// with the edge upwards it is on the left of it, and turned with its top away it
	// stands on the fold. An edge that runs downwards is mirrored first.
	q := part{id: p.ID, name: p.Name, turnDeg: 90 - along, layers: 2, atFold: true, bases: []float64{topAway}}
	if v.Y < 0 {
		q.mirrored, q.turnDeg = true, along+90
	}
	t.put(Piece{
		ID: id, Count: cut.Count, AtFold: true, AnyFace: !t.Cloth.Nap, TurnsDeg: []float64{topAway}, Outline: q.outline(d.CutLine),
	}, q)
	return true
}

// offGrain returns how far two directions without a sense are apart, in degrees.
func offGrain(a, b float64) float64 { return math.Abs(math.Mod(math.Mod(a-b, 180)+270, 180) - 90) }

// onBias reports whether the threads run at 45 degrees to a piece's grain line.
func onBias(d pattern.Drafted) bool {
	i := slices.IndexFunc(d.Marks, func(m pattern.PlacedMark) bool { return m.Kind == pattern.MarkGrain })
	return i >= 0 && d.Marks[i].Bias
}

// outline keeps a cut line, within chordMM, and returns it with its grain upwards.
func (q *part) outline(cut geometry.Path) geometry.Polyline {
	const chordMM = 0.05
	q.cut = cut.Flatten(chordMM)
	return turned(q.cut, Placement{RotationDeg: q.turnDeg, Mirrored: q.mirrored})
}

// ownMirror reports whether a ring with its grain upwards is its own mirror image: left
// to right or, where there is no nap, top to bottom, within half a millimetre.
func ownMirror(ring geometry.Polyline, nap bool) bool {
	const within = 0.5
	lo, hi := ring.Bounds()
	mirrors := []func(geometry.Point) geometry.Point{
		func(q geometry.Point) geometry.Point { return geometry.Point{X: lo.X + hi.X - q.X, Y: q.Y} },
	}
	if !nap {
		mirrors = append(mirrors, func(q geometry.Point) geometry.Point { return geometry.Point{X: q.X, Y: lo.Y + hi.Y - q.Y} })
	}
	return slices.ContainsFunc(mirrors, func(m func(geometry.Point) geometry.Point) bool {
		for _, q := range ring {
			if ring.Dist(m(q)) > within {
				return false
			}
		}
		return true
	})
}

func (t *Task) find(code string, severity geometry.Severity, p pattern.Piece, what, remedy string) {
	t.Findings = append(t.Findings, geometry.Finding{
		Code: code, Severity: severity, Piece: p.ID, Message: fmt.Sprintf("%s %s.", p.Name, what), Remedy: remedy,
	})
}
