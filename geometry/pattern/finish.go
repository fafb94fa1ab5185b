package pattern

import "math"

// FinishKind is the way in which an edge is finished.
type FinishKind string

// The kinds of finish and what they do to the cut line. Keep: it is the traced
// edge. Seam: a seam allowance. Hem: turned up once or twice. Casing: turned over
// to hold an elastic or a cord. Faced: an allowance to sew the facing to. Bound:
// none, the edge is covered by a strip. Fold: none, the cloth is folded there.
const (
	FinishKeep   FinishKind = "keep"
	FinishSeam   FinishKind = "seam"
	FinishHem    FinishKind = "hem"
	FinishCasing FinishKind = "casing"
	FinishFaced  FinishKind = "faced"
	FinishBound  FinishKind = "bound"
	FinishFold   FinishKind = "fold"
)

// MaxWidthMM is the greatest allowance, or depth of all folds together: wider
// than any of a garment (judgement).
const MaxWidthMM = 300.0

// Finish is what becomes of an edge. Which fields a kind has stands beside them;
// the others are zero. Lengths in mm.
type Finish struct {
	Kind FinishKind `json:"kind"`
	// AllowanceMM of a seam or a faced edge, above 0. For a seam it is the one at
	// the beginning of the edge where EndMM is given.
	AllowanceMM float64 `json:"allowance_mm,omitempty"`
	// EndMM of a seam is the allowance at the end of the edge where it changes
	// along it, linearly with arc length; 0 = it does not change.
	EndMM float64 `json:"end_mm,omitempty"`
	// DepthMM is the finished depth of a hem.
	DepthMM float64 `json:"depth_mm,omitempty"`
	// Turns of a hem, 1 or 2.
	Turns int `json:"turns,omitempty"`
	// TurnUnderMM is the narrow turn at the raw edge: of a hem with two turns (0 =
	// as deep as the hem) or of a casing (0 = the raw edge is overlocked).
	TurnUnderMM float64 `json:"turn_under_mm,omitempty"`
	// Holds is what a casing holds: elastic or cord.
	Holds Holds `json:"holds,omitempty"`
	// WidthMM is that of the elastic, or the diameter of the cord.
	WidthMM float64 `json:"width_mm,omitempty"`
	// EaseMM is the play of a casing, so that it can be threaded.
	EaseMM float64 `json:"ease_mm,omitempty"`
	// OpeningMM is the length left open to thread a casing; 0 = not said.
	OpeningMM float64 `json:"opening_mm,omitempty"`
	// Elastic says how long the elastic of a casing gets; absent = not said.
	Elastic *Elastic `json:"elastic,omitempty"`
}

// Holds is what a casing holds.
type Holds string

// What a casing holds.
const (
	HoldsElastic Holds = "elastic"
	HoldsCord    Holds = "cord"
)

// Elastic is cut to length (body + add) x ratio + overlap. Lengths in mm.
type Elastic struct {
	// Loop names the ring that the elastic makes, so that the casing edges it
	// passes are counted together; empty = this edge alone.
	Loop string `json:"loop,omitempty"`
	// Times is how often this edge is part of one loop; 0 = once. A half piece on
	// the fold counts double by itself.
	Times int `json:"times,omitempty"`
	// BodyMM is the girth of the body where the elastic sits, relaxed.
	BodyMM float64 `json:"body_mm"`
	// AddMM is added to it, negative for a closer fit.
	AddMM float64 `json:"add_mm,omitempty"`
	// Ratio is the part of it to cut, such as 0.9; 0 = 1.
	Ratio float64 `json:"ratio,omitempty"`
	// OverlapMM is what its ends overlap when they are sewn together.
	OverlapMM float64 `json:"overlap_mm,omitempty"`
	// Stretch is how many times its length it reaches when pulled; 0 = not known.
	Stretch float64 `json:"stretch,omitempty"`
	// PassMM is the largest girth it must pass when the garment is put on, such as
	// the hips; 0 = not said.
	PassMM float64 `json:"pass_mm,omitempty"`
}

// LengthMM returns the length to cut.
func (e Elastic) LengthMM() float64 {
	ratio := e.Ratio
	if ratio == 0 {
		ratio = 1
	}
	return (e.BodyMM+e.AddMM)*ratio + e.OverlapMM
}

