package api

import "fmt"

// The rulers of the card sheet as they are drawn, in mm.
const (
	RulerAcrossMM = 150.0
	RulerUpMM     = 200.0
)

const (
	// maxPrintOffPct is how far a ruler may be off, in percent. Printers
	// are commonly off by half a percent (from memory); "fit to page" takes three
	// to six off A4 and Letter, and ten is a misreading.
	maxPrintOffPct = 10
	// rulerSigmaMM is the standard uncertainty of a reading to the nearest
	// millimetre: evenly spread over half a millimetre either way (JCGM 100:2008,
	// 4.3.7).
	rulerSigmaMM = 0.2887
)

// Print is what the two rulers of the printed card sheet measure by another
// ruler, in mm; 0 where that was not measured, and the print is taken as true.
type Print struct {
	AcrossMM float64 `json:"ruler_across_mm,omitempty" doc:"Measured length of the ruler of 150 mm across the sheet: 135 to 165, or left out."`
	UpMM     float64 `json:"ruler_up_mm,omitempty" doc:"Measured length of the ruler of 200 mm up the sheet: 180 to 220, or left out."`
}

// Check answers CodeInvalid with the ruler whose length cannot be.
func (p Print) Check() error {
	for _, r := range [...]struct {
		field        string
		got, nominal float64
	}{{"ruler_across_mm", p.AcrossMM, RulerAcrossMM}, {"ruler_up_mm", p.UpMM, RulerUpMM}} {
		lo, hi := r.nominal*(100-maxPrintOffPct)/100, r.nominal*(100+maxPrintOffPct)/100
		if r.got != 0 && !(r.got >= lo && r.got <= hi) { // NaN too
			return Invalid(r.field,
				fmt.Sprintf("A ruler of %g mm can't measure %g mm: a print is off by %d %% at most.", r.nominal, r.got, maxPrintOffPct),
				fmt.Sprintf("Measure it again from the first line to the last and give millimetres, or print the sheet again at 100 %%; it is between %g and %g mm.", lo, hi))
		}
	}
	return nil
}

// Scale returns the true over the drawn length of the print, across and up the
// sheet, with its standard uncertainty; both are 0 where nothing was measured.
func (p Print) Scale() (scale, sigma [2]float64) {
	for k, r := range [2][2]float64{{p.AcrossMM, RulerAcrossMM}, {p.UpMM, RulerUpMM}} {
		if r[0] != 0 {
			scale[k], sigma[k] = r[0]/r[1], rulerSigmaMM/r[1]
		}
	}
	return scale, sigma
}
