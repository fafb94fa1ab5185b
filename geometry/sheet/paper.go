package sheet

import (
	"fmt"
	"strings"
)

// Paper is a sheet of paper, upright, in mm. A paper without a size, [One],
// stands for a single page as large as the drawing needs.
type Paper struct {
	// Name is what the paper is called in commands and requests.
	Name string
	// Label is what people read.
	Label         string
	Width, Height float64
}

// The papers. A4 and A3 after ISO 216:2007, table 1; Letter (8.5 x 11 in) and
// Tabloid (11 x 17 in) after ANSI/ASME Y14.1.
var (
	A4      = Paper{"a4", "A4", 210, 297}
	Letter  = Paper{"letter", "Letter", 8.5 * inch, 11 * inch}
	A3      = Paper{"a3", "A3", 297, 420}
	Tabloid = Paper{"tabloid", "Tabloid", 11 * inch, 17 * inch}
	One     = Paper{Name: "one", Label: "one large page"}
)

// turned returns the paper on its side.
func (p Paper) turned() Paper {
	p.Width, p.Height = p.Height, p.Width
	return p
}

// inch in millimetres, exact by definition.
const inch = 25.4

// Papers returns all papers, the commonest first.
func Papers() []Paper { return []Paper{A4, Letter, A3, Tabloid, One} }

// PaperNamed returns the paper of that name; capitals do not matter. The error
// lists the names that are known.
func PaperNamed(name string) (Paper, error) {
	var names []string
	for _, p := range Papers() {
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Paper{}, fmt.Errorf("there is no paper called %q; choose one of %s", name, strings.Join(names, ", "))
}
