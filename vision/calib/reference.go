package calib

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// Reference is a thing of known size on the plane that the person pointed out in
// the photo. It is rough: clicks are good to a few pixels, and paper is cut to a
// millimetre or two.
type Reference struct {
	// Kind is "bank-card", "a4" or "letter".
	Kind string
	// Points are pixels of the upright photo, going round the thing in either
	// direction from anywhere. Four are its corners; a bank card's are round, so
	// that they are where its straight edges would meet. Eight, two on each
	// straight edge, are better there: the corners are where the lines through
	// them meet.
	Points []vision.Pixel
}

// shape is the size of a kind of reference.
type shape struct {
	kind, name    string
	width, height float64 // mm
	// tolerance is by how much each may be off, mm; between those limits nothing
	// is likelier than anything else.
	tolerance [2]float64
	thickness float64 // mm
}

// shapes are the kinds of reference. Sizes: ISO/IEC 7810 ID-1 (its limits 85.47
// to 85.72 and 53.92 to 54.03 mm, from memory); ISO 216, which allows 2 mm
// between 150 and 600 mm; Letter is 8.5 x 11 in, and the same is allowed it.
var shapes = [...]shape{
	{"bank-card", "bank card", 85.60, 53.98, [2]float64{0.125, 0.055}, 0.76},
	{"a4", "sheet of A4", 297, 210, [2]float64{2, 2}, 0.1},
	{"letter", "sheet of Letter", 279.4, 215.9, [2]float64{2, 2}, 0.1},
}

// clickShare is the standard uncertainty of a click, per pixel of the photo's
// longer side: about one pixel of a screen that shows it 2000 px wide. It is at
// least minClickPx.
const (
	clickShare = 0.0005
	minClickPx = 1.0
	minSidePx  = 30.0 // sides shorter than this say nothing
)

// sigma returns the standard uncertainties of the logarithms of width and
// height: a rectangle's half width over the root of three (Guide to the
// Expression of Uncertainty in Measurement, 4.3.7).
func (s *shape) sigma() [2]float64 {
	return [2]float64{s.tolerance[0] / s.width / math.Sqrt(3), s.tolerance[1] / s.height / math.Sqrt(3)}
}

// ParseReference reads "KIND:x,y,x,y,...", as a person types it. The error says
// what is wrong with it; whether the points lie in a photo only [Solve] can tell.
func ParseReference(s string) (r Reference, err error) {
	kind, rest, ok := strings.Cut(s, ":")
	r.Kind = strings.TrimSpace(kind)
	if !ok {
		return r, fmt.Errorf("%q: write the kind, a colon and the points, such as a4:410,300,2950,340,2900,2110,380,2080", s)
	}
	if _, err := r.shape(); err != nil {
		return r, err
	}
	parts := strings.Split(rest, ",")
	if len(parts)%2 != 0 {
		return r, fmt.Errorf("%d numbers are no points: each point has two, across and down", len(parts))
	}
	for i := 0; i+1 < len(parts); i += 2 {
		x, errX := strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
		y, errY := strconv.ParseFloat(strings.TrimSpace(parts[i+1]), 64)
		if errX != nil || errY != nil || math.IsNaN(x+y) || math.IsInf(x+y, 0) {
			return r, fmt.Errorf("%q is no point: give pixels, across and down", parts[i]+","+parts[i+1])
		}
		r.Points = append(r.Points, vision.Pixel{X: x, Y: y})
	}
	return r, r.checkCount()
}

// Check says what is wrong with the reference in an upright photo of this size in
// pixels; nil when it can be used.
func (r Reference) Check(width, height int) error {
	_, err := r.target(&vision.Photo{Width: width, Height: height})
	return err
}

func (r Reference) shape() (*shape, error) {
	for i := range shapes {
		if shapes[i].kind == r.Kind {
			return &shapes[i], nil
		}
	}
	return nil, fmt.Errorf("a %q is not known: choose bank-card, a4 or letter", r.Kind)
}

func (r Reference) checkCount() error {
	switch n := len(r.Points); {
	case n == 4, n == 8 && r.Kind == "bank-card":
		return nil
	case r.Kind == "bank-card":
		return fmt.Errorf("a bank card needs eight points, two on each straight edge going round, or the four points where its edges would meet; %d were given", n)
	default:
		return fmt.Errorf("a sheet of paper needs its four corners, going round; %d points were given", n)
	}
}

