package api

import (
	"errors"
	"fmt"
	"time"
)

// Code names the reason of an error. Codes are part of the published interface
// and never change their meaning. The codes of package vision stand beside these.
type Code string

// The codes of the service.
const (
	CodeNotFound       Code = "not-found"       // no such garment, photo, piece, job or page
	CodeStale          Code = "stale"           // changed meanwhile; Current carries what it is now
	CodeVersionMissing Code = "version-missing" // an edit must say which version it starts from
	CodeInvalid        Code = "invalid"         // a value that cannot be accepted; Field names it
	CodeBadRequest     Code = "bad-request"     // the request itself cannot be read
	CodeTooManyBytes   Code = "too-large"       // the body is larger than accepted
	CodeWrongType      Code = "unsupported"     // the body is of a kind that is not accepted
	CodeKeyReused      Code = "key-reused"      // the idempotency key was used for something else
	CodeNotReady       Code = "not-ready"       // asked for before it was made
	CodeSignIn         Code = "sign-in"         // this device has not been let in
	CodeForbidden      Code = "forbidden"       // not from here
	CodeWrongHost      Code = "wrong-host"      // asked under a name that is not this service's
	CodeLinkUsed       Code = "link-used"       // a one-time link that is spent or unknown
	CodeDamaged        Code = "damaged"         // what was kept cannot be read any more
	CodeQueueFull      Code = "queue-full"      // as many jobs wait as may
	CodeUnavailable    Code = "unavailable"     // the store does not answer now; it may soon
	CodeStorageFull    Code = "storage-full"    // there is no room for what was sent
	CodeTooMany        Code = "too-many"        // a garment has as much as it may have
	CodeTooFast        Code = "too-fast"        // too many requests in a short time
	CodeOffset         Code = "wrong-offset"    // a part of an upload that does not continue it; Current says where it stands
	CodeThere          Code = "already-there"   // what is to be made exists
	CodeInternal       Code = "internal"        // the service's own fault; logged
)

// Error is an error with a message for the person: Message says what is wrong
// and Remedy what to do, each one sentence in plain words.
type Error struct {
	Code    Code
	Message string
	Remedy  string
	// Field is the JSON name of the value that CodeInvalid is about.
	Field string
	// Current is the record as it stands now, for CodeStale.
	Current any
	// Cause is for the log, not for the person.
	Cause error
	// RetryAfter is when it makes sense to try again; 0 is not known.
	RetryAfter time.Duration
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Error returns code and message on one line.
func (e *Error) Error() string { return fmt.Sprintf("%s: %s", e.Code, e.Message) }

// CodeOf returns the code of the first [Error] in err's chain, or CodeInternal.
func CodeOf(err error) Code {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return CodeInternal
}

// NotFound returns the error for a missing record; what is the word the person
// knows it by, such as "photo".
func NotFound(what string) error {
	return &Error{Code: CodeNotFound, Message: "There is no such " + what + ".", Remedy: "It may have been deleted; go back to the list of garments."}
}

// Damaged returns the error for something kept that cannot be read any more.
func Damaged(what string, cause error) error {
	return &Error{
		Code: CodeDamaged, Cause: cause,
		Message: "What was kept of this " + what + " is damaged.",
		Remedy:  "Bring it back from a backup, or delete it and begin again; secondcut doctor lists what is damaged.",
	}
}

// Unavailable returns the error for a store that cannot be used just now.
func Unavailable(cause error) error {
	return &Error{
		Code: CodeUnavailable, Cause: cause, RetryAfter: 10 * time.Second,
		Message: "The data folder cannot be used at the moment.",
		Remedy:  "Try again in a moment; if it stays so, see whether the folder is there and can be written to.",
	}
}

// StorageFull returns the error for a store that has no room left.
func StorageFull(cause error) error {
	return &Error{
		Code: CodeStorageFull, Cause: cause, RetryAfter: 5 * time.Minute,
		Message: "There is no room left for this.",
		Remedy:  "Make room on the disk, empty the trash, or delete garments that you have saved elsewhere.",
	}
}

// Stale returns the error for an edit that starts from an old version of the
// record whose present state is current.
func Stale(current any) error {
	return &Error{
		Code: CodeStale, Current: current,
		Message: "This was changed somewhere else in the meantime.",
		Remedy:  "Load it again and repeat your change.",
	}
}

// Invalid returns the error for a value that cannot be accepted.
func Invalid(field, message, remedy string) error {
	return &Error{Code: CodeInvalid, Field: field, Message: message, Remedy: remedy}
}
