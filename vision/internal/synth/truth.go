package synth

import (
	"math"

	"secondcut/geometry"
)

// Truth is the record of what a photo shows, as it is written beside test
// photos. Positions are in the plane frame, mm, y up.
type Truth struct {
	Image  string `json:"image"`
	Width  int    `json:"width"`
	Height int    `json:"height"`
	Expect string `json:"expect"` // "trace" or "refuse"
	Refuse string `json:"refuse_code,omitempty"`
	Notes  string `json:"difficulty,omitempty"`
	// Contrast is the difference of cloth and surface in CIE Lab of 1976.
	Contrast float64      `json:"contrast_lab,omitempty"`
	Camera   TruthCamera  `json:"camera"`
	Cards    []TruthCard  `json:"cards"`
	Pieces   []TruthPiece `json:"pieces"`
	ClothMM  float64      `json:"cloth_top_z_mm"`
	// Things are no cloth.
	Things []TruthThing `json:"things,omitempty"`
}

// TruthCamera is a Brown-Conrady camera; R maps the plane frame to the camera's.
type TruthCamera struct {
	Fx float64       `json:"fx"`
	Fy float64       `json:"fy"`
	Cx float64       `json:"cx"`
	Cy float64       `json:"cy"`
	K1 float64       `json:"k1"`
	K2 float64       `json:"k2"`
	P1 float64       `json:"p1"`
	P2 float64       `json:"p2"`
	R  [3][3]float64 `json:"R"`
	T  [3]float64    `json:"t"`
}

// TruthCard is one scale card.
type TruthCard struct {
	ID      int            `json:"id"`
	Centre  geometry.Point `json:"centre_mm"`
	TurnDeg float64        `json:"rotation_deg"`
	OnPlane bool           `json:"on_plane"`
}

// TruthPiece is the clean edge of one piece.
type TruthPiece struct {
	Name    string              `json:"name"`
	Outline geometry.Polyline   `json:"outline_mm"`
	Corners []geometry.Point    `json:"corners_mm"`
	Holes   []geometry.Polyline `json:"holes_mm,omitempty"`
	Path    geometry.Path       `json:"knots"`
	Defects TruthDefects        `json:"defects"`
	Notches []TruthNotch        `json:"notches_mm,omitempty"`
}

// TruthNotch is a cut into the edge: Kind is "V", or "tear" for one that leans.
type TruthNotch struct {
	At      geometry.Point `json:"at_mm"` // on the clean edge
	Kind    string         `json:"kind"`
	DepthMM float64        `json:"depth_mm"`
	WidthMM float64        `json:"width_mm"`
}

// TruthDefects says what happened to the clean edge.
type TruthDefects struct {
	Fray    *TruthFray    `json:"fray,omitempty"`
	Scallop *TruthScallop `json:"scallop,omitempty"`
	Ripple  float64       `json:"ripple_mm,omitempty"`
}

// TruthFray is the depth of the ragged loss and the length of loose threads.
type TruthFray struct {
	LossMM   float64 `json:"loss_mm"`
	ThreadMM float64 `json:"thread_mm"`
}

// TruthScallop is the wave that an elastic left.
type TruthScallop struct {
	HeightMM float64 `json:"peak_to_peak_mm"`
	PeriodMM float64 `json:"period_mm"`
}

// truthTol is the distance in mm of a truth outline's chords from its path.
const truthTol = 0.02

// Truth returns the record for the photo of the scene, under the given file name.
func (s Scene) Truth(image string) Truth {
	c := s.Camera
	t := Truth{
		Image: image, Width: s.Width, Height: s.Height, Expect: "trace", Refuse: s.Refuse, Notes: s.Notes, Contrast: s.Contrast, ClothMM: s.ThicknessMM,
		Camera: TruthCamera{
			Fx: c.F, Fy: c.F, Cx: c.Cx, Cy: c.Cy, K1: c.K1, K2: c.K2, P1: c.P1, P2: c.P2,
			R: [3][3]float64{{c.R[0], c.R[1], c.R[2]}, {c.R[3], c.R[4], c.R[5]}, {c.R[6], c.R[7], c.R[8]}}, T: c.T,
		},
	}
	if s.Refuse != "" {
		t.Expect = "refuse"
	}
	for _, k := range s.Cards {
		t.Cards = append(t.Cards, TruthCard{k.ID, k.Centre, k.TurnDeg, k.LiftMM == 0})
	}
	for _, p := range s.Pieces {
		t.Pieces = append(t.Pieces, p.truth())
	}
	t.Things = s.things()
	return t
}

func (p Piece) truth() TruthPiece {
	t := TruthPiece{Name: p.Name, Outline: p.Path.Flatten(truthTol), Corners: sharp(p.Path), Path: p.Path}
	for _, h := range p.Holes {
		t.Holes = append(t.Holes, h.Flatten(truthTol))
	}
	if p.Edge.LossMM > 0 || p.Edge.Threads > 0 {
		t.Defects.Fray = &TruthFray{p.Edge.LossMM, p.Edge.ThreadMM}
	}
	for _, n := range p.Edge.Nicks {
		kind := "V"
		if n.Lean != 0 {
			kind = "tear"
		}
		t.Notches = append(t.Notches, TruthNotch{along(t.Outline, n.Along), kind, n.DepthMM, n.WidthMM})
	}
	t.Defects.Ripple = p.RippleMM
	if p.Edge.ScallopMM > 0 {
		t.Defects.Scallop = &TruthScallop{p.Edge.ScallopMM, p.Edge.ScallopPeriod}
	}
	return t
}

// along returns the point of a ring at a share of its length from its first.
func along(ring geometry.Polyline, share float64) geometry.Point {
	left := share * ring.Length()
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if l := a.Dist(b); left <= l {
			return a.Lerp(b, left/max(l, 1e-9))
		} else {
			left -= l
		}
	}
	return ring[0]
}

// sharp returns the knots at which the path turns by 20 degrees or more.
func sharp(p geometry.Path) []geometry.Point {
	var out []geometry.Point
	for i := range p {
		in, next := p.Segment((i+len(p)-1)%len(p)), p.Segment(i)
		a, b := in.Deriv(1), next.Deriv(0)
		if math.Abs(math.Atan2(a.Cross(b), a.Dot(b))) >= rad(20) {
			out = append(out, p[i].At)
		}
	}
	return out
}
