package card

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/cv"
)

// Sizes at which tags are looked for. Tuned on eighteen generated photos of
// 12 MP, on which every tag was found at 700 px already, in 3 to 16 ms of CPU
// at 1000 px; smallTagPx on rough drawn scenes of 3 MP, where tilted and smeared
// tags of 20 to 30 px beside readable ones were missed.
const (
	firstSidePx  = 1000 // longer side of the first reduced copy, about
	smallTagPx   = 30.0 // a tag side below which a finer copy is looked at too
	finestSidePx = 4400 // no copy is larger than this
)

// A tag read by mistake has no saddle points round it. A card that shows fewer
// than minSaddles, because it is bent or covered, counts as one only if no more
// than maxWrongCells of its tag's 64 modules, looked at one by one, differ.
const (
	minSaddles    = 2
	maxWrongCells = 1
)

// Detect finds the scale cards in a photo, by number. Tags are read in a reduced
// copy; their edges and then the saddle points are measured at full size, to a
// few hundredths of a pixel where the photo is sharp. A tag round which fewer
// than two saddle points are seen is given only if the tag itself is beyond
// doubt; it says that a card is there, but not of what size. Of two cards with one number the
// better one is kept and marked Repeated. No card is not an error; it fails only
// when ctx ends or the photo is inconsistent.
func Detect(ctx context.Context, p *vision.Photo) ([]Detection, error) {
	if p.Width <= 0 || p.Height <= 0 || len(p.BGR) != 3*p.Width*p.Height {
		return nil, fmt.Errorf("card: %d bytes are no photo of %d x %d pixels", len(p.BGR), p.Width, p.Height)
	}
	tags, err := findTags(ctx, p)
	if err != nil {
		return nil, err
	}
	found, err := measureAll(ctx, p, tags)
	return oneOfEach(found), err
}

// measureAll measures tags on all processors.
func measureAll(ctx context.Context, p *vision.Photo, tags []cv.Tag) (found []Detection, err error) {
	got := make([]*Detection, len(tags))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(len(tags), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				if d, ok := measure(p, tags[i]); ok {
					got[i] = &d
				}
			}
		})
	}
	for i := range tags {
		if ctx.Err() == nil {
			next <- i
		}
	}
	close(next)
	wg.Wait()
	for _, d := range got {
		if d != nil {
			found = append(found, *d)
		}
	}
	return found, ctx.Err()
}

// findTags reads tags in copies of the photo that get finer for as long as a tag
// may have been too small to read. Corners are pixels of the photo.
func findTags(ctx context.Context, p *vision.Photo) ([]cv.Tag, error) {
	var all []cv.Tag
	long := max(p.Width, p.Height)
	for shrink := firstShrink(p); ; shrink = (shrink + 1) / 2 {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		tags, err := tagsAt(p, shrink)
		if err != nil {
			return nil, err
		}
		smallest := math.Inf(1)
		for _, t := range tags {
			smallest = min(smallest, shortestSide(t)/float64(shrink))
			if !slices.ContainsFunc(all, func(o cv.Tag) bool { return sameTag(o, t) }) {
				all = append(all, t)
			}
		}
		finer := long / ((shrink + 1) / 2)
		if len(tags) > 0 && smallest >= smallTagPx || shrink == 1 || finer > finestSidePx {
			return all, nil
		}
	}
}

// firstShrink returns by how much the first copy is reduced: about to
// firstSidePx, and by a divisor of the width if one is near, since averaging
// whole pixels costs a third of the general case.
func firstShrink(p *vision.Photo) int {
	k := max(1, int(math.Round(float64(max(p.Width, p.Height))/firstSidePx)))
	for _, near := range [3]int{k, k + 1, k - 1} {
		if near > 1 && p.Width%near == 0 {
			return near
		}
	}
	return k
}

// reducedGray returns the luminance of a copy that is shrink times smaller. Rows
// below the last whole one are dropped.
func reducedGray(p *vision.Photo, shrink int) (gray []byte, width, height int, err error) {
	w, h := p.Width/shrink, p.Height/shrink
	small := p.BGR
	if shrink > 1 && w > 0 && h > 0 {
		rows := h * shrink
		if small, err = cv.ResizeArea(p.BGR[:3*p.Width*rows], p.Width, rows, 3, w, h); err != nil {
			return nil, 0, 0, err
		}
	}
	gray, err = cv.Gray(small, w, h)
	return gray, w, h, err
}

// reducedGreen returns the green of a copy that is shrink times smaller, each
// pixel the mean of every other row of its block: black on white looks the same
// in green, and more than that no tag needs to be read. Columns and rows beyond
// the last whole block are dropped.
func reducedGreen(p *vision.Photo, shrink int) (green []byte, width, height int) {
	width, height = p.Width/shrink, p.Height/shrink
	green = make([]byte, width*height)
	sums := make([]uint32, width)
	for y := range height {
		clear(sums)
		n := uint32(0)
		for r := shrink / 2 % 2; r < shrink || n == 0; r += 2 {
			n += uint32(shrink)
			addGreen(sums, p.BGR[3*p.Width*(y*shrink+min(r, shrink-1)):], shrink)
		}
		row := green[y*width:][:width]
		for x, s := range sums {
			row[x] = byte(s / n)
		}
	}
	return green, width, height
}

// addGreen adds to each sum the green of the next shrink pixels of a row.
func addGreen(sums []uint32, row []byte, shrink int) {
	row = row[1:]
	if shrink == 4 { // photos of 12 MP
		for x := range sums {
			q := row[12*x : 12*x+10 : 12*x+10]
			sums[x] += uint32(q[0]) + uint32(q[3]) + uint32(q[6]) + uint32(q[9])
		}
		return
	}
	i := 0
	for x := range sums {
		for range shrink {
			sums[x] += uint32(row[i])
			i += 3
		}
	}
}

