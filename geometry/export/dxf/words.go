package dxf

import (
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

// inWords reads a drawing whose layers have names. Where one says what is cut, a layer that
// means nothing here is left out: it may be a frame or a table.
func (b *reader) inWords(all []entity) interchange.Pattern {
	d := interchange.Drawing{Skipped: map[string]int{}}
	named := slices.ContainsFunc(all, func(e entity) bool { return interchange.RoleOf(e.layer()) == interchange.RoleCut })
	for _, e := range all {
		role := interchange.RoleOf(e.layer())
		p, ok := e.point(10)
		switch points, ring := b.run(e); {
		case role == interchange.RoleNone:
		case role == interchange.RoleUnknown && named && e.kind != "TEXT":
			d.Skipped[e.kind]++
		case len(points) > 1:
			knots := regrow(points, marked{})
			d.Strokes = append(d.Strokes, interchange.Stroke{Role: role, Rings: []interchange.Ring{{Knots: knots, Open: !ring}}})
		case e.kind == "LINE" && ok:
			if q, both := e.point(11); both {
				d.Strokes = append(d.Strokes, interchange.Stroke{Role: role, Rings: []interchange.Ring{{
					Knots: geometry.Path{{At: b.at(p), Corner: true}, {At: b.at(q), Corner: true}}, Open: true,
				}}})
			}
		case e.kind == "TEXT" && ok:
			size, _ := e.num(40)
			d.Words = append(d.Words, interchange.Word{At: b.at(p), SizeMM: size * b.scale, Text: e.text[1]})
		default:
			d.Skipped[e.kind]++
		}
	}
	return interchange.Assemble(d)
}
