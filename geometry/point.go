package geometry

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
)

// Point is a position in a plane, in millimetres, x right and y up. It is
// written in JSON as [x, y].
type Point struct{ X, Y float64 }

// Vec is a displacement in millimetres.
type Vec struct{ X, Y float64 }

// ErrNotFinite says that a coordinate read from outside is NaN or infinite.
var ErrNotFinite = errors.New("a coordinate is not a finite number")

// Add returns p moved by v.
func (p Point) Add(v Vec) Point { return Point{p.X + v.X, p.Y + v.Y} }

// Sub returns the displacement from q to p.
func (p Point) Sub(q Point) Vec { return Vec{p.X - q.X, p.Y - q.Y} }

// Dist returns the distance from p to q in millimetres.
func (p Point) Dist(q Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// Lerp returns the point at fraction t of the way from p to q.
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + (q.X-p.X)*t, p.Y + (q.Y-p.Y)*t}
}

// IsFinite reports whether both coordinates are finite numbers.
func (p Point) IsFinite() bool {
	return !math.IsNaN(p.X+p.Y) && !math.IsInf(p.X, 0) && !math.IsInf(p.Y, 0)
}

// MarshalJSON writes the point as [x, y], rounded to a ten-thousandth of a
// millimetre so that files stay small and equal inputs give equal bytes.
func (p Point) MarshalJSON() ([]byte, error) {
	if !p.IsFinite() {
		return nil, ErrNotFinite
	}
	return json.Marshal([2]float64{round4(p.X), round4(p.Y)})
}

// UnmarshalJSON reads [x, y]. It fails when there are not exactly two numbers
// or one of them is not finite.
func (p *Point) UnmarshalJSON(b []byte) error {
	var xy []float64
	if err := json.Unmarshal(b, &xy); err != nil {
		return err
	}
	if len(xy) != 2 {
		return fmt.Errorf("a point is written [x, y], but %d numbers were given", len(xy))
	}
	q := Point{xy[0], xy[1]}
	if !q.IsFinite() {
		return ErrNotFinite
	}
	*p = q
	return nil
}

// round4 rounds to 1e-4; adding 0 turns a negative zero into zero.
func round4(x float64) float64 { return math.Round(x*1e4)/1e4 + 0 }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y} }

// Scale returns v times s.
func (v Vec) Scale(s float64) Vec { return Vec{v.X * s, v.Y * s} }

// Dot returns the scalar product, in square millimetres.
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y }

// Cross returns the z part of the vector product, in square millimetres;
// positive when w lies counter-clockwise of v.
func (v Vec) Cross(w Vec) float64 { return v.X*w.Y - v.Y*w.X }

// Len returns the length in millimetres.
func (v Vec) Len() float64 { return math.Hypot(v.X, v.Y) }

// Unit returns v scaled to length 1, or the zero vector when v has no length.
func (v Vec) Unit() Vec {
	l := v.Len()
	if l == 0 {
		return Vec{}
	}
	return Vec{v.X / l, v.Y / l}
}

// Perp returns v turned a quarter counter-clockwise.
func (v Vec) Perp() Vec { return Vec{-v.Y, v.X} }

// Rigid is a turn followed by a move: q = R(Turn) p + Move. Turn is in radians,
// counter-clockwise.
type Rigid struct {
	Turn float64 `json:"turn"`
	Move Point   `json:"move"`
}

// Apply returns the image of p.
func (r Rigid) Apply(p Point) Point {
	s, c := math.Sincos(r.Turn)
	return Point{c*p.X - s*p.Y + r.Move.X, s*p.X + c*p.Y + r.Move.Y}
}

// Inverse returns the map that undoes r.
func (r Rigid) Inverse() Rigid {
	s, c := math.Sincos(-r.Turn)
	return Rigid{-r.Turn, Point{-(c*r.Move.X - s*r.Move.Y), -(s*r.Move.X + c*r.Move.Y)}}
}

// Then returns the map that applies r and after it next.
func (r Rigid) Then(next Rigid) Rigid {
	return Rigid{r.Turn + next.Turn, next.Apply(r.Move)}
}
