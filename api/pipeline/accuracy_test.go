package pipeline_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
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
	scenes = flag.String("scenes", "", "a folder of drawn scenes: judged together, not one by one")
	first  = flag.Int("first", 0, "how many of the scenes to look at; 0 means all")
)

// truth is the part of a truth file (testdata/README.md) that is read here.
type truth struct {
	Image    string  `json:"image"`
	Width    int     `json:"width"`
	Height   int     `json:"height"`
	Expect   string  `json:"expect"`
	Refuse   string  `json:"refuse_code"`
	Notes    string  `json:"difficulty"`
	Contrast float64 `json:"contrast_lab"`
	Turned   int     `json:"exif_orientation"`
	Camera   struct {
		Fx, Cx, Cy, K1, K2, P1, P2 float64
		R                          [3][3]float64
		T                          [3]float64
	} `json:"camera"`
	ClothMM float64 `json:"cloth_top_z_mm"`
	Cards   []struct {
		OnPlane *bool `json:"on_plane"`
	} `json:"cards"`
	Pieces []struct {
		Name    string              `json:"name"`
		Outline geometry.Polyline   `json:"outline_mm"`
		Corners []geometry.Point    `json:"corners_mm"`
		Holes   []geometry.Polyline `json:"holes_mm"`
		ClothMM *float64            `json:"cloth_top_z_mm"` // where pieces differ
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
	notes               string
	camera              float64 // 95 % of the edge, seen by the true camera and mapped by the solved one, mm
	cards               int     // flat ones in the photo
	refuse              bool    // rightly to be refused
	unsure              int     // stretches marked as not sure
	score.Result
	stated, times float64 // uncertainty in mm; processor time against OpenCV's decoding
	span          float64 // mm
	tilt          float64 // degrees from straight above
	contrast      float64 // of cloth and surface in Lab; 0 where it is not known
	megapixels    float64
	holes, opened int // true openings, and traced ones
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
		rows = append(rows, scoreFolder(t, dir, 0)...)
	}
	for _, r := range rows {
		r.judge(t)
	}
	summary(t, rows)
	corners(t, rows)
	covered(t, rows)
}

// judge holds one photo to the limits.
func (r row) judge(t *testing.T) {
	if r.err != nil {
		t.Errorf("%s %s: %v", r.photo, r.piece, r.err)
		return
	}
	if r.refuse {
		return
	}
	if err := r.within(); err != nil {
		t.Errorf("%s %s: %v", r.photo, r.piece, err)
	}
	if r.scaleOff() {
		t.Errorf("%s %s: scale is off by %.3f %%", r.photo, r.piece, r.ScalePct)
	}
}

// within holds the edge to the limits of its class.
func (r row) within() error {
	l := limits[r.class]
	if r.P95 > l.p95 {
		return fmt.Errorf("95 %% of the edge within %.2f mm, want %.2f", r.P95, l.p95)
	}
	if r.Max > l.max {
		return fmt.Errorf("at most %.2f mm off, want %.2f", r.Max, l.max)
	}
	return nil
}

// scaleOff reports whether the scale errs by more than 0.10 %, or a quarter
// millimetre over the piece where that is more.
func (r row) scaleOff() bool { return math.Abs(r.ScalePct) > math.Max(0.10, 100*0.25/r.span) }

func scoreFolder(t *testing.T, dir string, most int) []row {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if most > 0 {
		files = files[:min(most, len(files))]
	}
	heading(t)
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
			some := scorePhoto(t, dir, tr)
			for _, r := range some {
				r.print(t)
			}
			rows = append(rows, some...)
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
	base := row{
		photo: strings.TrimSuffix(tr.Image, ".jpg"), times: float64(cpu()-start) / float64(decode) / openCVDecode, err: err, notes: tr.Notes,
		tilt: math.Acos(math.Min(1, -tr.Camera.R[2][2])) * 180 / math.Pi, contrast: tr.Contrast, megapixels: float64(tr.Width*tr.Height) / 1e6,
	}
	for _, c := range tr.Cards {
		if c.OnPlane == nil || *c.OnPlane {
			base.cards++
		}
	}
	if tr.Expect == "refuse" {
		base.refuse = true
		var refusal *vision.Refusal
		switch {
		case err == nil:
			base.err = fmt.Errorf("traced, but must be refused as %s", tr.Refuse)
		case errors.As(err, &refusal) && (tr.Refuse == "" || string(refusal.Code) == tr.Refuse):
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
			height := tr.ClothMM
			if p.ClothMM != nil {
				height = *p.ClothMM
			}
			r.camera = tr.cameraOff(p.Outline, height, traced.Calibration.Camera)
			r.stated, r.unsure = traced.Pieces[j].UncertaintyMM, len(traced.Pieces[j].Unsure)
			r.holes, r.opened = len(p.Holes), len(traced.Pieces[j].Holes)
		}
		rows = append(rows, r)
	}
	if extra := len(got) - len(want); extra > 0 {
		rows[0].err = fmt.Errorf("%d more pieces traced than there are", extra)
	}
	return rows
}

// assumedMM is the thickness of cloth that is assumed where nobody says.
const assumedMM = 0.6

// cameraOff returns the part of the deviation that is the camera's: of a true edge
// that is found in the photo without any error, mm.
func (tr *truth) cameraOff(ring geometry.Polyline, height float64, solved vision.Camera) float64 {
	k := tr.Camera
	eye := vision.Camera{F: k.Fx, Cx: k.Cx, Cy: k.Cy, K1: k.K1, K2: k.K2, P1: k.P1, P2: k.P2, T: k.T}
	for i := range 9 {
		eye.R[i] = k.R[i/3][i%3]
	}
	if tr.Turned > 1 { // the truth's camera is that of the stored pixels
		return math.NaN()
	}
	var seen geometry.Polyline
	for _, p := range ring {
		px, ok1 := eye.Project(p, height)
		q, ok2 := solved.Plane(px, assumedMM)
		if !ok1 || !ok2 {
			return math.NaN()
		}
		seen = append(seen, q)
	}
	return score.Compare(score.Outline{Ring: ring}, score.Outline{Ring: seen}).P95
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
