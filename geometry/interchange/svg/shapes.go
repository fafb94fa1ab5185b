package svg

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

// rings returns the lines of an element in its own units, and whether it draws any. Lengths
// with another unit than px are turned into px.
func rings(kind string, a map[string]string) (out []interchange.Ring, err error, is bool) {
	num := func(name string) float64 {
		l, ok := parseLength(a[name])
		if !ok {
			return 0
		}
		if u := unitMM[l.unit]; u > 0 {
			return l.n * u / unitMM["px"]
		}
		return l.n
	}
	switch kind {
	case "path":
		out, err = parsePath(a["d"])
		return out, err, true
	case "polygon":
		out, err = parsePoly(a["points"], "Z")
		return out, err, true
	case "polyline":
		out, err = parsePoly(a["points"], "")
		return out, err, true
	case "line":
		return []interchange.Ring{{Open: true, Knots: geometry.Path{
			{At: geometry.Point{X: num("x1"), Y: num("y1")}, Corner: true}, {At: geometry.Point{X: num("x2"), Y: num("y2")}, Corner: true},
		}}}, nil, true
	case "circle":
		return ellipse(num("cx"), num("cy"), num("r"), num("r")), nil, true
	case "ellipse":
		return ellipse(num("cx"), num("cy"), num("rx"), num("ry")), nil, true
	case "rect":
		rx, ry := num("rx"), num("ry")
		if a["rx"] == "" {
			rx = ry
		}
		if a["ry"] == "" {
			ry = rx
		}
		return rect(num("x"), num("y"), num("width"), num("height"), rx, ry), nil, true
	}
	return nil, nil, false
}

func parsePoly(points, end string) ([]interchange.Ring, error) {
	return parsePath("M" + points + end)
}

func ellipse(cx, cy, rx, ry float64) []interchange.Ring {
	if !(rx > 0 && ry > 0) {
		return nil
	}
	return drawn("M%g %gA%g %g 0 0 1 %g %gA%[3]g %[4]g 0 0 1 %[1]g %[2]gZ", cx-rx, cy, rx, ry, cx+rx, cy)
}

// rect returns a rectangle, with round corners where it has radii.
func rect(x, y, w, h, rx, ry float64) []interchange.Ring {
	if !(w > 0 && h > 0) {
		return nil
	}
	rx, ry = math.Min(math.Max(rx, 0), w/2), math.Min(math.Max(ry, 0), h/2)
	if rx == 0 || ry == 0 {
		return drawn("M%g %gh%gv%gh%gZ", x, y, w, h, -w)
	}
	turn := func(toX, toY float64) string { return fmt.Sprintf("A%g %g 0 0 1 %g %g", rx, ry, toX, toY) }
	return drawn("M%g %gH%g%sV%g%sH%g%sV%g%sZ",
		x+rx, y, x+w-rx, turn(x+w, y+ry), y+h-ry, turn(x+w-rx, y+h), x+rx, turn(x, y+h-ry), y+ry, turn(x+rx, y))
}

// drawn returns the rings of path data of our own.
func drawn(format string, v ...any) []interchange.Ring {
	out, err := parsePath(fmt.Sprintf(format, v...))
	if err != nil {
		return nil // numbers out of all bounds
	}
	return out
}
