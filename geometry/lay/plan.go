package lay

import (
	"context"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// Plan is where the pieces of a garment lie on a cloth.
type Plan struct {
	Format string `json:"format"`
	Cloth  Cloth  `json:"cloth"`
	// LaidWidthMM and LaidLengthMM are those of the layers as they lie on the table.
	LaidWidthMM  float64 `json:"laid_width_mm"`
	LaidLengthMM float64 `json:"laid_length_mm"`
	// NeedMM is the length that is needed as it is bought, BuyMM what to buy: rounded up
	// to what shops sell. Both are 0 for a remnant.
	NeedMM float64 `json:"need_mm"`
	BuyMM  float64 `json:"buy_mm"`
	// Cost of that length, in the cloth's currency; 0 = no price is given.
	Cost float64 `json:"cost,omitempty"`
	// UsedPct is the part of the laid cloth that becomes pieces, in per cent.
	UsedPct float64 `json:"used_pct"`
	// BoundMM is a laid length below which no plan can be.
	BoundMM  float64            `json:"bound_mm"`
	Pieces   []Laid             `json:"pieces"`
	Findings []geometry.Finding `json:"findings,omitempty"`
}

// PlanFormat names the version of the plan that is written.
const PlanFormat = "secondcut-lay/1"

// Laid says where one piece lies: mirrored (x to -x) where it says so, then turned
// counter-clockwise about the origin of the piece frame, then moved. Its ID is that of
// the task's piece: copies that may take each other's place have the same.
type Laid struct {
	Piece string `json:"piece"`
	Name  string `json:"name"`
	Placement
	// Layers is how many layers are cut through: 2 gives the piece and its mirror
	// image, or a whole piece at the fold; 1 on folded cloth is cut from the upper
	// layer alone.
	Layers int `json:"layers"`
	// AtFold says that the piece is a half that lies at the fold.
	AtFold bool `json:"at_fold,omitempty"`
	// Fixed says that a person put it there: it stays while the rest is laid.
	Fixed bool `json:"fixed,omitempty"`
}

// Plan returns a layout of the task's instance as a plan in terms of the garment's
// pieces.
func (t Task) Plan(l Layout) Plan {
	laid := make([]Laid, 0, len(l.Placements))
	for _, at := range l.Placements {
		laid = append(laid, t.laid(at))
	}
	return t.planOf(laid, l.LengthMM)
}

// Placed returns the plan of pieces that lie where a person put them, as long as they
// reach; see [Task.Check] for what is wrong with it. Pieces that the task does not have
// are left out.
func (t Task) Placed(pieces []Laid) Plan {
	length := 0.0
	var known []Laid
	for _, l := range pieces {
		q, ok := t.parts[l.ID]
		if !ok {
			continue
		}
		l.Piece, l.Name, l.Layers, l.AtFold = q.id, q.name, q.layers, q.atFold
		known = append(known, l)
		_, hi := q.cut.Map(l.Apply).Bounds()
		length = max(length, hi.X)
	}
	return t.planOf(known, length)
}

func (t Task) planOf(pieces []Laid, length float64) Plan {
	out := Plan{
		Format: PlanFormat, Cloth: t.Cloth, LaidWidthMM: t.Instance.WidthMM, LaidLengthMM: length,
		NeedMM: t.Cloth.NeedMM(length), BuyMM: t.Cloth.BuyMM(length), BoundMM: t.Instance.LowerBoundMM(),
		Pieces: pieces, Findings: t.Findings,
	}
	if length > 0 {
		out.UsedPct = 100 * t.Instance.Utilisation(Layout{LengthMM: length})
	}
	out.Cost = t.Cloth.Cost(out.BuyMM)
	return out
}

// laid returns a placement of the instance in the terms of the garment's piece.
func (t Task) laid(at Placement) Laid {
	q := t.parts[at.ID]
	// Mirroring turns a turn round: M R(a) = R(-a) M.
	turn, mirrored := at.RotationDeg+q.turnDeg, q.mirrored
	if at.Mirrored {
		turn, mirrored = at.RotationDeg-q.turnDeg, !q.mirrored
	}
	return Laid{
		Piece: q.id, Name: q.name, Layers: q.layers, AtFold: q.atFold,
		Placement: Placement{ID: at.ID, X: at.X, Y: at.Y, RotationDeg: turn, Mirrored: mirrored},
	}
}

// placement is the way back from laid.
func (q part) placement(l Laid) Placement {
	at := l.Placement
	if at.Mirrored = l.Mirrored != q.mirrored; at.Mirrored {
		at.RotationDeg += q.turnDeg
	} else {
		at.RotationDeg -= q.turnDeg
	}
	return at
}

// Outline returns the cut line of a piece of the task in its piece frame, as it is laid:
// half or whole. [Laid.Apply] takes it to the cloth.
func (t Task) Outline(id string) (geometry.Polyline, bool) {
	q, ok := t.parts[id]
	return q.cut, ok
}

// Nest lays the pieces as [Nest] does, around those that are fixed; the plan begins
// with these. progress, if it is not nil, gets the first plan and each better one. It
// fails as [Nest] does, and with ErrFixed when the fixed pieces are not all of the task.
func (t Task) Nest(ctx context.Context, opt Options, fixed []Laid, progress func(Plan)) (Plan, error) {
	rest, err := t.around(fixed)
	if err != nil {
		return Plan{}, err
	}
	fixed = slices.Clone(fixed)
	for i := range fixed {
		fixed[i].Fixed = true
	}
	plan := func(l Layout) Plan {
		p := t.Plan(l)
		p.Pieces = append(t.Placed(fixed).Pieces, p.Pieces...)
		return p
	}
	if len(rest.Pieces) == 0 {
		return plan(Layout{LengthMM: rest.MinLengthMM}), nil
	}
	l, err := Nest(ctx, rest, opt, func(l Layout) {
		if progress != nil {
			progress(plan(l))
		}
	})
	if len(l.Placements) == 0 {
		return Plan{}, err
	}
	return plan(l), err
}

// around returns what is left to lay when some pieces are fixed.
func (t Task) around(fixed []Laid) (Instance, error) {
	in := t.Instance
	in.Kept = in.Kept[:len(in.Kept):len(in.Kept)]
	in.Pieces = nil
	for _, p := range t.Instance.Pieces {
		for _, l := range fixed {
			if l.ID != p.ID {
				continue
			}
			q := t.parts[p.ID]
			p.Count--
			if q.placement(l).Mirrored {
				p.Mirrored--
			}
			ring := q.cut.Map(l.Apply)
			_, hi := ring.Bounds()
			in.Kept = append(in.Kept, Obstacle{Outline: turned(ring, Placement{})})
			in.MinLengthMM = max(in.MinLengthMM, hi.X)
		}
		if p.Count < 0 || !p.AnyFace && (p.Mirrored < 0 || p.Mirrored > p.Count) {
			return in, fmt.Errorf("%w: more of %s, or another side of it, than is to be cut", ErrFixed, t.parts[p.ID].name)
		}
		if p.Mirrored = min(max(p.Mirrored, 0), p.Count); p.Count > 0 {
			in.Pieces = append(in.Pieces, p)
		}
	}
	for _, l := range fixed {
		if _, ok := t.parts[l.ID]; !ok {
			return in, fmt.Errorf("%w: there is no piece %q", ErrFixed, l.ID)
		}
	}
	return in, nil
}

// turnOff returns how far a turn is from the nearest of some, in degrees.
func turnOff(deg float64, from []float64) float64 {
	off := math.Inf(1)
	for _, b := range from {
		off = min(off, math.Abs(math.Mod(math.Mod(deg-b, 360)+540, 360)-180))
	}
	return off
}