// Folds returns the depths of the layers of a hem or casing that are folded back
// one after the other, in mm; nil for the other kinds. A casing is folded at
// width + ease, then the turn-under: its whole depth is the sum of the three
// (Oregon State University Extension 4-H 320-36, Casings and Crotch Seams, 2014).
func (f Finish) Folds() []float64 {
	var folds []float64
	switch f.Kind {
	case FinishHem:
		folds = []float64{f.DepthMM}
		switch {
		case f.Turns == 2 && f.TurnUnderMM == 0:
			folds = append(folds, f.DepthMM)
		case f.Turns == 2:
			folds = append(folds, f.TurnUnderMM)
		}
	case FinishCasing:
		folds = []float64{f.WidthMM + f.EaseMM}
		if f.TurnUnderMM > 0 {
			folds = append(folds, f.TurnUnderMM)
		}
	}
	return folds
}

// Widths returns what lies outside the stitch line at the beginning and the end
// of an edge, in mm; for a hem or casing all layers together. Keep has none of
// its own.
func (f Finish) Widths() (start, end float64) {
	switch f.Kind {
	case FinishSeam, FinishFaced:
		if f.EndMM > 0 {
			return f.AllowanceMM, f.EndMM
		}
		return f.AllowanceMM, f.AllowanceMM
	case FinishHem, FinishCasing:
		for _, d := range f.Folds() {
			start += d
		}
	}
	return start, start
}

// finish returns the finish of the edge, keep where it has none.
func (e Edge) finish() Finish {
	if e.Finish == nil {
		return Finish{Kind: FinishKeep}
	}
	return *e.Finish
}

// old returns how far inside the traced edge the stitch line lies, and whether
// that is known.
func (p Piece) old(e Edge) (mm float64, known bool) {
	switch {
	case p.OutlineMeans == MeansStitchLine, e.finish().Kind == FinishFold && e.OldAllowance == nil:
		return 0, true // at a fold nothing was ever turned in
	case e.OldAllowance == nil || e.OldAllowance.Is == OldUnknown:
		return 0, false
	}
	return e.OldAllowance.MM, true
}

func (f Finish) check(prefix string) error {
	switch f.Kind {
	case FinishKeep, FinishSeam, FinishHem, FinishCasing, FinishFaced, FinishBound, FinishFold:
	default:
		return wrong(prefix+"kind", "is %q; it is keep, seam, hem, casing, faced, bound or fold", f.Kind)
	}
	if err := f.checkStray(prefix); err != nil {
		return err
	}
	switch f.Kind {
	case FinishSeam:
		if err := checkWidth(prefix+"allowance_mm", f.AllowanceMM, "give the edge the finish bound or keep if it needs none"); err != nil {
			return err
		}
		if f.EndMM != 0 {
			return checkWidth(prefix+"end_mm", f.EndMM, "leave it out if the allowance does not change")
		}
		return nil
	case FinishFaced:
		return checkWidth(prefix+"allowance_mm", f.AllowanceMM, "a facing is sewn on along an allowance")
	case FinishHem:
		return f.checkHem(prefix)
	case FinishCasing:
		return f.checkCasing(prefix)
	}
	return nil
}

func (f Finish) checkHem(prefix string) error {
	if err := checkWidth(prefix+"depth_mm", f.DepthMM, "a hem has a depth"); err != nil {
		return err
	}
	if f.Turns != 1 && f.Turns != 2 {
		return wrong(prefix+"turns", "is %d; a hem is turned 1 or 2 times", f.Turns)
	}
	if f.TurnUnderMM != 0 {
		if f.Turns == 1 {
			return wrong(prefix+"turn_under_mm", "is given, but a hem turned once has none")
		}
		if err := checkWidth(prefix+"turn_under_mm", f.TurnUnderMM, "leave it out for a second turn as deep as the hem"); err != nil {
			return err
		}
	}
	return f.checkFolds(prefix + "depth_mm")
}

func (f Finish) checkCasing(prefix string) error {
	if f.Holds != HoldsElastic && f.Holds != HoldsCord {
		return wrong(prefix+"holds", "is %q; a casing holds elastic or cord", f.Holds)
	}
	if err := checkWidth(prefix+"width_mm", f.WidthMM, "give the width of the elastic or cord"); err != nil {
		return err
	}
	for _, v := range []struct {
		field string
		mm    float64
	}{{"ease_mm", f.EaseMM}, {"turn_under_mm", f.TurnUnderMM}, {"opening_mm", f.OpeningMM}} {
		if !(v.mm >= 0 && v.mm <= MaxWidthMM) {
			return wrong(prefix+v.field, "is %g mm; it lies between 0 and %g", v.mm, MaxWidthMM)
		}
	}
	if f.Elastic != nil {
		if f.Holds != HoldsElastic {
			return wrong(prefix+"elastic", "is given, but the casing holds a cord")
		}
		if err := f.Elastic.check(prefix + "elastic."); err != nil {
			return err
		}
	}
	return f.checkFolds(prefix + "width_mm")
}

