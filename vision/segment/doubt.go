package segment

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision/calib"
)

const (
	probeMM     = 9.0 // how far to either side of the edge the witnesses are asked
	apartEnough = 1.2 // separation of the two sides from which there is no doubt: on 125 drawn scenes 1 to 2 % of the edge was off by more than 3 mm above it, 6 to 9 % below 0.9
	alikeWithin = 7.0 // Lab distance of the two sides below which contrast is called low
	notable     = 0.4 // doubt worth a word
)

// The reasons of doubt, in the person's words.
const (
	whyAlike   = "cloth and surface look alike here"
	whyGuess   = "it is not clear which side is cloth here"
	whyColour  = "the colours do not tell cloth from surface here"
	whyOnCloth = "a scale card may lie on the cloth here"
)

// contour resamples a ring and says how doubtful each of its points is.
func (r *refiner) contour(ring geometry.Polyline) Contour {
	c := Contour{Points: resample(ring, spacing)}
	n := len(c.Points)
	c.Doubt, c.Why = make([]float64, n), make([]string, n)
	for i, p := range c.Points {
		out := c.Points[(i+3)%n].Sub(c.Points[(i+n-3)%n]).Unit().Perp().Scale(-probeMM)
		c.Doubt[i], c.Why[i] = r.doubt(p, p.Add(out.Scale(-1)), p.Add(out))
	}
	smooth(c.Doubt, 4)
	r.doubtCards(&c)
	for i, d := range c.Doubt {
		if d < notable {
			c.Why[i] = ""
		}
	}
	return c
}

// doubt returns how little the witnesses agree about an edge at p with cloth at
// in and surface at out, and the main reason.
func (r *refiner) doubt(p, in, out geometry.Point) (float64, string) {
	var all, worst float64
	why := ""
	add := func(d float64, reason string) {
		d = min(max(d, 0), 1)
		all = 1 - (1-all)*(1-d)
		if d > worst {
			worst, why = d, reason
		}
	}
	c, ok := r.cellAt(p)
	a, okIn := r.cellAt(in)
	b, okOut := r.cellAt(out)
	if !ok || !okIn {
		return 1, whyGuess
	}
	add(1-r.separation(c)/apartEnough, whyAlike)
	wrong := func(v float32) float64 { return float64(limit(v, 2)) / 2 }
	add(0.6*wrong(-r.odds.guess[a]), whyGuess)
	add(0.5*wrong(-r.odds.colour[a]), whyColour)
	if okOut {
		add(0.6*wrong(r.odds.guess[b]), whyGuess)
		add(0.5*wrong(r.odds.colour[b]), whyColour)
	}
	return all, why
}

// separation returns the Bhattacharyya distance of the two sides' looks round a
// cell (1943; independent normals): 0 for the same look, 1 when hardly any colour
// could be of either. It counts a difference of scatter as well as of mean.
// Where a side is unknown there is no reason to doubt.
func (r *refiner) separation(c int) float64 {
	in, out := &r.looks[0][c], &r.looks[1][c]
	if in.n == 0 || out.n == 0 {
		return apartEnough
	}
	var d float64
	for k := range 3 {
		e := float64(in.mean[k] - out.mean[k])
		v, w := float64(in.spread[k]), float64(out.spread[k])
		d += e*e/(v+w)/4 + math.Log((v+w)/2/math.Sqrt(v*w))/2
	}
	return d
}

// cellAt returns the cell at a plane point; ok is false where nothing is seen.
func (r *refiner) cellAt(p geometry.Point) (int, bool) {
	x, y := r.pl.Pixel(p)
	u, v := int(math.Round(x)), int(math.Round(y))
	if u < 0 || v < 0 || u >= r.pl.Width || v >= r.pl.Height {
		return 0, false
	}
	c := r.cellOf(v*r.pl.Width + u)
	return c, r.scene.known[c] != calib.KnownNot
}

// smooth averages each value with reach neighbours on either side round the ring.
func smooth(v []float64, reach int) {
	old := slices.Clone(v)
	for i := range v {
		v[i] = 0
		for k := -reach; k <= reach; k++ {
			v[i] += old[((i+k)%len(v)+len(v))%len(v)] / float64(2*reach+1)
		}
	}
}

// findings tells of cards that were not read and of pieces with low contrast.
// Stretches in doubt are left to those who look at the edge itself: they may find
// it sound.
func (r *refiner) findings(regions []Region) []geometry.Finding {
	out := r.strayFindings()
	for k, g := range regions {
		if f, low := r.lowContrast(g.Outer, k); low {
			out = append(out, f)
		}
	}
	return out
}

// lowContrast reports a piece whose colour is close to the surface's along most
// of its outline.
func (r *refiner) lowContrast(c Contour, k int) (geometry.Finding, bool) {
	var d []float64
	for _, p := range c.Points {
		if cell, ok := r.cellAt(p); ok && r.looks[0][cell].n > 0 && r.looks[1][cell].n > 0 {
			d = append(d, math.Sqrt(float64(distance2(r.looks[0][cell].mean, r.looks[1][cell].mean))))
		}
	}
	if len(d) == 0 {
		return geometry.Finding{}, false
	}
	slices.Sort(d)
	median := d[len(d)/2]
	if median >= alikeWithin {
		return geometry.Finding{}, false
	}
	at := c.Points[0]
	return geometry.Finding{
		Code: "low-contrast", Severity: geometry.SeverityWarning,
		Message: fmt.Sprintf("Piece %d and the surface under it are nearly the same colour (difference %.0f, good is 15 and more).", k+1, median),
		Remedy:  "Check the outline closely, or lay the piece on a darker or lighter surface and take the photo again.",
		Where:   &at, Amount: median, Limit: alikeWithin,
	}, true
}
