// Package sheet lays pattern pieces on paper at true size: tiles of home paper
// that are joined, large sheets, a roll, or one large page.
//
// What comes before is a drafted garment ([Drafts]) or a traced outline in
// millimetres; what comes after is package export, which writes the pages. [PDF],
// [SVG] and [PNG] do both, and [Findings] says what a print leaves out.
//
// # How pieces lie
//
// All pieces share one grid of sheets. Each is laid, turned by quarters with its
// grain line and its words, where it needs the fewest new sheets; sheets that no
// piece needs are left out. What is written on a piece runs along its grain, as
// large as fits clear of everything that is drawn, and off the joins where it can.
//
// # How tiles join
//
// Every tile shows a window of the drawing, inside the paper's margin. The
// windows of neighbours overlap by 10 mm, and the join line runs in the middle
// of the overlap, so that both sheets show it, and the diamonds that stand on
// it, half a millimetre and more inside the window. The right-hand or lower sheet
// is cut along the line and laid over the strip of its neighbour. Only sheets that
// a piece runs over are joined.
//
// # Printers that are off
//
// Everything is laid out in the millimetres that come out of the printer. A printer
// that is known to scale gets its pages divided by its scales ([Options]), turned
// pages with the two exchanged, and they say whom they are made for.
package sheet
