package main

import (
	"secondcut/geometry"
	"secondcut/vision/internal/synth"
)

// The lamplighter's smock, a costume of a travelling puppet theatre's small
// actor: made up for this project. Pieces are drawn in mm with the grain along
// y, the centre line at x = 0 where there is one.

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// smockFront is the whole front: hem, side seams, armholes, shoulders, and a
// wide neck.
func smockFront() geometry.Path {
	p := synth.NewPen(at(-265, 0))
	p.Curve(at(-120, -16), at(120, -16), at(265, 0))     // hem
	p.Curve(at(256, 150), at(236, 300), at(232, 430))    // side
	p.Curve(at(192, 452), at(176, 520), at(190, 600))    // armhole
	p.Line(at(92, 640))                                  // shoulder
	p.Curve(at(84, 560), at(40, 528), at(0, 528))        // neck
	p.Curve(at(-40, 528), at(-84, 560), at(-92, 640))    // neck
	p.Line(at(-190, 600))                                // shoulder
	p.Curve(at(-176, 520), at(-192, 452), at(-232, 430)) // armhole
	p.Curve(at(-236, 300), at(-256, 150), at(-265, 0))   // side
	return p.Close()
}

// smockBack is like the front with a shallow neck and a straight hem.
func smockBack() geometry.Path {
	p := synth.NewPen(at(-265, 0))
	p.Line(at(265, 0))
	p.Curve(at(256, 150), at(236, 300), at(232, 430))
	p.Curve(at(204, 458), at(190, 530), at(196, 606))
	p.Line(at(94, 652))
	p.Curve(at(70, 630), at(30, 622), at(0, 622))
	p.Curve(at(-30, 622), at(-70, 630), at(-94, 652))
	p.Line(at(-196, 606))
	p.Curve(at(-190, 530), at(-204, 458), at(-232, 430))
	p.Curve(at(-236, 300), at(-256, 150), at(-265, 0))
	return p.Close()
}

// smockSleeve has a cap, two seams, and a cuff edge that an elastic drew in.
func smockSleeve() geometry.Path {
	p := synth.NewPen(at(-130, 0))
	p.Line(at(130, 0))                                // cuff, the casing's edge
	p.Curve(at(150, 120), at(176, 250), at(196, 350)) // seam
	p.Curve(at(120, 362), at(96, 452), at(0, 456))    // cap
	p.Curve(at(-90, 456), at(-128, 372), at(-196, 350))
	p.Curve(at(-176, 250), at(-150, 120), at(-130, 0)) // seam
	return p.Close()
}

// smockPocket is a patch pocket with a pointed bottom.
func smockPocket() geometry.Path {
	p := synth.NewPen(at(-78, 40))
	p.Line(at(0, 0))
	p.Line(at(78, 40))
	p.Line(at(82, 196))
	p.Line(at(-82, 196))
	return p.Close()
}
