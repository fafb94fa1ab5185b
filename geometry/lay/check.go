package lay

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// Trouble is something that is wrong with where pieces lie. Where, if it is there, is in
// the cloth frame.
type Trouble struct {
	geometry.Finding
	// Copies are the indices of the pieces that it is about, in the order they were given;
	// none where one is missing.
	Copies []int `json:"copies"`
}

// Codes of troubles.
const (
	// CodeOverlap: two pieces lie in each other; Amount is how deep, in mm.
	CodeOverlap = "lay-overlap"
	// CodeGap: they are nearer to each other than the gap.
	CodeGap = "lay-gap"
	// CodeOffCloth: a piece reaches off the cloth, or off a remnant; Amount in mm.
	CodeOffCloth = "lay-off-cloth"
	// CodeFlaw: a piece lies on a flaw.
	CodeFlaw = "lay-flaw"
	// CodeOffGrain: a piece is turned off the grain; Amount in degrees.
	CodeOffGrain = "lay-off-grain"
	// CodeUpsideDown: a piece lies the other way up on cloth with a nap.
	CodeUpsideDown = "lay-upside-down"
	// CodeOffFold: a half does not lie at the fold; Amount in mm.
	CodeOffFold = "lay-off-fold"
	// CodeWrongFace: too many copies lie on one side: two lefts.
	CodeWrongFace = "lay-wrong-face"
	// CodeMissing and CodeExtra: fewer or more copies than are to be cut.
	CodeMissing = "lay-missing"
	CodeExtra   = "lay-extra"
	// CodeOffStripe: a piece is off the stripe that it must lie on; Amount in mm.
	CodeOffStripe = "lay-off-stripe"
)

// touchMM is what pieces may lie in each other before it is said: less than a pencil
// line. Turns may be off by touchDeg more than is allowed.
const (
	touchMM  = 0.05
	touchDeg = 0.01
)

// Check says what is wrong with where a person put the pieces: nothing where the plan
// can be cut. It looks at collisions, the edges of the cloth, flaws, grain and nap, the
// fold, stripes, faces and counts.
func (t Task) Check(pieces []Laid) []Trouble {
	c := checked{task: t}
	for i, l := range pieces {
		c.add(i, l)
	}
	for k, a := range c.laid {
		c.onCloth(a)
		c.onGrain(a)
		for _, b := range c.laid[:k] {
			c.apart(b, a)
		}
	}
	c.counts()
	return c.out
}

// standingPiece is a piece where a person put it.
type standingPiece struct {
	index  int
	part   part
	piece  Piece
	at     Placement // in the terms of the instance
	ring   geometry.Polyline
	lo, hi geometry.Point
}

type checked struct {
	task Task
	laid []standingPiece
	out  []Trouble
}

func (c *checked) add(i int, l Laid) {
	q, ok := c.task.parts[l.ID]
	if !ok {
		c.say(CodeExtra, nil, 0, nil, fmt.Sprintf("There is no piece %q to lay.", l.ID), "Take it away.", i)
		return
	}
	k := slices.IndexFunc(c.task.Instance.Pieces, func(p Piece) bool { return p.ID == l.ID })
	s := standingPiece{index: i, part: q, piece: c.task.Instance.Pieces[k], at: q.placement(l), ring: turned(q.cut.Map(l.Apply), Placement{})}
	s.lo, s.hi = s.ring.Bounds()
	c.laid = append(c.laid, s)
}

func (c *checked) say(code string, p *standingPiece, amount float64, where *geometry.Point, message, remedy string, copies ...int) {
	f := geometry.Finding{Code: code, Severity: geometry.SeverityError, Message: message, Remedy: remedy, Amount: amount, Where: where}
	if p != nil {
		f.Piece = p.part.id
		copies = append([]int{p.index}, copies...)
	}
	c.out = append(c.out, Trouble{Finding: f, Copies: copies})
}

// onCloth holds a piece to the cloth and off its flaws.
func (c *checked) onCloth(p standingPiece) {
	in := c.task.Instance
	over := max(-p.lo.X, -p.lo.Y, p.hi.Y-in.WidthMM)
	if in.MaxLengthMM > 0 {
		over = max(over, p.hi.X-in.MaxLengthMM)
	}
	for _, o := range in.Kept {
		d, where := depthOf(p.ring, turned(o.Outline, Placement{}))
		switch {
		case d <= touchMM:
		case o.Edge:
			over = max(over, d)
		default:
			c.say(CodeFlaw, &p, d, &where, p.part.name+" lies on a flaw of the cloth.", "Move it off the flaw.")
		}
	}
	if over > touchMM {
		c.say(CodeOffCloth, &p, over, nil, fmt.Sprintf("%s reaches %.1f mm off the cloth.", p.part.name, over), "Move it onto the cloth.")
	}
	if off := math.Abs(p.lo.Y); p.part.atFold && off > touchMM {
		c.say(CodeOffFold, &p, off, nil, fmt.Sprintf("%s is a half and must lie at the fold, %.1f mm away.", p.part.name, off), "Move its fold edge onto the fold.")
	}
}

