package pipeline_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"secondcut/api/pipeline"
	"secondcut/api/pipeline/internal/score"
	"secondcut/geometry"
	"secondcut/vision"
)

var (
	more   = flag.String("photos", "", "more folders of photos with truth, separated by commas")
	scenes = flag.String("scenes", "", "a folder of random scenes: judged together, not one by one")
)

// truth is the part of a truth file (testdata/README.md) that is read here.
type truth struct {
	Image  string `json:"image"`
	Expect string `json:"expect"`
	Refuse string `json:"refuse_code"`
	Pieces []struct {
		Name    string            `json:"name"`
		Outline geometry.Polyline `json:"outline_mm"`
		Corners []geometry.Point  `json:"corners_mm"`
		Defects struct {
			Fray struct {
				LossMM float64 `json:"loss_mm"`
			} `json:"fray"`
			Scallop json.RawMessage `json:"scallop"`
			Ripple  float64         `json:"ripple_mm"`
		} `json:"defects"`
	} `json:"pieces"`
}

// row is the score of one piece of one photo.
type row struct {
	photo, piece, class string
	score.Result
	stated, times float64 // uncertainty in mm; processor time against decoding
	span          float64 // mm
	err           error
}

// limits are the figures that each photo must keep, in mm, by the state of its
// edge: clean, light (fray eats in by at most 0.8 mm), heavy (more, or scalloped,
// or rippled cloth).
var limits = map[string]struct{ p95, max float64 }{
	"clean": {0.3, 1}, "light": {0.5, 1.5}, "heavy": {0.9, 2.5},
}

// The photos with known truth are traced right to the limits, and refused for the
// right reason where they must be.
func TestAccuracy(t *testing.T) {
	if testing.Short() {
		t.Skip("traces whole photos")
	}
	dirs := []string{"../../testdata/demo", "../../testdata/photos"}
	if *more != "" {
		dirs = append(dirs, strings.Split(*more, ",")...)
	}
	var rows []row
	for _, dir := range dirs {
		rows = append(rows, scoreFolder(t, dir)...)
	}
	for _, r := range rows {
		r.judge(t)
	}
	table(t, rows)
	covered(t, rows)
}

// Random scenes are judged as a crowd: a single odd one may fail.
func TestAccuracyOfScenes(t *testing.T) {
	if *scenes == "" {
		t.Skip("no -scenes: make accuracy draws them")
	}
	rows := scoreFolder(t, *scenes)
	table(t, rows)
	usable := 0
	var scale []float64
	for _, r := range rows {
		if r.err == nil && r.P95 <= 1.5 {
			usable++
		}
		if r.err == nil {
			scale = append(scale, math.Abs(r.ScalePct))
		}
	}
	if share := float64(usable) / float64(len(rows)); share < 0.95 {
		t.Errorf("%.0f %% of the scenes are within 1.5 mm, want 95 %%", 100*share)
	}
	slices.Sort(scale)
	if len(scale) > 0 && scale[len(scale)/2] > 0.05 {
		t.Errorf("the median scale error is %.3f %%, want at most 0.05 %%", scale[len(scale)/2])
	}
	covered(t, rows)
}

// judge holds one photo to the limits.
func (r row) judge(t *testing.T) {
	if r.err != nil {
		t.Errorf("%s %s: %v", r.photo, r.piece, r.err)
		return
	}
	if r.class == "" {
		return // rightly refused
	}
	l := limits[r.class]
	if r.P95 > l.p95 {
		t.Errorf("%s %s: 95 %% of the edge within %.2f mm, want %.2f", r.photo, r.piece, r.P95, l.p95)
	}
	if r.Max > l.max {
		t.Errorf("%s %s: at most %.2f mm off, want %.2f", r.photo, r.piece, r.Max, l.max)
	}
	// 0.10 %, or a quarter millimetre over the piece where that is more.
	if limit := math.Max(0.10, 100*0.25/r.span); math.Abs(r.ScalePct) > limit {
		t.Errorf("%s %s: scale is off by %.3f %%, want %.3f", r.photo, r.piece, r.ScalePct, limit)
	}
}

