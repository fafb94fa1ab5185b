package synth

import "secondcut/geometry"

// Pen draws a closed path stroke by stroke, mm. Every knot it sets is a corner
// unless the strokes meet smoothly by their handles.
type Pen struct{ path geometry.Path }

// NewPen starts a path at a point.
func NewPen(at geometry.Point) *Pen { return &Pen{geometry.Path{{At: at, Corner: true}}} }

// Line draws a straight line to a point.
func (p *Pen) Line(to geometry.Point) {
	p.path = append(p.path, geometry.Knot{At: to, Corner: true})
}

// Curve draws a cubic Bezier with handles a and b to a point.
func (p *Pen) Curve(a, b, to geometry.Point) {
	p.path[len(p.path)-1].Out = &a
	p.path = append(p.path, geometry.Knot{At: to, In: &b, Corner: true})
}

// Close returns the path. A last stroke that ended at the start is joined to it;
// else a straight line closes the path. Knots that turn by less than 20 degrees
// are marked smooth.
func (p *Pen) Close() geometry.Path {
	path := p.path
	if last := path[len(path)-1]; len(path) > 1 && last.At == path[0].At {
		path[0].In = last.In
		path = path[:len(path)-1]
	}
	corners := sharp(path)
	for i := range path {
		path[i].Corner = false
		for _, c := range corners {
			path[i].Corner = path[i].Corner || c == path[i].At
		}
	}
	return path
}
