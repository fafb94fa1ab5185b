package svg

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

// unitMM are the millimetres of a unit (CSS Values and Units 3, 5.2).
var unitMM = map[string]float64{"mm": 1, "cm": 10, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "q": 0.25}

// length is a number with its unit; "" = none.
type length struct {
	n    float64
	unit string
}

// parseLength reads a length; a percentage is none.
func parseLength(s string) (length, bool) {
	s = strings.TrimSpace(s)
	n := numberLen(s)
	x, err := strconv.ParseFloat(s[:n], 64)
	u := strings.ToLower(strings.TrimSpace(s[n:]))
	_, known := unitMM[u]
	return length{x, u}, err == nil && (known || u == "") && math.Abs(x) <= farUnits
}

// root is what the outermost element says of its size.
type root struct{ width, height, viewBox, ratio string }

// toMM returns the map from the drawing's units to mm, y up, and a finding where the unit
// is only implied. It fails with ErrNoUnit where nothing says it.
func (r root) toMM() (matrix, []geometry.Finding, error) {
	w, okW := parseLength(r.width)
	h, okH := parseLength(r.height)
	box, _ := numbers(r.viewBox)
	if len(box) != 4 || !(box[2] > 0 && box[3] > 0) {
		box = nil
	}
	if !okW && okH {
		w = h
	}
	if !okW && !okH || w.unit == "" || w.n <= 0 || okH && h.unit == "" {
		return matrix{}, nil, fmt.Errorf("svg: %w", ErrNoUnit)
	}
	var found []geometry.Finding
	if w.unit == "px" {
		found = append(found, geometry.Finding{
			Code: interchange.CodeUnit, Severity: geometry.SeverityWarning,
			Message: "The drawing is in pixels, which were taken as 96 to the inch.", Remedy: "Measure one length that you know. If it is off, give the height of the largest piece when you bring the file in.",
		})
	}
	if box == nil {
		// One unit is a CSS pixel.
		s := unitMM["px"]
		return matrix{s, 0, 0, -s, 0, 0}, found, nil
	}
	mm := func(l length) float64 { return l.n * unitMM[l.unit] }
	switch {
	case !okW:
		s := mm(h) / box[3]
		return flipped(s, s, box), found, nil
	case !okH:
		s := mm(w) / box[2]
		return flipped(s, s, box), found, nil
	}
	x, y := mm(w)/box[2], mm(h)/box[3]
	if !(x > 0 && y > 0) {
		return matrix{}, nil, fmt.Errorf("svg: %w", ErrNoUnit)
	}
	switch ratio := strings.TrimSpace(r.ratio); {
	case strings.HasPrefix(ratio, "none"):
	case strings.HasSuffix(ratio, "slice"):
		x = math.Max(x, y)
		y = x
	default:
		x = math.Min(x, y)
		y = x
	}
	return flipped(x, y, box), found, nil
}

func flipped(x, y float64, box []float64) matrix {
	return matrix{x, 0, 0, -y, -box[0] * x, box[1] * y}
}

// Errors of this package; what is returned wraps one of them.
var (
	// ErrNotSVG says that a file is no SVG, or is damaged.
	ErrNotSVG = errors.New("this is not an SVG file")
	// ErrNoUnit says that nothing tells how large a unit is; Options.TallMM does.
	ErrNoUnit = errors.New("the drawing does not say how large it is: its width has no unit such as mm")
	// ErrNoPiece says that a drawing has no closed outline.
	ErrNoPiece = errors.New("there is no closed outline in the drawing")
	// ErrTooLarge says that a file holds more than any pattern does.
	ErrTooLarge = errors.New("the file is larger than any pattern")
)
