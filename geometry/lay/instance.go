package lay

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
)

// Errors of this package; what is returned wraps one of them.
var (
	// ErrInstance says that what is to be laid is not described properly.
	ErrInstance = errors.New("this cannot be laid")
	// ErrTooWide says that a piece is wider than the cloth at every turn that it may
	// have.
	ErrTooWide = errors.New("the piece is wider than the cloth")
	// ErrTooLong says that no layout was found within the length that there is.
	ErrTooLong = errors.New("the pieces do not fit on the cloth that there is")
	// ErrFixed says that fixed pieces are not those of the garment.
	ErrFixed = errors.New("the pieces that stay do not belong to what is laid")
)

// Instance is what is to be laid on a strip of cloth.
type Instance struct {
	// Name is for people.
	Name string
	// WidthMM is the usable width of the strip.
	WidthMM float64
	// GapMM is kept free between pieces; default 0.
	GapMM float64
	// Pieces are what is laid; at least one.
	Pieces []Piece
	// Kept stay where they are: pieces that were moved by hand, flaws of the cloth,
	// what lies outside a remnant. Their ID may be any; they are not in the layout
	// that comes out, and may reach over the sides of the strip.
	Kept []Obstacle
	// MaxLengthMM is the length that there is; 0 = as much as is needed.
	MaxLengthMM float64
	// MinLengthMM is the length that is taken in any case, by what is kept; default 0.
	MinLengthMM float64
	// Print holds pieces that have an anchor to the stripes of the cloth.
	Print Print
}

// Print is where stripes run: their middles lie AtX, AtY and whole repeats from there
// along and across the strip. A repeat of 0 = no stripes.
type Print struct {
	RepeatX, RepeatY, AtX, AtY float64
}

// Piece is a shape that is laid Count times.
type Piece struct {
	// ID names it; unlike any other.
	ID string
	// Outline is a simple ring about the piece's own origin, in either direction.
	Outline geometry.Polyline
	// TurnsDeg are the turns it may lie at, in degrees counter-clockwise; none = only
	// as it is drawn. In a garment, whose
	// outlines have the grain along +y, -90 lays the top to the far end of the cloth.
	TurnsDeg []float64
	// Count is how many are laid, mirrored ones included; at least 1.
	Count int
	// Mirrored is how many of them lie mirrored.
	Mirrored int
	// AnyFace lets each lie mirrored or not; Mirrored is then not heeded.
	AnyFace bool
	// Anchor is a point of the piece, in the frame of its outline, that must lie on the
	// middle of a stripe; nil = the piece may lie anywhere. FreeX and FreeY lift that
	// along and across the strip.
	Anchor       *geometry.Point
	FreeX, FreeY bool
	// AtFold holds the piece's lowest points, at its turn, to the side y = 0, where the
	// cloth is folded. Mirrored, it is turned by 180 degrees more than TurnsDeg, so that
	// the same side lies there.
	AtFold bool
}

// Obstacle is a place that is taken, in the cloth frame.
type Obstacle struct {
	Outline geometry.Polyline
	// Edge says that it lies beyond the edge of the cloth: no gap is kept from it.
	Edge bool
}

// Placement says where one piece lies.
type Placement struct {
	ID          string  `json:"id"`
	X           float64 `json:"x"`
	Y           float64 `json:"y"`
	RotationDeg float64 `json:"rotation_deg"`
	Mirrored    bool    `json:"mirrored"`
}

// Layout is where all pieces lie, in the order of the instance, and the length
// that they need.
type Layout struct {
	LengthMM   float64     `json:"length"`
	Placements []Placement `json:"placements"`
}

// Apply returns a point of the piece in the cloth frame.
func (p Placement) Apply(q geometry.Point) geometry.Point {
	if p.Mirrored {
		q.X = -q.X
	}
	s, c := sincosDeg(p.RotationDeg)
	return geometry.Point{X: c*q.X - s*q.Y + p.X, Y: s*q.X + c*q.Y + p.Y}
}

// sincosDeg is exact at whole quarter turns.
func sincosDeg(deg float64) (sin, cos float64) {
	switch math.Mod(math.Mod(deg, 360)+360, 360) {
	case 0:
		return 0, 1
	case 90:
		return 1, 0
	case 180:
		return 0, -1
	case 270:
		return -1, 0
	}
	return math.Sincos(deg * math.Pi / 180)
}

