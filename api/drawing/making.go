package drawing

import (
	"bytes"

	"secondcut/geometry/export"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// Making draws the making sheet of a garment as PDF on paper of that name; as a whole set
// all its pieces at true size follow. What cannot be drawn is CodeInvalid.
func Making(title string, g pattern.Garment, m sheet.Making, unit measure.Unit, paper string, set bool) ([]byte, error) {
	on, err := sheet.PaperNamed(paper)
	if err != nil {
		return nil, unprintable(err)
	}
	opt := sheet.Options{Paper: on}
	d, err := sheet.DrawMaking(g, m, unit, opt)
	if err != nil {
		return nil, unprintable(err)
	}
	if set {
		r, err := Review(g, pattern.Options{Unit: unit})
		if err != nil {
			return nil, unprintable(err)
		}
		pieces, err := sheet.Draw(g.Name, printed(g, r), opt)
		if err != nil {
			return nil, unprintable(err)
		}
		d.Pages = append(d.Pages, pieces.Pages...)
	}
	d.Title = title
	var b bytes.Buffer
	err = export.WritePDF(&b, d)
	return b.Bytes(), err
}