// target returns the reference as a target, or says what is wrong with it.
func (r Reference) target(p *vision.Photo) (t target, err error) {
	s, err := r.shape()
	if err != nil {
		return t, err
	}
	if err := r.checkCount(); err != nil {
		return t, err
	}
	for _, q := range r.Points {
		if !(q.X >= 0 && q.Y >= 0 && q.X <= float64(p.Width-1) && q.Y <= float64(p.Height-1)) {
			return t, fmt.Errorf("the point %.0f,%.0f of the %s lies outside the photo of %d x %d pixels", q.X, q.Y, s.name, p.Width, p.Height)
		}
	}
	click := max(minClickPx, clickShare*float64(max(p.Width, p.Height)))
	corners, ok := r.corners(click)
	if ok {
		ok = clockwise(corners)
	}
	if !ok {
		return t, fmt.Errorf("the points of the %s do not go round it: give them in order, one corner or edge after the next", s.name)
	}
	t = target{reference: s, height: s.thickness}
	outline := s.outline()
	for i := range corners {
		if math.Hypot(corners[i].px.X-corners[(i+1)%4].px.X, corners[i].px.Y-corners[(i+1)%4].px.Y) < minSidePx {
			return t, fmt.Errorf("the %s is too small in the photo to give a scale: go closer", s.name)
		}
		corners[i].at = outline[i]
	}
	t.points = longSideFirst(p, corners)
	return t, nil
}

// outline returns the corners in the reference's frame: top left, top right,
// bottom right, bottom left.
func (s *shape) outline() [4]geometry.Point {
	x, y := s.width/2, s.height/2
	return [4]geometry.Point{{X: -x, Y: y}, {X: x, Y: y}, {X: x, Y: -y}, {X: -x, Y: -y}}
}

// corners returns the four corners that the points mean.
func (r Reference) corners(click float64) (out []known, ok bool) {
	if len(r.Points) == 4 {
		for _, q := range r.Points {
			out = append(out, known{px: q, sigma: click})
		}
		return out, true
	}
	for i := range 4 {
		at := func(k int) vision.Pixel { return r.Points[(2*i+k)%8] }
		k, ok := meet(at(0), at(1), at(2), at(3), click)
		if !ok {
			return nil, false
		}
		out = append(out, k)
	}
	return out, true
}

// meet returns where the lines through a, b and through c, d meet, and how sure
// that is when each point is unsure by click: a line that is carried on beyond
// its points strays the more.
func meet(a, b, c, d vision.Pixel, click float64) (k known, ok bool) {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, d.X-c.X, d.Y-c.Y
	u, v := math.Hypot(ux, uy), math.Hypot(vx, vy)
	sin := (ux*vy - uy*vx) / (u * v)
	if !(math.Abs(sin) > 0.1) { // also when two points are one
		return k, false
	}
	t := ((c.X-a.X)*vy - (c.Y-a.Y)*vx) / (ux*vy - uy*vx)
	s := ((c.X-a.X)*uy - (c.Y-a.Y)*ux) / (ux*vy - uy*vx)
	stray := (1-t)*(1-t) + t*t + (1-s)*(1-s) + s*s
	k.px = vision.Pixel{X: a.X + t*ux, Y: a.Y + t*uy}
	k.sigma = click * math.Sqrt(stray/2) / math.Abs(sin)
	return k, true
}

// clockwise turns corners so that they run clockwise as seen, and reports whether
// they go round a convex figure.
func clockwise(c []known) bool {
	turns := 0
	for i := range c {
		a, b, d := c[i].px, c[(i+1)%4].px, c[(i+2)%4].px
		switch z := (b.X-a.X)*(d.Y-b.Y) - (b.Y-a.Y)*(d.X-b.X); {
		case z > 0:
			turns++
		case z < 0:
			turns--
		}
	}
	if turns < 0 {
		slices.Reverse(c)
	}
	return turns == 4 || turns == -4
}