// tagsAt reads the tags in a copy of the photo that is shrink times smaller.
func tagsAt(p *vision.Photo, shrink int) ([]cv.Tag, error) {
	if p.Width < shrink || p.Height < shrink {
		return nil, nil
	}
	gray, w, h := reducedGreen(p, shrink)
	tags, err := cv.DetectTags(gray, w, h)
	k := float64(shrink)
	for i := range tags {
		for j := range tags[i].Corners {
			c := &tags[i].Corners[j]
			c[0], c[1] = (c[0]+0.5)*k-0.5, (c[1]+0.5)*k-0.5
		}
	}
	return tags, err
}

func shortestSide(t cv.Tag) float64 {
	s := math.Inf(1)
	for k, c := range t.Corners {
		n := t.Corners[(k+1)%4]
		s = min(s, math.Hypot(n[0]-c[0], n[1]-c[1]))
	}
	return s
}

// sameTag reports whether a and b are one tag seen in two copies.
func sameTag(a, b cv.Tag) bool {
	return a.ID == b.ID && math.Hypot(a.Corners[0][0]-b.Corners[0][0], a.Corners[0][1]-b.Corners[0][1]) < shortestSide(a)/4
}

// measure refines one tag at full size and finds its saddle points.
func measure(p *vision.Photo, t cv.Tag) (Detection, bool) {
	d := Detection{ID: t.ID}
	if t.ID > MaxID {
		return d, false
	}
	var from []geometry.Point
	var to []vision.Pixel
	for i, c := range t.Corners {
		from, to = append(from, TagCorner(i)), append(to, vision.Pixel{X: c[0], Y: c[1]})
	}
	h, ok := FitHomography(from, to)
	if !ok {
		return d, false
	}
	// The corners of a reduced copy are a few pixels off: the edges are sought
	// twice, the second time close to where they are.
	for range 2 {
		corners, ok := refineTag(p, &h)
		if !ok {
			break
		}
		if g, ok := FitHomography(from, corners); ok {
			h, to = g, corners
			d.Tag[0].SigmaPx = 1
		}
	}
	sharp, levels := d.Tag[0].SigmaPx > 0, tagLevels(p, &h)
	blur := findSaddles(p, &h, levels.white-levels.black, &d)
	if len(blur) < minSaddles && !(sharp && wrongCells(p, &h, t.ID, levels) <= maxWrongCells) {
		return d, false
	}
	if len(blur) > 0 {
		slices.Sort(blur)
		d.BlurPx = blur[len(blur)/2]
	}
	for i := range d.Tag {
		d.Tag[i] = Observed{At: to[i], SigmaPx: tagSigma(sharp, d.BlurPx, shortestSide(t))}
	}
	return d, true
}

// tagSigma is the standard uncertainty in pixels of a tag corner: a few tenths
// of a pixel when its edges were measured, since blur and the camera's tone
// curve move black edges inwards; else that of the reduced copy.
func tagSigma(measured bool, blurPx, sidePx float64) float64 {
	if measured {
		return 0.2 + 0.15*blurPx
	}
	return max(1, sidePx/30)
}

// findSaddles fits the four saddle points into d and returns the blur of those
// found. Where some were found, the others are sought again from a better
// prediction.
func findSaddles(p *vision.Photo, h *Homography, contrast float64, d *Detection) (blur []float64) {
	for pass := range 2 {
		for i := range d.Saddles {
			if d.Saddles[i].SigmaPx > 0 {
				continue
			}
			if s, ok := fitSaddle(p, h, SaddlePoint(i), contrast); ok {
				d.Saddles[i] = s.Observed
				blur = append(blur, s.blurPx)
			}
		}
		if pass == 1 || len(blur) == 4 || len(blur) == 0 {
			break
		}
		if g, ok := withSaddles(h, d); ok {
			h = g
		}
	}
	return blur
}

// withSaddles returns the homography of h's tag and the saddles found so far.
func withSaddles(h *Homography, d *Detection) (*Homography, bool) {
	var from []geometry.Point
	var to []vision.Pixel
	for i := range d.Saddles {
		from, to = append(from, TagCorner(i)), append(to, h.Apply(TagCorner(i)))
		if d.Saddles[i].SigmaPx > 0 {
			from, to = append(from, SaddlePoint(i)), append(to, d.Saddles[i].At)
		}
	}
	g, ok := FitHomography(from, to)
	return &g, ok
}

// oneOfEach sorts by number and keeps the better of two cards with one number:
// more saddle points, then more precise ones.
func oneOfEach(found []Detection) []Detection {
	slices.SortStableFunc(found, func(a, b Detection) int {
		na, sa := seen(a)
		nb, sb := seen(b)
		return cmp.Or(cmp.Compare(a.ID, b.ID), cmp.Compare(nb, na), cmp.Compare(sa, sb))
	})
	var out []Detection
	for _, d := range found {
		if n := len(out); n > 0 && out[n-1].ID == d.ID {
			out[n-1].Repeated = true
			continue
		}
		out = append(out, d)
	}
	return out
}

// seen returns the number of saddle points and their mean uncertainty in px.
func seen(d Detection) (n int, sigma float64) {
	for _, s := range d.Saddles {
		if s.SigmaPx > 0 {
			n, sigma = n+1, sigma+s.SigmaPx
		}
	}
	return n, sigma / float64(max(n, 1))
}
