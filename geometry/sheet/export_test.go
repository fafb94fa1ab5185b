package sheet

import "secondcut/geometry"

// Sheet is a tile as the tests outside the package see it: its name, its paper,
// and what is added to a place among the laid pieces to find it on the page.
type Sheet struct {
	Name          string
	Width, Height float64
	Move          geometry.Vec
	Window        [2]geometry.Point // on the page
	Shows         []int             // pieces
}

// Meeting is a join of two sheets: the places of its diamonds on the pages of both.
type Meeting struct {
	A, B     int
	AtA, AtB [2]geometry.Point
	Upright  bool
}

// LayOne returns the pieces in their places on one large page, and the height of
// the page.
func LayOne(title string, pieces []Piece, opt Options) ([]Piece, float64, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, 0, err
	}
	if pieces, err = checked(pieces); err != nil {
		return nil, 0, err
	}
	page, placed, err := layOne(title, pieces, opt)
	if err != nil {
		return nil, 0, err
	}
	inner := page.inner()
	for i, p := range placed {
		placed[i] = p.moved(geometry.Point{X: inner.lo.X, Y: inner.hi.Y}.Sub(geometry.Point{}))
	}
	return placed, page.height, nil
}

// Lay returns the pieces in their places, the tiles, and where they meet.
func Lay(title string, pieces []Piece, opt Options) (placed []Piece, sheets []Sheet, meetings []Meeting, err error) {
	if opt, err = opt.withDefaults(); err != nil {
		return
	}
	if pieces, err = checked(pieces); err != nil {
		return
	}
	l, err := layTiles(title, pieces, opt)
	if err != nil {
		return
	}
	for _, p := range l.laid {
		placed = append(placed, p.Piece)
	}
	inner := l.leaf.inner()
	number := map[string]int{}
	for i, t := range l.tiles {
		number[t.name()] = i
		sheets = append(sheets, Sheet{t.name(), l.leaf.width, l.leaf.height, inner.lo.Sub(l.window(t).lo), [2]geometry.Point{inner.lo, inner.hi}, l.shown(t)})
	}
	for a, t := range l.tiles {
		for _, j := range l.joins(t) {
			if b := number[j.other]; b > a {
				m := Meeting{A: a, B: b, Upright: j.within.X != 0}
				for k, at := range j.diamonds() {
					m.AtA[k], m.AtB[k] = at.Add(sheets[a].Move), at.Add(sheets[b].Move)
				}
				meetings = append(meetings, m)
			}
		}
	}
	return
}