// longSideFirst starts the corners at the end of a long side, whichever way makes
// the thing look less stretched from a camera of the photo's focal length.
func longSideFirst(p *vision.Photo, c []known) []known {
	at := [4]geometry.Point{c[0].at, c[1].at, c[2].at, c[3].at}
	f := focalOr(p, usualMM)
	var best []known
	least := math.Inf(1)
	for shift := range 2 {
		var to []vision.Pixel
		turned := make([]known, 4)
		for i := range turned {
			turned[i] = c[(i+shift)%4]
			turned[i].at = at[i]
			to = append(to, vision.Pixel{X: (turned[i].px.X - float64(p.Width)/2) / f * 100, Y: (turned[i].px.Y - float64(p.Height)/2) / f * 100})
		}
		if h, ok := card.FitHomography(at[:], to); ok {
			x, y := [3]float64{h[0], h[3], 100 * h[6]}, [3]float64{h[1], h[4], 100 * h[7]}
			if off := math.Abs(math.Log(dot(x, x) / dot(y, y))); off < least {
				best, least = turned, off
			}
		}
	}
	if best == nil {
		return c
	}
	return best
}

// focalOr returns the file's focal length in pixels, or that of usual mm for a
// diagonal of 43.27 mm when the file says nothing sensible.
func focalOr(p *vision.Photo, usual float64) float64 {
	if p.FocalPx > 0 && !math.IsInf(p.FocalPx, 0) {
		return p.FocalPx
	}
	return usual / 43.27 * math.Hypot(float64(p.Width), float64(p.Height))
}

// strain returns how badly a reference in use fits, as a sum of squares in
// sigmas of its points and its size.
func (st start) strain(d int) (sum float64) {
	pr := st.problem
	v := pr.pack(st.state)
	cam, at := pr.camera(v), pr.points(v)
	for i := range pr.obs {
		if o := &pr.obs[i]; o.target == d {
			r, _ := o.residual(&cam, at[i], v[parInset])
			sum += r[0]*r[0] + r[1]*r[1]
		}
	}
	for k, s := range pr.targets[d].reference.sigma() {
		sum += st.state.sizes[d][k] * st.state.sizes[d][k] / (s * s)
	}
	return sum
}

// maxStrain is what strain hardly ever exceeds by chance: of ten squares five
// are free, and one in a hundred thousand such sums is larger.
const maxStrain = 31.0

// dropReferences leaves out references that contradict the scale cards, and
// returns all that contradict anything.
func (st start) dropReferences() (start, []int) {
	var off []int
	for _, d := range st.problem.references() {
		if len(st.problem.use) < 2 || st.strain(d) <= maxStrain {
			continue
		}
		off = append(off, d)
		if len(st.problem.cards()) > 0 {
			q := st.problem.reduce(st.state, without(st.problem.use, d))
			s, _ := q.adjust(st.state, finishRounds)
			st = start{q, s}
		}
	}
	return st, off
}

// roughFindings says that the scale is a rough one, and how rough.
func (c *Calibration) roughFindings(k solved) (out []geometry.Finding) {
	for _, d := range k.off {
		at := k.state.places[d].Move
		out = append(out, geometry.Finding{
			Code: "reference-off", Severity: geometry.SeverityWarning, Where: &at,
			Message: fmt.Sprintf("The %s does not fit the rest of the photo; its points may be off, or it is of another size.", k.problem.targets[d].reference.name),
			Remedy:  "Click its points again with the photo enlarged, and check that it lies flat on the surface.",
		})
	}
	refs := k.problem.references()
	if len(refs) == 0 {
		return out
	}
	name := k.problem.targets[refs[0]].reference.name
	f := geometry.Finding{Code: "rough-scale", Severity: geometry.SeverityInfo, Amount: 2 * c.ScaleUncertaintyPct, Limit: 2 * warnScalePct}
	if len(k.problem.cards()) > 0 {
		f.Message = fmt.Sprintf("The %s was used beside the scale cards; it is a rough measure and counts for little.", name)
		f.Remedy = "Lay four to six scale cards around the cloth; then it is not needed."
		return append(out, f)
	}
	f.Severity = geometry.SeverityWarning
	f.Message = fmt.Sprintf("The scale is rough: it rests on a %s whose points were clicked, and lengths may be off by %.1f %%.", name, f.Amount)
	f.Remedy = "Print a sheet of scale cards, lay four to six of them around the cloth and take the photo again; or measure one long edge of the cloth by hand and compare."
	return append(out, f)
}
