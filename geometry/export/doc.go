// Package export writes drawings to files: PDF, SVG and PNG.
//
// A [Drawing] is neutral: pages of shapes, texts and windows in millimetres, y
// up, origin at the page's lower left corner. Package sheet and the scale card
// build drawings; the writers here only put them into bytes. The same drawing
// always gives the same bytes: no dates, no random identifiers.
//
// Text is set in Liberation Sans (SIL Open Font License 1.1, from
// github.com/go-fonts/liberation), whose letters are as wide as Arial's, so that
// an SVG looks the same where the font itself is missing. It covers the Latin,
// Greek and Cyrillic letters of Europe, and Hebrew. In PDF it is embedded as a subset and
// stays searchable; a character that the font lacks is drawn as an empty box,
// and [Lacking] names it.
package export