// covered checks that the stated uncertainty is honest, neither too small nor
// padded.
func covered(t *testing.T, rows []row) {
	var stated, trueErr []float64
	inside := 0
	for _, r := range rows {
		if r.err != nil || r.class == "" {
			continue
		}
		stated, trueErr = append(stated, r.stated), append(trueErr, r.P95)
		if r.P95 <= r.stated {
			inside++
		}
		if r.P95 > 2*r.stated {
			t.Errorf("%s %s: off by %.2f mm, more than twice the stated %.2f", r.photo, r.piece, r.P95, r.stated)
		}
	}
	if len(stated) == 0 {
		t.Error("nothing was traced")
		return
	}
	slices.Sort(stated)
	slices.Sort(trueErr)
	t.Logf("stated uncertainty covers the true error of %d of %d pieces; medians %.2f and %.2f mm",
		inside, len(stated), stated[len(stated)/2], trueErr[len(stated)/2])
	if share := float64(inside) / float64(len(stated)); len(stated) >= 50 && share < 0.9 {
		t.Errorf("stated uncertainty covers %.0f %%, want 90 %%", 100*share)
	}
	if ratio := stated[len(stated)/2] / trueErr[len(stated)/2]; ratio > 3 {
		t.Errorf("stated uncertainty is padded: %.1f times the true error in the middle, want at most 3", ratio)
	}
}

func table(t *testing.T, rows []row) {
	var b strings.Builder
	fmt.Fprintf(&b, "\n%-28s %-14s %-6s %8s %6s %6s %6s %9s %6s %7s %8s\n",
		"photo", "piece", "edge", "scale %", "p50", "p95", "max", "corners", "false", "stated", "x decode")
	for _, r := range rows {
		switch {
		case r.err != nil:
			fmt.Fprintf(&b, "%-28s %-14s %v\n", r.photo, r.piece, r.err)
		case r.class == "":
			fmt.Fprintf(&b, "%-28s rightly refused%67s %8.1f\n", r.photo, "", r.times)
		default:
			fmt.Fprintf(&b, "%-28s %-14s %-6s %+8.3f %6.2f %6.2f %6.2f %5d/%-3d %6d %7.2f %8.1f\n",
				r.photo, r.piece, r.class, r.ScalePct, r.P50, r.P95, r.Max, r.Found, r.Corners, r.False, r.stated, r.times)
		}
	}
	t.Log(b.String())
}

func scoreFolder(t *testing.T, dir string) []row {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var tr truth
		if err := json.Unmarshal(text, &tr); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if tr.Expect != "" { // a manifest has none
			rows = append(rows, scorePhoto(t, dir, tr)...)
		}
	}
	if len(rows) == 0 {
		t.Fatalf("no photos with truth in %s", dir)
	}
	return rows
}

func scorePhoto(t *testing.T, dir string, tr truth) []row {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, tr.Image))
	if err != nil {
		t.Fatal(err)
	}
	start := cpu()
	if _, err := vision.Decode(t.Context(), data, vision.Limits{}); err != nil {
		t.Fatal(err)
	}
	decode := cpu() - start
	start = cpu()
	traced, err := trace(t, data)
	base := row{photo: strings.TrimSuffix(tr.Image, ".jpg"), times: float64(cpu()-start) / float64(decode), err: err}
	if tr.Expect == "refuse" {
		var refusal *vision.Refusal
		switch {
		case err == nil:
			base.err = fmt.Errorf("traced, but must be refused as %s", tr.Refuse)
		case errors.As(err, &refusal) && string(refusal.Code) == tr.Refuse:
			base.err = nil
		default:
			base.err = fmt.Errorf("refused for another reason than %s: %w", tr.Refuse, err)
		}
		return []row{base}
	}
	if err != nil {
		return []row{base}
	}
	return scorePieces(base, tr, traced)
}

func scorePieces(base row, tr truth, traced *vision.Trace) []row {
	var want, got []score.Outline
	for _, p := range tr.Pieces {
		want = append(want, score.Outline{Ring: p.Outline, Corners: p.Corners})
	}
	for _, p := range traced.Pieces {
		got = append(got, score.Outline{Ring: p.Outline, Corners: p.Corners})
	}
	var rows []row
	for i, j := range score.Pair(want, got) {
		r, p := base, tr.Pieces[i]
		r.piece = p.Name
		lo, hi := p.Outline.Bounds()
		r.span = math.Max(hi.X-lo.X, hi.Y-lo.Y)
		switch f := p.Defects; {
		case f.Fray.LossMM > 0.8 || f.Ripple > 0 || f.Scallop != nil:
			r.class = "heavy"
		case f.Fray.LossMM > 0:
			r.class = "light"
		default:
			r.class = "clean"
		}
		if j < 0 {
			r.err = errors.New("this piece was not found")
		} else {
			r.Result = score.Compare(want[i], got[j])
			r.stated = traced.Pieces[j].UncertaintyMM
		}
		rows = append(rows, r)
	}
	if extra := len(got) - len(want); extra > 0 {
		rows[0].err = fmt.Errorf("%d more pieces traced than there are", extra)
	}
	return rows
}

func trace(t *testing.T, data []byte) (*vision.Trace, error) {
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		return nil, err
	}
	return s.Trace(t.Context(), nil, nil)
}

// cpu returns the processor time that this process has used: unlike the clock it
// does not count what else the machine does.
func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
