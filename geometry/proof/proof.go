package proof

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Errors of comparing.
var (
	// ErrNoOutline says that there is nothing to compare with.
	ErrNoOutline = errors.New("there is no outline to compare with")
	// ErrUnlike says that no traced outline lies on the stored one.
	ErrUnlike = errors.New("no outline in the photo has the shape of this piece")
)

// Line says which line of the piece is compared.
type Line string

// The lines: the outline as it was traced, for the old piece laid on its print; the line
// to cut along, for a piece that was cut anew.
const (
	LineOutline Line = "outline"
	LineCut     Line = "cut-line"
)

// Again is an outline that was traced again, in any frame.
type Again struct {
	Outline geometry.Path
	// UncertaintyMM is the distance within which 95 % of its true edge is expected to lie.
	UncertaintyMM float64
}

// Doubts are the standard uncertainties of the scales of both photos in per cent; 0 = not
// known.
type Doubts struct{ BeforePct, AgainPct float64 }

// Verdict is what the comparison amounts to.
type Verdict string

// The verdicts: the same within what cloth and photos can tell; the same but for a scale;
// one or more edges differ.
const (
	VerdictSame    Verdict = "same"
	VerdictScale   Verdict = "scale"
	VerdictDiffers Verdict = "differs"
)

// Report is what was found. Distances are signed: positive where the new outline is
// larger.
type Report struct {
	Piece   string  `json:"piece"`
	Line    Line    `json:"line"`
	Verdict Verdict `json:"verdict"`
	// Text says the same in words, Remedy what to do.
	Text   string `json:"text"`
	Remedy string `json:"remedy"`
	// Which of the outlines it was, from 0, and whether it lay the other way up.
	Which    int  `json:"which"`
	Mirrored bool `json:"mirrored"`
	// ScalePct is how much larger everything is, in per cent, and ScaleDoubtPct within what
	// that is known (95 %).
	ScalePct      float64 `json:"scale_pct"`
	ScaleDoubtPct float64 `json:"scale_doubt_pct"`
	// UncertaintyMM and AgainMM are those of the two outlines, LimitMM what both and the
	// cloth may differ by.
	UncertaintyMM float64   `json:"uncertainty_mm"`
	AgainMM       float64   `json:"again_mm"`
	LimitMM       float64   `json:"limit_mm"`
	Edges         []EdgeRow `json:"edges"`
	// Stored and Again are both outlines, the latter laid on the former without a change of
	// scale.
	Stored geometry.Polyline `json:"stored_mm"`
	Again  geometry.Polyline `json:"outline_mm"`
}

// EdgeRow is what differs along one edge.
type EdgeRow struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// MedianMM and MaxMM are signed, P95MM is not; Where is the place of MaxMM.
	MedianMM float64        `json:"median_mm"`
	P95MM    float64        `json:"p95_mm"`
	MaxMM    float64        `json:"max_mm"`
	Where    geometry.Point `json:"where_mm"`
	// ApartMM is P95MM when the common scale is taken out; Differs says that it is more
	// than the limit.
	ApartMM float64 `json:"apart_mm"`
	Differs bool    `json:"differs"`
}

// ClothMM is by how much cloth lies differently each time that it is laid flat by hand
// (judgement, no source).
const ClothMM = 0.5

// Compare lays the one of the outlines that fits best on a line of piece i, turned over if
// need be, and measures what differs. What lies on most of the line counts as unchanged: where
// about as much of it speaks for one edge as for those across from it, either may be
// the one that is said to differ. It fails with ErrNoOutline, ErrUnlike, and as
// pattern.Draft does.
func Compare(g pattern.Garment, i int, all []Again, line Line, doubt Doubts) (Report, error) {
	p := g.Pieces[i]
	stored := p.Knots
	if line == LineCut {
		d, err := pattern.Draft(g, i, pattern.Options{})
		if err != nil {
			return Report{}, err
		}
		stored = d.CutLine
	} else {
		line = LineOutline
	}
	if len(all) == 0 {
		return Report{}, fmt.Errorf("proof: %w", ErrNoOutline)
	}
	ref := newSamples(stored, p)
	best, which := fit{cost: math.Inf(1)}, -1
	for k, a := range all {
		if len(a.Outline) < 2 {
			continue
		}
		if f := align(ref, a.Outline, limit(p, a)/2); f.cost < best.cost {
			best, which = f, k
		}
	}
	if lo, hi := stored.Flatten(0.5).Bounds(); which < 0 || best.cost > math.Max(unlikeMM, lo.Dist(hi)*unlikePart) {
		return Report{}, fmt.Errorf("proof: %s: %w", p.Name, ErrUnlike)
	}
	r := Report{
		Piece: p.Name, Line: line, Which: which, Mirrored: best.mirrored,
		UncertaintyMM: p.UncertaintyMM, AgainMM: all[which].UncertaintyMM, Stored: stored.Flatten(0.1),
	}
	r.LimitMM = limit(p, all[which])
	r.ScalePct = 100 * (best.pose.scale - 1)
	r.ScaleDoubtPct = math.Hypot(100*math.Hypot(r.UncertaintyMM, r.AgainMM)/ref.reach(), 2*math.Hypot(doubt.BeforePct, doubt.AgainPct))
	scaled := math.Abs(r.ScalePct) > r.ScaleDoubtPct
	rigid := best.pose.rigid(ref.centre)
	r.rows(p, ref, distances(ref, best.ring, rigid), best.apart(ref, scaled))
	r.Again = laidBack(best.ring, rigid)
	r.judge(scaled)
	return r, nil
}

