package vision

import "fmt"

// Code names the reason of a refusal. Codes are part of the published interface
// and never change their meaning.
type Code string

// The reasons to refuse a photo.
const (
	CodeNotImage    Code = "not-an-image"     // the bytes are no picture that can be read
	CodeUnsupported Code = "unsupported"      // a picture, but of a kind that is not read
	CodeTruncated   Code = "truncated"        // the file ends too early or is damaged
	CodeTooLarge    Code = "too-large"        // more pixels or bytes than the limit
	CodeTooSmall    Code = "too-small"        // too few pixels to measure anything
	CodeNoCard      Code = "no-card"          // no scale card found
	CodeCards       Code = "cards-disagree"   // the cards found do not fit one flat plane
	CodeNoCloth     Code = "no-cloth"         // nothing that looks like cloth
	CodeCutByFrame  Code = "cut-by-frame"     // the cloth runs out of the picture
	CodeBlurred     Code = "blurred"          // too blurred to measure
	CodeOblique     Code = "too-oblique"      // seen at too flat an angle
	CodeStrokes     Code = "strokes-conflict" // the strokes leave no cloth, or all of it
)

// Refusal is the error of a step that cannot go on with this photo. Message says
// what is wrong and Remedy what the person can do, each one sentence in plain
// words.
type Refusal struct {
	Code    Code   `json:"code"`
	Message string `json:"message"`
	Remedy  string `json:"remedy"`
}

// Error returns code, message and remedy on one line.
func (r *Refusal) Error() string { return fmt.Sprintf("%s: %s %s", r.Code, r.Message, r.Remedy) }

// Refuse returns a Refusal as an error.
func Refuse(code Code, message, remedy string) error { return &Refusal{code, message, remedy} }
