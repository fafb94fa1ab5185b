// Package sheet lays pattern pieces on paper at true size: tiles of home paper
// that are joined to one sheet, or one large page.
//
// What comes before is a piece's outline in millimetres; what comes after is
// package export, which writes the pages. [PDF], [SVG] and [PNG] do both.
//
// # How tiles join
//
// Every tile shows a window of the drawing, inside the paper's margin. The
// windows of neighbours overlap by 10 mm, and the join line runs in the middle
// of the overlap, so that both sheets show it, and the diamonds that stand on
// it, 5 mm and more inside the window. The right-hand or lower sheet is cut
// along the line and laid over the strip of its neighbour.
//
// A piece lies on upright paper, or on paper on its side where that takes fewer
// sheets; pieces themselves are never turned, because that would turn their
// grain.
package sheet
