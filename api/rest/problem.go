package rest

import (
	"cmp"
	"context"
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"

	"secondcut/api"
	"secondcut/vision"
)

// Problem is the body of every answer that is no success (RFC 9457). Detail says
// what is wrong and Remedy what to do, for the person; Code is for programs.
type Problem struct {
	Type   string         `json:"type" doc:"Always about:blank: the code says what kind of problem it is."`
	Title  string         `json:"title" doc:"The status in words."`
	Status int            `json:"status" doc:"The HTTP status."`
	Detail string         `json:"detail" doc:"What is wrong, in one sentence for the person."`
	Code   string         `json:"code" doc:"What is wrong, for programs; never changes its meaning."`
	Remedy string         `json:"remedy" doc:"What to do, in one sentence for the person."`
	Errors []FieldProblem `json:"errors,omitempty" nullable:"false" doc:"The values that cannot be accepted."`
	// Current is the record as it is now, where an edit started from an old one.
	Current any `json:"current,omitempty" doc:"The record as it is now, where an edit started from an old one."`
	// retryAfter is for the header of that name, in seconds; 0 leaves it out.
	retryAfter int
}

// FieldProblem is what is wrong with one value.
type FieldProblem struct {
	Field   string `json:"field" doc:"Where the value stands, such as body.knots[3].at."`
	Message string `json:"message"`
}

// Error returns the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus returns the HTTP status.
func (p *Problem) GetStatus() int { return p.Status }

// GetHeaders returns the header that says when to try again.
func (p *Problem) GetHeaders() http.Header {
	if p.retryAfter == 0 {
		return nil
	}
	return http.Header{"Retry-After": {strconv.Itoa(p.retryAfter)}}
}

// ContentType names the media type of a problem.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

func newProblem(status int, code, detail, remedy string) *Problem {
	return &Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Code: code, Detail: detail, Remedy: remedy}
}

// huma makes its own errors by this package variable of its; there is no other
// way to give them our shape.
func init() { huma.NewError = frameworkProblem }

// frameworkProblem turns an error that huma found in a request into a problem.
// Values are not repeated: they may be long or private.
func frameworkProblem(status int, message string, errs ...error) huma.StatusError {
	if strings.Contains(message, "cannot read request body") {
		status = http.StatusBadRequest // the client broke off
	}
	code, detail, remedy := api.CodeBadRequest, "The request cannot be read.", "Load the page again and repeat the step."
	switch status {
	case http.StatusUnprocessableEntity:
		code, detail = api.CodeInvalid, "A value in the request cannot be accepted."
	case http.StatusRequestEntityTooLarge:
		code, detail, remedy = api.CodeTooManyBytes, "What was sent is too large.", "A photo may have 64 MB, a garment file 16 MB and anything else 4 MB; send less at once."
	case http.StatusUnsupportedMediaType:
		code, detail = api.CodeWrongType, "This kind of content is not accepted here."
	case http.StatusInternalServerError:
		code, detail, remedy = api.CodeInternal, internalDetail, internalRemedy
	}
	p := newProblem(status, string(code), detail, remedy)
	for _, err := range errs {
		if d, ok := err.(huma.ErrorDetailer); ok && d.ErrorDetail() != nil {
			p.Errors = append(p.Errors, FieldProblem{d.ErrorDetail().Location, d.ErrorDetail().Message})
		}
	}
	if len(p.Errors) > 0 && status == http.StatusUnprocessableEntity {
		p.Detail = "A value in the request cannot be accepted: " + p.Errors[0].Field + ": " + p.Errors[0].Message + "."
	}
	return p
}

const (
	internalDetail = "Something went wrong in the service."
	internalRemedy = "Try again; if it stays so, look into the service's log."
)

// problem turns an error of a handler into a problem. An unknown one is logged,
// and its text is not shown.
func (s *service) problem(ctx context.Context, err error) *Problem {
	if r, ok := errors.AsType[*vision.Refusal](err); ok {
		return newProblem(cmp.Or(statusOfPhoto[r.Code], photoStatus), string(r.Code), r.Message, r.Remedy)
	}
	e, ok := errors.AsType[*api.Error](err)
	if !ok || statusOf[e.Code] == 0 {
		if ctx.Err() == nil { // else the client has gone
			s.log.ErrorContext(ctx, "request failed", "request", requestID(ctx), "error", err)
		}
		return newProblem(http.StatusInternalServerError, string(api.CodeInternal), internalDetail, internalRemedy)
	}
	p := newProblem(statusOf[e.Code], string(e.Code), e.Message, e.Remedy)
	p.Current = e.Current
	p.retryAfter = int(math.Ceil(e.RetryAfter.Seconds()))
	if e.Cause != nil {
		s.log.ErrorContext(ctx, "request failed", "request", requestID(ctx), "error", e.Cause)
	}
	if e.Field != "" {
		field := e.Field
		if !strings.HasPrefix(field, queryPrefix) {
			field = "body." + field
		}
		p.Errors = []FieldProblem{{field, e.Message}}
	}
	return p
}

// queryPrefix begins the name of a field that stands in the address.
const queryPrefix = "query."

// refuse answers a request that no huma handler gets to see.
func (s *service) refuse(c *gin.Context, err error) {
	p := s.problem(c.Request.Context(), err)
	for name, values := range p.GetHeaders() {
		c.Header(name, values[0])
	}
	c.Header("Content-Type", p.ContentType(""))
	c.AbortWithStatusJSON(p.Status, p)
}
