package geometry

// Severity says how much a finding matters: SeverityInfo (good to know),
// SeverityWarning (the result may be off), SeverityError (do not use it so).
type Severity string

// The three severities.
const (
	SeverityInfo    Severity = "info"
	SeverityWarning Severity = "warning"
	SeverityError   Severity = "error"
)

// Finding is something that a step noticed and the person should know; the step
// went on. Message says what is the matter in the person's words, Remedy what
// to do about it. The others are left out where they do not apply: Piece is the id
// of the pattern piece that it is about, in whose frame Where lies, Field the value
// that it is about; Amount and Limit share the unit that Message names.
type Finding struct {
	Code     string   `json:"code"`
	Severity Severity `json:"severity"`
	Message  string   `json:"message"`
	Remedy   string   `json:"remedy,omitempty"`
	Piece    string   `json:"piece,omitempty"`
	Field    string   `json:"field,omitempty"`
	Where    *Point   `json:"where_mm,omitempty"`
	Amount   float64  `json:"amount,omitempty"`
	Limit    float64  `json:"limit,omitempty"`
}
