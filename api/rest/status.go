package rest

import (
	"net/http"

	"secondcut/api"
	"secondcut/vision"
)

// statusOf is the one table from error code to HTTP status. A code that is not
// here is the service's own fault and shown as internal.
var statusOf = map[api.Code]int{
	api.CodeBadRequest:     http.StatusBadRequest,
	api.CodeSignIn:         http.StatusUnauthorized,
	api.CodeForbidden:      http.StatusForbidden,
	api.CodeNotFound:       http.StatusNotFound,
	api.CodeNotReady:       http.StatusNotFound,
	api.CodeLinkUsed:       http.StatusGone,
	api.CodeStale:          http.StatusPreconditionFailed,
	api.CodeTooManyBytes:   http.StatusRequestEntityTooLarge,
	api.CodeWrongType:      http.StatusUnsupportedMediaType,
	api.CodeWrongHost:      http.StatusMisdirectedRequest,
	api.CodeInvalid:        http.StatusUnprocessableEntity,
	api.CodeKeyReused:      http.StatusUnprocessableEntity,
	api.CodeVersionMissing: http.StatusPreconditionRequired,
	api.CodeTooMany:        http.StatusConflict,
	api.CodeThere:          http.StatusConflict,
	api.CodeOffset:         http.StatusConflict,
	api.CodeTooFast:        http.StatusTooManyRequests,
	api.CodeDamaged:        http.StatusInternalServerError,
	api.CodeQueueFull:      http.StatusServiceUnavailable,
	api.CodeUnavailable:    http.StatusServiceUnavailable,
	api.CodeStorageFull:    http.StatusInsufficientStorage,
	api.CodeInternal:       http.StatusInternalServerError,
}

// statusOfPhoto does the same for photos that are refused.
var statusOfPhoto = map[vision.Code]int{
	vision.CodeNotImage:    http.StatusUnsupportedMediaType,
	vision.CodeUnsupported: http.StatusUnsupportedMediaType,
}

// photoStatus is the status of all other refusals: a picture, but not one that
// can be used.
const photoStatus = http.StatusUnprocessableEntity
