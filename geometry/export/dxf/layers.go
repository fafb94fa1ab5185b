package dxf

import "errors"

// Errors of this package; what is returned wraps one of them.
var (
	// ErrNotDXF says that a file is no DXF in text, or is damaged.
	ErrNotDXF = errors.New("this is not a DXF file in text form")
	// ErrNoPiece says that there is no closed outline to write, or none in a file.
	ErrNoPiece = errors.New("there is no closed outline")
	// ErrTooLarge says that a file holds more than any pattern does.
	ErrTooLarge = errors.New("the file is larger than any pattern")
)

// Layers of ASTM D6673, as far as they are written and read here. Layer 12 is blank in
// the standard and means something else in its predecessor, so it is never written.
const (
	layerCut        = "1"
	layerTurn       = "2"
	layerCurve      = "3"
	layerNotch      = "4"
	layerMirror     = "6"
	layerGrain      = "7"
	layerInternal   = "8"
	layerCutOut     = "11"
	layerDrill      = "13"
	layerSew        = "14"
	layerText       = "15"
	layerTNotch     = "80"
	layerCastle     = "81"
	layerCheckNotch = "82"
	layerUNotch     = "83"
)
