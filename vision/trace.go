package vision

import "secondcut/geometry"

// TraceFormat names the version of the trace document.
const TraceFormat = "secondcut-trace/1"

// Trace is the result of tracing one photo, as it is written to files and sent
// over HTTP. All positions are in the plane frame: millimetres, y up.
type Trace struct {
	Format      string             `json:"format"`
	Pieces      []TracedPiece      `json:"pieces"`
	Calibration Calibration        `json:"calibration"`
	Findings    []geometry.Finding `json:"findings"`
}

// TracedPiece is one piece of cloth found in the photo.
type TracedPiece struct {
	// Outline runs counter-clockwise, dense enough that its chords lie within
	// 0.05 mm of the path of the knots.
	Outline geometry.Polyline `json:"outline_mm"`
	// Corners are the true corners of the clean edge.
	Corners []geometry.Point `json:"corners_mm"`
	// Holes run clockwise.
	Holes []geometry.Polyline `json:"holes_mm"`
	// Knots is the outline as a path of lines and cubic Beziers.
	Knots geometry.Path `json:"knots"`
	// HoleKnots are the holes as paths, in the order of Holes.
	HoleKnots []geometry.Path `json:"hole_knots"`
	// UncertaintyMM is the distance in mm within which 95 % of the true clean
	// edge is expected to lie from the outline.
	UncertaintyMM float64 `json:"uncertainty_mm"`
	// FrayMM is the typical amplitude of fray that was taken off, in mm.
	FrayMM float64 `json:"fray_mm"`
	// Unsure lists the stretches of outline where the evidence was weak.
	Unsure []geometry.Stretch `json:"unsure"`
	// Grain is the direction of the weave or stripes, where it could be seen.
	Grain *geometry.Grain `json:"grain,omitempty"`
	// StitchRows are the rows of old needle holes that were seen inside the edges:
	// left out where none was.
	StitchRows []StitchRow `json:"stitch_rows,omitempty"`
	// NotchCuts are the cuts in outline and holes that look like notches, each also
	// told of by a finding "notch-found": left out where there is none.
	NotchCuts []geometry.NotchCut `json:"notch_cuts,omitempty"`
	// Seen is what the photo shows of the outer edge and then of each hole, before
	// fray was taken off; left out by traces of before it was kept.
	Seen []SeenEdge `json:"seen,omitempty"`
}

// SeenEdge is an edge as the photo shows it, and how well its clean edge is known.
type SeenEdge struct {
	// Points are the raw edge, threads and nicks included, closed: within 0.1 mm of
	// what was found in the photo.
	Points geometry.Polyline `json:"points_mm"`
	// Doubts are the stretches of the clean edge from corner to corner, in its order.
	Doubts []EdgeDoubt `json:"doubts"`
}

// EdgeDoubt says what one stretch of a clean edge leaves open.
type EdgeDoubt struct {
	// From and To are the knots of the traced path at its ends, counted from 0; the
	// same one twice where it is the whole ring.
	From int `json:"from"`
	To   int `json:"to"`
	// UncertaintyMM is the distance within which 95 % of the true clean edge is
	// expected to lie, camera included; FrayMM the amplitude of what was taken off.
	UncertaintyMM float64 `json:"uncertainty_mm"`
	FrayMM        float64 `json:"fray_mm"`
}

// StitchRow is a row of old needle holes along an edge of a piece.
type StitchRow struct {
	// From and To are the points of the outline, in its direction, between which
	// the row was seen.
	From geometry.Point `json:"from_mm"`
	To   geometry.Point `json:"to_mm"`
	// DistanceMM is how far inside the edge it runs, to about 0.3 mm.
	DistanceMM float64 `json:"distance_mm"`
	// SpacingMM is the length of a stitch.
	SpacingMM float64 `json:"spacing_mm"`
	// Sure is the certainty, 0.5..1; what is less sure is not given.
	Sure float64 `json:"sure"`
}

// Calibration is what the scale cards said about camera and plane.
type Calibration struct {
	Cards []CardReport `json:"cards"`
	// ScaleUncertaintyPct is the standard uncertainty of lengths over the piece,
	// in per cent, if the cards are true to size.
	ScaleUncertaintyPct float64 `json:"scale_uncertainty_pct"`
	// PrintUncertaintyPct is the standard uncertainty, in per cent, of the
	// printed cards' own size.
	PrintUncertaintyPct float64 `json:"print_uncertainty_pct"`
	// RMSPx is the root mean square reprojection error in pixels of the card
	// points that were used.
	RMSPx  float64 `json:"rms_px"`
	Camera Camera  `json:"camera"`
}

// CardReport is one card found in the photo.
type CardReport struct {
	ID   int  `json:"id"`
	Used bool `json:"used"`
	// MeasuredMM is the mean distance of neighbouring saddle points in mm as
	// solved without this card (with it, where it is the only one); true is 64.
	MeasuredMM float64 `json:"measured_mm"`
	// Centre is where the card lies on the plane.
	Centre geometry.Point `json:"centre_mm"`
	// TurnDeg is the card's turn on the plane, degrees counter-clockwise.
	TurnDeg float64 `json:"turn_deg"`
	// Why says why the card was not used.
	Why string `json:"why,omitempty"`
}

// Camera is a Brown-Conrady camera in front of the plane. A plane point
// X = (x, y, z) mm has camera coordinates R X + T (mm; x right, y down, z
// forward); normalised and distorted by K1, K2 (radial) and P1, P2
// (decentring), it falls on pixel (F x + Cx, F y + Cy).
type Camera struct {
	F  float64    `json:"f_px"`
	Cx float64    `json:"cx_px"`
	Cy float64    `json:"cy_px"`
	K1 float64    `json:"k1"`
	K2 float64    `json:"k2"`
	P1 float64    `json:"p1"`
	P2 float64    `json:"p2"`
	R  [9]float64 `json:"r"`
	T  [3]float64 `json:"t_mm"`
}
