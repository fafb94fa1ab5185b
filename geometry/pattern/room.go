package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// Box is a rectangle of text: its centre, its size in mm, and the direction in
// which the text runs, in degrees counter-clockwise from +x.
type Box struct {
	Centre  geometry.Point `json:"centre_mm"`
	Width   float64        `json:"width_mm"`
	Height  float64        `json:"height_mm"`
	TurnDeg float64        `json:"turn_deg"`
}

// findRoom finds the place for the label.
func (d *Drafted) findRoom() {
	rings := []geometry.Polyline{d.StitchLine.Flatten(1)}
	for _, h := range d.Holes {
		rings = append(rings, h.Flatten(1))
	}
	longest := 1
	for _, l := range d.Label {
		longest = max(longest, len([]rune(l)))
	}
	// A letter is about half as wide as its em, a line 1.35 em high.
	aspect := 0.5 * float64(longest) / (1.35 * float64(len(d.Label)))
	turn := 90.0
	if d.GrainDeg != nil {
		turn = *d.GrainDeg
	}
	if b, ok := LargestBox(rings, aspect, turn); ok {
		b.Width, b.Height = rounded(b.Width), rounded(b.Height)
		d.Room = &b
		const least = 2.5 // capitals of 1.8 mm, the smallest height of ISO 3098 (from memory)
		if em := b.Height / (1.35 * float64(len(d.Label))); em < least {
			d.Findings = append(d.Findings, geometry.Finding{
				Code: CodeNoRoom, Severity: geometry.SeverityInfo, Where: &b.Centre, Amount: em, Limit: least,
				Message: fmt.Sprintf("%s is too small for its label: the letters would be %.1f mm high.", d.Name, em),
				Remedy:  "Shorten the notes, or read them from the list of pieces.",
			})
		}
	}
}

// LargestBox returns the largest rectangle whose width is aspect times its height,
// turned by turnDeg, that lies inside the first ring and outside the others. It
// searches a grid of centres and then closer round the best one: right to some per
// cent. It returns false where there is no room.
//
// With the rectangle's axes upright and x divided by the aspect it becomes a
// square, and the room round a centre is its distance from the rings in the
// greater of the two coordinates.
func LargestBox(rings []geometry.Polyline, aspect, turnDeg float64) (Box, bool) {
	if len(rings) == 0 || !(aspect > 0) {
		return Box{}, false
	}
	turn := geometry.Rigid{Turn: -turnDeg * math.Pi / 180}
	flat := make([]geometry.Polyline, len(rings))
	for i, r := range rings {
		for _, q := range r {
			q = turn.Apply(q)
			flat[i] = append(flat[i], geometry.Point{X: q.X / aspect, Y: q.Y})
		}
	}
	lo, hi := flat[0].Bounds()
	const steps = 20
	best, room := geometry.Point{}, 0.0
	step := geometry.Vec{X: (hi.X - lo.X) / steps, Y: (hi.Y - lo.Y) / steps}
	try := func(q geometry.Point) {
		if r := squareRoom(flat, q, room); r > room {
			best, room = q, r
		}
	}
	for i := range steps {
		for j := range steps {
			try(lo.Add(geometry.Vec{X: step.X * (float64(i) + 0.5), Y: step.Y * (float64(j) + 0.5)}))
		}
	}
	for range 12 {
		centre := best
		for _, d := range [8][2]float64{{-1, 0}, {1, 0}, {0, -1}, {0, 1}, {-1, -1}, {1, 1}, {-1, 1}, {1, -1}} {
			try(centre.Add(geometry.Vec{X: d[0] * step.X, Y: d[1] * step.Y}))
		}
		step = step.Scale(0.6)
	}
	if room <= 0 {
		return Box{}, false
	}
	centre := turn.Inverse().Apply(geometry.Point{X: best.X * aspect, Y: best.Y})
	return Box{Centre: centre, Width: 2 * room * aspect, Height: 2 * room, TurnDeg: turnDeg}, true
}

// squareRoom returns half the side of the largest upright square about q that no
// ring touches, or 0 where q lies outside or the result would not pass least.
func squareRoom(rings []geometry.Polyline, q geometry.Point, least float64) float64 {
	room := math.Inf(1)
	for i, r := range rings {
		for j, a := range r {
			b := r[(j+1)%len(r)]
			// A stretch that is far from its nearer end cannot come near.
			if far := max(math.Abs(a.X-q.X), math.Abs(a.Y-q.Y)); far-max(math.Abs(b.X-a.X), math.Abs(b.Y-a.Y)) >= room {
				continue
			}
			room = math.Min(room, squareDist(q, a, b))
			if room <= least {
				return 0
			}
		}
		if r.Contains(q) != (i == 0) {
			return 0
		}
	}
	return room
}

// squareDist returns the least max(|x|, |y|) from q to the stretch from a to b. The
// function is convex along it, and its least value lies at an end or where its
// pieces meet: where x or y is 0, or |x| = |y|.
func squareDist(q, a, b geometry.Point) float64 {
	u, d := a.Sub(q), b.Sub(a)
	at := func(t float64) float64 {
		t = math.Min(math.Max(t, 0), 1)
		return math.Max(math.Abs(u.X+t*d.X), math.Abs(u.Y+t*d.Y))
	}
	best := math.Min(at(0), at(1))
	for _, f := range [4][2]float64{{u.X, d.X}, {u.Y, d.Y}, {u.X - u.Y, d.X - d.Y}, {u.X + u.Y, d.X + d.Y}} {
		if f[1] != 0 {
			best = math.Min(best, at(-f[0]/f[1]))
		}
	}
	return best
}
