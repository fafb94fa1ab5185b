// Package stitches looks for rows of old needle holes along the edges of a piece
// of cloth: where they are seen, the old stitch line is known, and with it the
// old seam allowance.
//
// The cloth inside an edge is unrolled into lines at equal distance from it. A
// row of holes is a line that repeats itself at the length of a stitch while the
// lines beside it do not; stripes, checks and weave repeat at every distance and
// are no rows.
//
// What comes before in the flow is the fitted outline; the rows are offered to
// the person. A false row would be sewn along, so that doubtful ones are kept
// back.
package stitches

import (
	"context"
	"fmt"
	"math"
	"sync"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// Finding says in the person's words what was seen.
func Finding(r vision.StitchRow) geometry.Finding {
	mid := r.From.Lerp(r.To, 0.5)
	return geometry.Finding{
		Code: "stitch-row", Severity: geometry.SeverityInfo,
		Message: fmt.Sprintf("A row of old stitch holes runs %.1f mm inside this edge.", r.DistanceMM),
		Remedy:  "If that was the seam, set the edge's old allowance to this distance.",
		Where:   &mid, Amount: r.DistanceMM,
	}
}

const (
	windowMM = 60.0 // stretch that is judged at once
	leastMM  = 35.0 // shortest edge that is judged
	// Stitches that are looked for: machine and hand stitches of clothes (common
	// practice, no source).
	shortestMM, longestMM = 1.6, 4.2
)

// Rows returns the rows of old stitch holes inside the edges of outline, which
// runs counter-clockwise in the plane frame (a hole's clockwise). At most one row
// is given for each edge between two corners. It fails when ctx ends or the photo
// is not the calibration's.
func Rows(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, outline geometry.Path) ([]vision.StitchRow, error) {
	if photo.Width != cal.Width || photo.Height != cal.Height || len(photo.BGR) != 3*photo.Width*photo.Height {
		return nil, fmt.Errorf("stitches: the photo has %d x %d pixels, the calibration is for %d x %d", photo.Width, photo.Height, cal.Width, cal.Height)
	}
	if len(outline) < 2 {
		return nil, nil
	}
	all := edges(outline)
	found := make([]*vision.StitchRow, len(all))
	var done sync.WaitGroup
	for i, edge := range all {
		if float64(len(edge))*alongMM < leastMM {
			continue
		}
		done.Go(func() {
			if row, ok := search(ctx, photo, cal, edge); ok {
				found[i] = &row
			}
		})
	}
	done.Wait()
	rows := []vision.StitchRow{}
	for _, r := range found {
		if r != nil {
			rows = append(rows, *r)
		}
	}
	return rows, ctx.Err()
}

// window is a stretch of an edge, and how each line of it resembles itself at
// each lag.
type window struct {
	from, to int // places of the edge
	like     [lines]echo
	tone     [lines]float64 // mean lightness of each line, grey levels
}

func search(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, edge []place) (vision.StitchRow, bool) {
	windows := cut(ctx, photo, cal, edge)
	if len(windows) == 0 {
		return vision.StitchRow{}, false
	}
	best := best(windows)
	if best.z < leastZ || best.contrast < leastContrast || step(windows, best) > mostStep {
		return vision.StitchRow{}, false
	}
	from, to, ok := extent(windows, best)
	if !ok {
		return vision.StitchRow{}, false
	}
	row := vision.StitchRow{
		From: edge[from].at, To: edge[to-1].at,
		DistanceMM: firstMM + best.line*acrossMM, SpacingMM: best.lag * alongMM,
		Sure: min(best.z/certainZ, 1),
	}
	return row, true
}

// step returns by how many grey levels the cloth differs in tone on the two sides
// of a row. A seam's holes have the same cloth at both; the rim of a stripe that
// runs along the edge has not, and its pixel steps can repeat like stitches.
func step(windows []window, c candidate) (most float64) {
	j := int(math.Round(c.line))
	for off := 2; off <= 5; off++ {
		var jump float64
		for i := range windows {
			t := &windows[i].tone
			jump += (t[min(j+off, lines-1)] - t[max(j-off, 0)]) / float64(len(windows))
		}
		most = max(most, math.Abs(jump))
	}
	return most
}

// cut returns the windows of an edge: all pairs of neighbouring chunks, so that
// windows overlap by half.
func cut(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, edge []place) []window {
	count := max(1, int(math.Round(2*float64(len(edge))*alongMM/windowMM)))
	chunks := make([]window, count)
	ok := make([]bool, count)
	var band [lines][]float32
	for j := range band {
		band[j] = make([]float32, 0, len(edge))
	}
	for k := range chunks {
		if ctx.Err() != nil {
			return nil
		}
		from, to := k*len(edge)/count, (k+1)*len(edge)/count
		ok[k] = unroll(photo, cal, edge[from:to], &band)
		chunks[k].from, chunks[k].to = from, to
	}
	fast, sums := make([]float32, len(edge)), make([]float64, len(edge)+1)
	for j := range band {
		if ctx.Err() != nil {
			return nil
		}
		quick(fast, sums, band[j])
		for k := range chunks {
			w := &chunks[k]
			w.like[j] = resemblance(fast, w.from, w.to)
			for _, v := range band[j][w.from:w.to] {
				w.tone[j] += float64(v) / float64(w.to-w.from)
			}
		}
	}
	var out []window
	for k := range count {
		switch {
		case !ok[k]:
		case count == 1:
			out = append(out, chunks[k].joined(&window{to: chunks[k].to}))
		case k > 0 && ok[k-1]:
			out = append(out, chunks[k-1].joined(&chunks[k]))
		}
	}
	return out
}

// joined returns the window of a chunk and the next, which may be empty.
func (w *window) joined(next *window) window {
	out := window{from: w.from, to: next.to}
	n, m := float64(w.to-w.from), float64(next.to-w.to)
	for j := range lines {
		out.tone[j] = (n*w.tone[j] + m*next.tone[j]) / (n + m)
		a, b := &w.like[j], &next.like[j]
		power := max(a[0]+b[0], n+m) // below a grey level there is only noise
		for lag := range a {
			out.like[j][lag] = (a[lag] + b[lag]) / power
		}
	}
	return out
}

const (
	shortLag = int(shortestMM/alongMM/2) - 1
	lagCount = int(2*longestMM/alongMM) + 2
)

// echo is a line's autocorrelation by lag, in samples, from shortLag on; that of a
// window is normalised.
type echo [lagCount]float64

// resemblance returns the sums of products of the line's samples from and up to to
// with those a lag on, as if the line went on where it ends, and at lag 0 their
// power. Four lags are summed at once: a sum waits for the one before.
func resemblance(line []float32, from, to int) (e echo) {
	part := line[from:to]
	var power float32
	for _, v := range part {
		power += v * v
	}
	e[0] = float64(power)
	for lag := shortLag; lag < lagCount; lag += 4 {
		n := min(len(part), len(line)-from-lag-3)
		if n <= 0 {
			break
		}
		var a, b, c, d float32
		next := line[from+lag : from+lag+n+3]
		for i, v := range part[:n] {
			a += v * next[i]
			b += v * next[i+1]
			c += v * next[i+2]
			d += v * next[i+3]
		}
		grow := float64(len(part)) / float64(n)
		for k, s := range [4]float32{a, b, c, d} {
			if lag+k < lagCount {
				e[lag+k] = float64(s) * grow
			}
		}
	}
	return e
}

// at returns the value at a lag between samples.
func (e *echo) at(lag float64) float64 {
	i := min(int(lag), lagCount-2)
	return e[i] + (lag-float64(i))*(e[i+1]-e[i])
}

// comb returns how much better a line fits itself one and two stitches on than
// half-way between: 2 for a pure wave.
func (e *echo) comb(lag float64) float64 {
	return (e.at(lag) + e.at(2*lag) - e.at(lag/2) - e.at(1.5*lag)) / 2
}

// candidate is a possible row: its line (fraction between lines allowed), lag in
// samples, comb contrast above the other lines', and that against their spread.
type candidate struct {
	line, lag   float64
	contrast, z float64
}