// limit returns what both outlines and the cloth may differ by.
func limit(p pattern.Piece, a Again) float64 {
	return math.Sqrt(p.UncertaintyMM*p.UncertaintyMM + a.UncertaintyMM*a.UncertaintyMM + ClothMM*ClothMM)
}

// A piece is another one where the outlines lie apart by more than this, or this part of
// its span (judgements).
const (
	unlikeMM   = 8.0
	unlikePart = 0.02
)

// rows measures edge by edge.
func (r *Report) rows(p pattern.Piece, ref samples, all, apart []float64) {
	for k, e := range p.Edges {
		row := EdgeRow{ID: e.ID, Name: e.Name}
		var signed, size, rest []float64
		for i, s := range ref.list {
			if s.edge != k {
				continue
			}
			if d := all[i]; len(signed) == 0 || math.Abs(d) > math.Abs(row.MaxMM) {
				row.MaxMM, row.Where = d, s.at
			}
			signed, size, rest = append(signed, all[i]), append(size, math.Abs(all[i])), append(rest, math.Abs(apart[i]))
		}
		if len(signed) > 0 {
			row.MedianMM, row.P95MM, row.ApartMM = quantile(signed, 0.5), quantile(size, 0.95), quantile(rest, 0.95)
		}
		row.Differs = row.ApartMM > r.LimitMM
		r.Edges = append(r.Edges, row)
	}
}

func quantile(of []float64, q float64) float64 {
	s := slices.Clone(of)
	slices.Sort(s)
	return s[int(q*float64(len(s)-1)+0.5)]
}

// judge says in words what was found.
func (r *Report) judge(scaled bool) {
	var off []string
	for _, e := range r.Edges {
		if e.Differs {
			word := "larger"
			if e.MedianMM < 0 {
				word = "smaller"
			}
			off = append(off, fmt.Sprintf("%s (%.1f mm %s, up to %.1f mm)", e.Name, math.Abs(e.MedianMM), word, math.Abs(e.MaxMM)))
		}
	}
	scale := ""
	if scaled {
		word := "larger"
		if r.ScalePct < 0 {
			word = "smaller"
		}
		scale = fmt.Sprintf("Everything is %.2f %% %s (known within %.2f %%): that is the printer or the cards, not the outline.", math.Abs(r.ScalePct), word, r.ScaleDoubtPct)
	}
	switch {
	case len(off) > 0:
		r.Verdict = VerdictDiffers
		r.Text = strings.TrimSpace(fmt.Sprintf("%s differs by more than the %.1f mm that cloth and photos can tell: %s. %s", r.Piece, r.LimitMM, strings.Join(off, ", "), scale))
		r.Remedy = "Look at these edges on both photos: is the cloth pulled, folded or frayed there? Correct the outline where it is wrong."
	case scaled:
		r.Verdict = VerdictScale
		r.Text = fmt.Sprintf("%s has the right shape. %s", r.Piece, scale)
		r.Remedy = "Measure the two rulers of a card sheet and a test square of the print, and enter what they are under Your printer."
	default:
		r.Verdict = VerdictSame
		r.Text = fmt.Sprintf("%s agrees all round within the %.1f mm that cloth and photos can tell.", r.Piece, r.LimitMM)
		r.Remedy = "Nothing needs to be done."
	}
}