// onGrain holds a piece to its turns and stripes.
func (c *checked) onGrain(p standingPiece) {
	turn := p.at.RotationDeg
	if p.piece.AtFold && p.at.Mirrored {
		turn -= 180
	}
	tol := c.task.Cloth.GrainTolDeg
	if p.part.atFold {
		tol = 0 // its edge lies on the fold
	}
	off := turnOff(turn, p.part.bases)
	switch {
	case off <= tol+touchDeg:
	case turnOff(turn+180, p.part.bases) <= tol+touchDeg:
		c.say(CodeUpsideDown, &p, 180, nil, p.part.name+" lies the other way up than the rest.", "Turn it round: the nap, or the print, must run the same way on all pieces.")
	default:
		c.say(CodeOffGrain, &p, off, nil, fmt.Sprintf("%s is turned %.1f degrees off the grain; %g are allowed.", p.part.name, off, tol), "Turn it back, or allow more on this cloth.")
	}
	if off := c.offStripe(p); off > 1 { // as exact as chalk
		c.say(CodeOffStripe, &p, off, nil, fmt.Sprintf("%s lies %.0f mm off the stripe that it must match on.", p.part.name, off), "Move it onto the stripe.")
	}
}

// offStripe returns how far the anchor of a piece is from the stripe that it must lie
// on, in mm.
func (c *checked) offStripe(p standingPiece) float64 {
	if p.piece.Anchor == nil {
		return 0
	}
	print, at := c.task.Instance.Print, p.at.Apply(*p.piece.Anchor)
	off := 0.0
	if print.RepeatX > 0 && !p.piece.FreeX {
		off = max(off, math.Abs(at.X-onGrid(at.X, print.AtX, print.RepeatX, math.Round)))
	}
	if print.RepeatY > 0 && !p.piece.FreeY {
		off = max(off, math.Abs(at.Y-onGrid(at.Y, print.AtY, print.RepeatY, math.Round)))
	}
	return off
}

// apart holds two pieces off each other.
func (c *checked) apart(a, b standingPiece) {
	gap := c.task.Instance.GapMM
	if a.hi.X+gap < b.lo.X || b.hi.X+gap < a.lo.X || a.hi.Y+gap < b.lo.Y || b.hi.Y+gap < a.lo.Y {
		return
	}
	if d, where := depthOf(a.ring, b.ring); d > touchMM {
		c.say(CodeOverlap, &b, d, &where, fmt.Sprintf("%s and %s lie in each other by %.1f mm.", a.part.name, b.part.name, d), "Move one of them.", a.index)
		return
	}
	if gap == 0 {
		return
	}
	least := math.Inf(1)
	for _, q := range a.ring { // a least distance is always that of a corner
		least = min(least, b.ring.Dist(q))
	}
	for _, q := range b.ring {
		least = min(least, a.ring.Dist(q))
	}
	if least < gap-touchMM {
		c.say(CodeGap, &b, least, nil, fmt.Sprintf("%s and %s are %.1f mm apart; the gap is %g mm.", a.part.name, b.part.name, least, gap), "Move one of them, or allow a smaller gap.", a.index)
	}
}

// counts holds the pieces to how often each is cut, and on which side.
func (c *checked) counts() {
	for _, p := range c.task.Instance.Pieces {
		name := c.task.parts[p.ID].name
		var all, mirrored []int
		for _, s := range c.laid {
			if s.piece.ID != p.ID {
				continue
			}
			all = append(all, s.index)
			if s.at.Mirrored {
				mirrored = append(mirrored, s.index)
			}
		}
		switch n := len(all); {
		case n < p.Count:
			c.say(CodeMissing, nil, float64(p.Count-n), nil, fmt.Sprintf("%s lies there %s and must %s.", name, times(n), times(p.Count)), "Lay the rest.")
		case n > p.Count:
			c.say(CodeExtra, nil, float64(n-p.Count), nil, fmt.Sprintf("%s lies there %s and must only %s.", name, times(n), times(p.Count)), "Take one away.", all...)
		case !p.AnyFace && len(mirrored) != p.Mirrored:
			c.say(CodeWrongFace, nil, 0, nil,
				fmt.Sprintf("%s: %d of %d lie turned over and %d must, or two left sides come out.", name, len(mirrored), n, p.Mirrored), "Turn one of them over.", all...)
		}
	}
}

// depthOf returns how deep two counter-clockwise rings lie in each other, looked at
// every millimetre along both, and where it is deepest.
func depthOf(a, b geometry.Polyline) (depth float64, where geometry.Point) {
	for _, two := range [2][2]geometry.Polyline{{a, b}, {b, a}} {
		lo, hi := two[1].Bounds()
		if q := middle(two[0]); two[1].Contains(q) { // one may lie exactly on the other
			depth, where = max(depth, two[1].Dist(q)), q
		}
		for i, p := range two[0] {
			v := after(two[0], i).Sub(p)
			const every = 1.0
			n := int(v.Len()/every) + 1
			for k := range n {
				q := p.Add(v.Scale(float64(k) / float64(n)))
				if q.X <= lo.X || q.X >= hi.X || q.Y <= lo.Y || q.Y >= hi.Y || !two[1].Contains(q) {
					continue
				}
				if d := two[1].Dist(q); d > depth {
					depth, where = d, q
				}
			}
		}
	}
	return depth, where
}

// middle returns a point well inside a ring: the middle of its longest stretch half way
// up.
func middle(ring geometry.Polyline) geometry.Point {
	lo, hi := ring.Bounds()
	y := lo.Y + 0.4977*(hi.Y-lo.Y) // seldom the height of a corner
	var x []float64
	for i, a := range ring {
		if b := after(ring, i); (a.Y > y) != (b.Y > y) {
			x = append(x, a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
		}
	}
	slices.Sort(x)
	best, at := 0.0, lo
	for i := 0; i+1 < len(x); i += 2 {
		if x[i+1]-x[i] > best {
			best, at = x[i+1]-x[i], geometry.Point{X: (x[i] + x[i+1]) / 2, Y: y}
		}
	}
	return at
}
