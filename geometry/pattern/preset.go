package pattern

// Preset is a usual finish for a part of a garment, offered and never applied by
// itself: sources disagree, so that every width belongs to its edge.
type Preset struct {
	// ID names it, Part says which edges of which garment or cloth it suits.
	ID   string `json:"id"`
	Part string `json:"part"`
	// Cloth is any, or the kind of cloth it is meant for.
	Cloth  string `json:"cloth"`
	Finish Finish `json:"finish"`
	// Source says where it comes from; CommonPractice where no source was found.
	Source string `json:"source"`
}

// CommonPractice marks a figure without a source that could be named.
const CommonPractice = "common practice, no source"

const inch = 25.4

func seamOf(mm float64) Finish { return Finish{Kind: FinishSeam, AllowanceMM: mm} }

func hemOf(depth, under float64) Finish {
	if under == 0 {
		return Finish{Kind: FinishHem, DepthMM: depth, Turns: 1}
	}
	return Finish{Kind: FinishHem, DepthMM: depth, Turns: 2, TurnUnderMM: under}
}

// Presets returns the table of usual finishes, seams first.
func Presets() []Preset {
	const anyCloth = "any"
	casing := func(width, ease float64, holds Holds) Finish {
		return Finish{Kind: FinishCasing, Holds: holds, WidthMM: width, EaseMM: ease, TurnUnderMM: inch / 4, OpeningMM: 2 * inch}
	}
	return []Preset{
		{"seam-10", "straight seams", "woven", seamOf(10), "Pattern Cutting, Laurence King 2011, p. 107 (3/8 in, 10 mm)"},
		{"seam-home", "straight seams, home sewing", "woven", seamOf(5 * inch / 8), "University of Kentucky Extension FCS2-304, Seams and Seam Finishes (5/8 in, from memory)"},
		{"seam-half-inch", "straight seams, production", "woven", seamOf(inch / 2), CommonPractice + " (teaching pages)"},
		{"seam-knit", "seams of knits", "knit", seamOf(inch / 4), CommonPractice + " (sewing handbooks give 1/4 to 3/8 in)"},
		{"seam-knit-overlocked", "overlocked seams", "knit", seamOf(7), "Sewing for Fashion Designers, p. 259 (9/32 in)"},
		{"seam-tight-curve", "neck and armhole, sewn to a facing or lining", anyCloth, seamOf(inch / 4), CommonPractice + " (teaching pages)"},
		{"seam-zip", "seam with a zip", anyCloth, seamOf(3 * inch / 4), CommonPractice + " (teaching page)"},
		{"seam-french", "French seam, 3/8 in then 1/4 in", "sheer or light", seamOf(3*inch/8 + inch/4), "Oklahoma Cooperative Extension, 4-H Fabrics and Fashions card 810"},
		{"seam-french-wide", "French seam, 3/8 in then 3/8 in", "light", seamOf(2 * 3 * inch / 8), "Utah State University Extension, French Seam"},
		{"faced-neck", "faced neck or armhole", anyCloth, Finish{Kind: FinishFaced, AllowanceMM: inch / 4}, CommonPractice + " (teaching pages: 1/4 or 3/8 in)"},
		{"bound", "edges covered by a binding", anyCloth, Finish{Kind: FinishBound}, CommonPractice},
		{"hem-straight", "straight skirt", "woven", hemOf(2.5*inch, inch/4), "Texas Agricultural Extension L-359, The Hem of Your Dress or Skirt (2 1/2 in)"},
		{"hem-gored", "gored skirt, 60 to 70 in round", "woven", hemOf(2*inch, inch/4), "Texas Agricultural Extension L-359 (2 in)"},
		{"hem-flared", "flared skirt", "woven", hemOf(1.5*inch, inch/4), "Oregon State University Extension 4-H 1-87 (1 1/2 in)"},
		{"hem-circle", "circular skirt", "woven", hemOf(inch/4, inch/4), "Oregon State University Extension 4-H 1-87 (1/4 in or rolled)"},
		{"hem-narrow", "narrow hem, 1/4 in twice", "light", hemOf(inch/4, inch/4), "Oregon State University Extension 4-H 1-87"},
		{"hem-heavy", "straight hem", "heavy", hemOf(2*inch, 0), "Oregon State University Extension 4-H 1-87 (at most 2 in)"},
		{"hem-blouse", "blouse, shirt, smock", "woven", hemOf(20, 10), CommonPractice + " (a teaching note gives 13 to 38 mm, first turn 10)"},
		{"hem-trouser", "trouser leg", "woven", hemOf(40, 10), CommonPractice + " (32 to 51 mm, from memory)"},
		{"hem-sleeve", "sleeve", "woven", hemOf(30, 10), CommonPractice + " (25 to 38 mm, from memory)"},
		{"hem-t-shirt", "T-shirt, overlocked and turned once", "knit", hemOf(20, 0), CommonPractice + " (19 to 25 mm, from memory)"},
		{"hem-pocket", "top of a patch pocket", "woven", hemOf(25, 10), CommonPractice},
		{"casing-elastic-6", "cuff with a narrow elastic", anyCloth, casing(6, inch/4, HoldsElastic), "Oregon State University Extension 4-H 320-36, Casings and Crotch Seams, 2014 (play and turn-under 1/4 in)"},
		{"casing-elastic-25", "waist with an elastic of 1 in", anyCloth, casing(inch, inch/4, HoldsElastic), "Oregon State University Extension 4-H 320-36, Casings and Crotch Seams, 2014"},
		{"casing-cord", "drawstring of 6 mm", anyCloth, casing(6, inch/4, HoldsCord), CommonPractice + " (guideline 11.125, Fold-Down Casings: at least 1/4 in of play)"},
	}
}