// AreaMM2 returns the area of all pieces together.
func (in Instance) AreaMM2() float64 {
	sum := 0.0
	for _, p := range in.Pieces {
		sum += float64(p.Count) * math.Abs(p.Outline.Area())
	}
	return sum
}

// Utilisation returns the part of the strip, of the layout's length, that is
// cloth of pieces: 0 to 1.
func (in Instance) Utilisation(l Layout) float64 { return in.AreaMM2() / (in.WidthMM * l.LengthMM) }

// Limits of an instance, so that a mistaken file is refused before it fills the
// memory.
const (
	maxCopies = 2000
	maxPoints = 2000
)

func (in Instance) check() error {
	if !(in.WidthMM > 0) || math.IsInf(in.WidthMM, 0) {
		return fmt.Errorf("%w: the width of the cloth is %g; it must be above 0", ErrInstance, in.WidthMM)
	}
	if !(in.GapMM >= 0 && in.GapMM < in.WidthMM) {
		return fmt.Errorf("%w: the gap between pieces is %g; it must be 0 or more and less than the width", ErrInstance, in.GapMM)
	}
	if !(in.MaxLengthMM >= 0 && in.MinLengthMM >= 0) {
		return fmt.Errorf("%w: the length that there is, %g, and that is taken, %g, must not be below 0", ErrInstance, in.MaxLengthMM, in.MinLengthMM)
	}
	if !(in.Print.RepeatX >= 0 && in.Print.RepeatY >= 0) {
		return fmt.Errorf("%w: the repeats of the print, %g and %g, must not be below 0", ErrInstance, in.Print.RepeatX, in.Print.RepeatY)
	}
	if len(in.Pieces) == 0 {
		return fmt.Errorf("%w: there is no piece to lay", ErrInstance)
	}
	seen, copies := map[string]bool{}, 0
	for _, p := range in.Pieces {
		if seen[p.ID] {
			return fmt.Errorf("%w: two pieces are called %q", ErrInstance, p.ID)
		}
		seen[p.ID] = true
		if p.Count < 1 || p.Mirrored < 0 || p.Mirrored > p.Count {
			return fmt.Errorf("%w: piece %q is to be laid %d times, %d of them mirrored", ErrInstance, p.ID, p.Count, p.Mirrored)
		}
		if copies += p.Count; copies > maxCopies {
			return fmt.Errorf("%w: more than %d pieces", ErrInstance, maxCopies)
		}
		for _, d := range p.TurnsDeg {
			if math.IsNaN(d) || math.IsInf(d, 0) {
				return fmt.Errorf("%w: piece %q has a turn that is no number", ErrInstance, p.ID)
			}
		}
		if err := checkRing(p.Outline); err != nil {
			return fmt.Errorf("%w: piece %q: %w", ErrInstance, p.ID, err)
		}
	}
	for i, o := range in.Kept {
		if err := checkRing(o.Outline); err != nil {
			return fmt.Errorf("%w: kept place %d: %w", ErrInstance, i+1, err)
		}
	}
	return nil
}

func checkRing(p geometry.Polyline) error {
	if len(p) < 3 || len(p) > maxPoints {
		return fmt.Errorf("%w: it has %d points; 3 to %d are needed", ErrOutline, len(p), maxPoints)
	}
	for _, q := range p {
		if !q.IsFinite() {
			return fmt.Errorf("%w: %w", ErrOutline, geometry.ErrNotFinite)
		}
	}
	if p.Area() == 0 {
		return fmt.Errorf("%w: it encloses no area", ErrOutline)
	}
	for i, a := range p {
		for j := i + 2; j < len(p) && (i > 0 || j < len(p)-1); j++ {
			if cross(a, after(p, i), p[j], after(p, j)) {
				return fmt.Errorf("%w: it crosses itself near (%.4g, %.4g)", ErrOutline, a.X, a.Y)
			}
		}
	}
	return nil
}

// cross reports whether the lines a-b and c-d properly cross.
func cross(a, b, c, d geometry.Point) bool {
	u, v := b.Sub(a), d.Sub(c)
	return u.Cross(c.Sub(a))*u.Cross(d.Sub(a)) < 0 && v.Cross(a.Sub(c))*v.Cross(b.Sub(c)) < 0
}