// checkFolds holds that no layer is deeper than the one it lies in.
func (f Finish) checkFolds(field string) error {
	folds := f.Folds()
	if len(folds) == 2 && folds[1] > folds[0] {
		return wrong(field, "gives a fold of %g mm, less than the %g mm that are turned under inside it", folds[0], folds[1])
	}
	if total, _ := f.Widths(); total > MaxWidthMM {
		return wrong(field, "gives %g mm in all; at most %g mm can be turned", total, MaxWidthMM)
	}
	return nil
}

func (e Elastic) check(prefix string) error {
	if e.Loop != "" {
		if err := checkText(prefix+"loop", e.Loop); err != nil {
			return err
		}
	}
	for _, v := range []struct {
		field       string
		x, low, top float64
	}{
		{"times", float64(e.Times), 0, 100},
		{"body_mm", e.BodyMM, 1, 5000},
		{"add_mm", e.AddMM, -5000, 5000},
		{"ratio", e.Ratio, 0, 3},
		{"overlap_mm", e.OverlapMM, 0, MaxWidthMM},
		{"stretch", e.Stretch, 0, 10},
		{"pass_mm", e.PassMM, 0, 5000},
	} {
		if !(v.x >= v.low && v.x <= v.top) {
			return wrong(prefix+v.field, "is %g; it lies between %g and %g", v.x, v.low, v.top)
		}
	}
	if mm := e.LengthMM(); mm <= e.OverlapMM {
		return wrong(prefix+"add_mm", "leaves an elastic of %g mm, of which %g mm overlap; there is no ring", mm, e.OverlapMM)
	}
	return nil
}

// checkStray refuses fields that the kind does not have: a file that carries them
// means something else than would be drawn.
func (f Finish) checkStray(prefix string) error {
	seam, hem, casing := f.Kind == FinishSeam, f.Kind == FinishHem, f.Kind == FinishCasing
	for _, v := range []struct {
		field      string
		given, has bool
	}{
		{"allowance_mm", f.AllowanceMM != 0, seam || f.Kind == FinishFaced},
		{"end_mm", f.EndMM != 0, seam},
		{"depth_mm", f.DepthMM != 0, hem},
		{"turns", f.Turns != 0, hem},
		{"turn_under_mm", f.TurnUnderMM != 0, hem || casing},
		{"holds", f.Holds != "", casing},
		{"width_mm", f.WidthMM != 0, casing},
		{"ease_mm", f.EaseMM != 0, casing},
		{"opening_mm", f.OpeningMM != 0, casing},
		{"elastic", f.Elastic != nil, casing},
	} {
		if v.given && !v.has {
			return wrong(prefix+v.field, "is given, but a finish of kind %q has none", f.Kind)
		}
	}
	return nil
}

func (o OldAllowance) check(prefix string) error {
	switch o.Is {
	case OldLength:
		return checkWidth(prefix+"mm", o.MM, "say none if the edge is worn to the stitch line, or unknown")
	case OldNone, OldUnknown:
		if o.MM != 0 {
			return wrong(prefix+"mm", "is given, but the old allowance is %s", o.Is)
		}
		return nil
	}
	return wrong(prefix+"is", "is %q; it is unknown, none or length", o.Is)
}

// checkWidth wants a width above 0 up to MaxWidthMM; remedy is for no width.
func checkWidth(field string, mm float64, remedy string) error {
	switch {
	case math.IsNaN(mm) || math.IsInf(mm, 0):
		return wrong(field, "is not a number")
	case mm == 0:
		return wrong(field, "is 0 or missing; %s", remedy)
	case mm < 0:
		return wrong(field, "is %g mm; it is never negative", mm)
	case mm > MaxWidthMM:
		return wrong(field, "is %g mm; the most is %g mm. Perhaps it was typed in another unit", mm, MaxWidthMM)
	}
	return nil
}
