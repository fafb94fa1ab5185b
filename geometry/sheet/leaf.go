package sheet

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// leaf is a page to be printed: its paper in mm, and what the printer does to
// lengths across and up the page. Everything is laid out in the millimetres that
// come out of the printer; the writer divides by the factors.
type leaf struct {
	width, height float64
	across, up    float64
	margin        float64
}

// leaf returns the page of the options, upright or on its side. Printers feed
// paper in one way and turn a page that lies on its side, so that the factor along
// the feed then acts across the page.
func (o Options) leaf(turned bool) leaf {
	l := leaf{o.Paper.Width, o.Paper.Height, o.PrintScale[0], o.PrintScale[1], o.MarginMM}
	if turned {
		l.width, l.height, l.across, l.up = l.height, l.width, l.up, l.across
	}
	return l
}

// inner returns what is inside the margins, in printed mm from the lower left
// corner of the paper.
func (l leaf) inner() box {
	return box{
		geometry.Point{X: l.margin * l.across, Y: l.margin * l.up},
		geometry.Point{X: (l.width - l.margin) * l.across, Y: (l.height - l.margin) * l.up},
	}
}

// stretch returns what the writer multiplies lengths by.
func (l leaf) stretch() geometry.Vec { return geometry.Vec{X: 1 / l.across, Y: 1 / l.up} }

// corrected says that the print is made for one printer; empty where it is not.
func (l leaf) corrected() string {
	if l.across == 1 && l.up == 1 {
		return ""
	}
	return fmt.Sprintf("Only for the printer that prints %s across and %s up: corrected for it.", percent(l.across), percent(l.up))
}

// percent writes a factor as per cent to a hundredth.
func percent(f float64) string { return fmt.Sprintf("%g\u00a0%%", math.Round(f*1e4)/100) }
