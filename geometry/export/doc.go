// Package export writes drawings to files: PDF, SVG and PNG.
//
// A [Drawing] is neutral: pages of shapes, texts and windows in millimetres, y
// up, origin at the page's lower left corner. Package sheet and the scale card
// build drawings; the writers here only put them into bytes. The same drawing
// always gives the same bytes: no dates, no random identifiers.
//
// Text is set in the Go fonts (Bigelow & Holmes 2016, BSD licence, from
// golang.org/x/image/font/gofont), which cover the Latin, Greek and Cyrillic
// letters of Europe. In PDF they are embedded as subsets and stay searchable; a
// character that the fonts lack is written as a question mark.
package export
