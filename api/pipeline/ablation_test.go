//go:build ablation

package pipeline_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"secondcut/api/pipeline"
	"secondcut/api/pipeline/internal/score"
	"secondcut/geometry"
	"secondcut/vision"
)

var script = flag.String("script", "", "a plain script to compare with; none when empty")

// TestAblation prints what the outlines are worth with parts of the work left out.
func TestAblation(t *testing.T) {
	dirs := "../../testdata/photos"
	if *more != "" {
		dirs = *more
	}
	found := map[string][]score.Result{}
	for _, dir := range strings.Split(dirs, ",") {
		files, err := filepath.Glob(filepath.Join(dir, "*.json"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			var tr truth
			text, err := os.ReadFile(file)
			if err == nil {
				err = json.Unmarshal(text, &tr)
			}
			if err != nil {
				t.Fatal(file, err)
			}
			if tr.Expect == "trace" {
				leaveOut(t, dir, tr, found)
			}
		}
	}
	for name, results := range found {
		by := func(f func(score.Result) float64) (middle, most float64) {
			var v []float64
			for _, r := range results {
				v = append(v, f(r))
			}
			slices.Sort(v)
			return v[len(v)/2], v[len(v)-1]
		}
		a, b := by(func(r score.Result) float64 { return r.P95 })
		c, d := by(func(r score.Result) float64 { return r.Max })
		e, f := by(func(r score.Result) float64 { return math.Abs(r.ScalePct) })
		t.Logf("%-36s %3d pieces: p95 in the middle %.2f, at most %.2f mm; greatest in the middle %.2f, at most %.2f mm; scale in the middle %.3f, at most %.3f %%", name, len(results), a, b, c, d, e, f)
	}
}

// leaveOut scores the variants of one photo.
func leaveOut(t *testing.T, dir string, tr truth, found map[string][]score.Result) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, tr.Image))
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	variants, err := s.Variants(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range whole.Pieces {
		variants["all of it"] = append(variants["all of it"], p.Outline)
	}
	var want []score.Outline
	for _, p := range tr.Pieces {
		want = append(want, score.Outline{Ring: p.Outline})
	}
	if *script != "" {
		variants["plain script"] = plainScript(t, filepath.Join(dir, tr.Image), whole)
	}
	for name, rings := range variants {
		pairs := score.Pair(want, outlines(rings))
		for i, j := range pairs {
			if j < 0 {
				t.Logf("%s, %s: %s is missing", tr.Image, name, tr.Pieces[i].Name)
				continue
			}
			r := score.Compare(want[i], score.Outline{Ring: rings[j]})
			t.Logf("%-34s %-16s %-36s p95 %6.2f  max %6.2f mm  scale %+7.3f %%", tr.Image, tr.Pieces[i].Name, name, r.P95, r.Max, r.ScalePct)
			found[name] = append(found[name], r)
		}
	}
}

// plainScript returns the outline that a plain script finds inside a box about all
// pieces, as one would draw by hand, and prints what it took.
func plainScript(t *testing.T, photo string, whole *vision.Trace) []geometry.Polyline {
	t.Helper()
	lo, hi := geometry.Point{X: math.Inf(1), Y: math.Inf(1)}, geometry.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, piece := range whole.Pieces {
		for _, p := range piece.Outline {
			px, _ := whole.Calibration.Camera.Project(p, 0)
			lo, hi = geometry.Point{X: min(lo.X, px.X), Y: min(lo.Y, px.Y)}, geometry.Point{X: max(hi.X, px.X), Y: max(hi.Y, px.Y)}
		}
	}
	const margin = 40.0
	box := fmt.Sprintf("%.0f,%.0f,%.0f,%.0f", max(0, lo.X-margin), max(0, lo.Y-margin), hi.X+margin, hi.Y+margin)
	text, err := exec.CommandContext(t.Context(), *script, photo, box).Output()
	if err != nil {
		t.Fatal(err)
	}
	var found struct {
		Outline geometry.Polyline `json:"outline_mm"`
		CPU     float64           `json:"cpu_s"`
		Decode  float64           `json:"decode_s"`
		Peak    int               `json:"peak_mib"`
	}
	if err := json.Unmarshal(text, &found); err != nil {
		t.Fatal(err)
	}
	t.Logf("%-34s plain script: %.1f s of processor time, %.0f times its decoding, %d MiB", filepath.Base(photo), found.CPU, found.CPU/found.Decode, found.Peak)
	return []geometry.Polyline{found.Outline}
}

func outlines(rings []geometry.Polyline) (out []score.Outline) {
	for _, r := range rings {
		out = append(out, score.Outline{Ring: r})
	}
	return out
}
