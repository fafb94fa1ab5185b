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

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// Row is a row of old stitch holes along an edge.
type Row struct {
	// From and To are the points of the outline, in its direction, between which
	// the row was seen.
	From, To geometry.Point
	// DistanceMM is how far inside the edge it runs, to about 0.3 mm.
	DistanceMM float64
	// SpacingMM is the length of a stitch.
	SpacingMM float64
	// Sure is the certainty, 0..1; what is less sure than 0.5 is not returned.
	Sure float64
}

// Finding says in the person's words what was seen.
func (r Row) Finding() geometry.Finding {
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
func Rows(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, outline geometry.Path) ([]Row, error) {
	if photo.Width != cal.Width || photo.Height != cal.Height || len(photo.BGR) != 3*photo.Width*photo.Height {
		return nil, fmt.Errorf("stitches: the photo has %d x %d pixels, the calibration is for %d x %d", photo.Width, photo.Height, cal.Width, cal.Height)
	}
	if len(outline) < 2 {
		return nil, nil
	}
	rows := []Row{}
	for _, edge := range edges(outline) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if float64(len(edge))*alongMM < leastMM {
			continue
		}
		if row, ok := search(photo, cal, edge); ok {
			rows = append(rows, row)
		}
	}
	return rows, nil
}

// window is a stretch of an edge, and how each line of it resembles itself at
// each lag.
type window struct {
	from, to int // places of the edge
	like     [lines]echo
	tone     [lines]float64 // mean lightness of each line, grey levels
}

func search(photo *vision.Photo, cal *calib.Calibration, edge []place) (Row, bool) {
	windows := cut(photo, cal, edge)
	if len(windows) == 0 {
		return Row{}, false
	}
	best := best(windows)
	if best.z < leastZ || best.contrast < leastContrast || step(windows, best) > mostStep {
		return Row{}, false
	}
	from, to, ok := extent(windows, best)
	if !ok {
		return Row{}, false
	}
	row := Row{
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

// cut returns the windows of an edge, half overlapping.
func cut(photo *vision.Photo, cal *calib.Calibration, edge []place) []window {
	size := min(int(windowMM/alongMM), len(edge))
	count := max(1, int(math.Round(2*float64(len(edge)-size)/float64(size)))+1)
	var out []window
	for k := range count {
		from := 0
		if count > 1 {
			from = k * (len(edge) - size) / (count - 1)
		}
		w := window{from: from, to: from + size}
		band, ok := unroll(photo, cal, edge[from:w.to])
		if !ok {
			continue
		}
		for j := range band {
			for _, v := range band[j] {
				w.tone[j] += float64(v) / float64(size)
			}
			w.like[j] = resemblance(quick(band[j]))
		}
		out = append(out, w)
	}
	return out
}

const (
	shortLag = int(shortestMM/alongMM/2) - 1
	lagCount = int(2*longestMM/alongMM) + 2
)

// echo is a line's normalised autocorrelation by lag, in samples.
type echo [lagCount]float64

func resemblance(line []float32) (e echo) {
	var power float64
	for _, v := range line {
		power += float64(v) * float64(v)
	}
	// Below a grey level there is only noise.
	power = max(power, float64(len(line)))
	for lag := shortLag; lag < lagCount && lag < len(line); lag++ {
		var sum float64
		for i, v := range line[lag:] {
			sum += float64(v * line[i])
		}
		e[lag] = sum / power * float64(len(line)) / float64(len(line)-lag)
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
