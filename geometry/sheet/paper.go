package sheet

import (
	"fmt"
	"math"
	"strings"

	"secondcut/geometry/measure"
)

// Paper is a sheet of paper, upright, in mm. A paper without a size, [One],
// stands for a single page as large as the drawing needs; one without a height
// is a roll, and the page is as long as the drawing needs.
type Paper struct {
	// Name is what the paper is called in commands and requests.
	Name string
	// Label is what people read.
	Label         string
	Width, Height float64
}

// The papers. A4 to A0 after ISO 216:2007, table 1; Letter (8.5 x 11 in) and
// Tabloid (11 x 17 in) after ANSI/ASME Y14.1.
var (
	A4      = Paper{"a4", "A4", 210, 297}
	Letter  = Paper{"letter", "Letter", 8.5 * inch, 11 * inch}
	A3      = Paper{"a3", "A3", 297, 420}
	Tabloid = Paper{"tabloid", "Tabloid", 11 * inch, 17 * inch}
	A2      = Paper{"a2", "A2", 420, 594}
	A1      = Paper{"a1", "A1", 594, 841}
	A0      = Paper{"a0", "A0", 841, 1189}
	One     = Paper{Name: "one", Label: "one large page"}
)

// Bounds of a roll's width in mm: room for the test squares, and the largest
// side of a PDF page.
const (
	MinRollMM = 400.0
	MaxRollMM = 5000.0
)

// Roll returns paper of a width in mm, between MinRollMM and MaxRollMM, and of
// any length.
func Roll(widthMM float64) Paper {
	return Paper{Name: fmt.Sprintf("roll:%g", widthMM), Label: fmt.Sprintf("a roll of %g\u00a0mm", widthMM), Width: widthMM}
}

// single reports whether everything goes on one page.
func (p Paper) single() bool { return p.Height == 0 }

// large reports whether sheets are too large to spend one on instructions.
func (p Paper) large() bool { return p.Width >= A2.Width }

// inch in millimetres, exact by definition.
const inch = 25.4

// Papers returns the papers that have a name of their own, the commonest first.
func Papers() []Paper { return []Paper{A4, Letter, A3, Tabloid, A2, A1, A0, One} }

// PaperNames returns what [PaperNamed] reads, for people to choose from.
func PaperNames() string {
	names := make([]string, 0, len(Papers())+1)
	for _, p := range Papers() {
		names = append(names, p.Name)
	}
	return strings.Join(append(names, "roll:WIDTH"), ", ")
}

// PaperNamed returns the paper of that name; capitals do not matter. A roll is
// written with its width in mm or in a unit that is named: roll:914, roll:36in.
// The error says what is known.
func PaperNamed(name string) (Paper, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, p := range Papers() {
		if p.Name == name {
			return p, nil
		}
	}
	if width, ok := strings.CutPrefix(name, "roll:"); ok {
		mm, err := measure.Parse(width, measure.Millimetre)
		if err != nil {
			return Paper{}, fmt.Errorf("the width of the roll: %w", err)
		}
		if mm = math.Round(mm*100) / 100; mm < MinRollMM || mm > MaxRollMM {
			return Paper{}, fmt.Errorf("a roll is %g to %g mm wide, not %g mm; for narrower paper choose A3 or A4", MinRollMM, MaxRollMM, mm)
		}
		return Roll(mm), nil
	}
	return Paper{}, fmt.Errorf("there is no paper called %q; choose one of %s", name, PaperNames())
}
