// Package rest serves the store and the queue over HTTP: JSON under /api/v1,
// described by an OpenAPI 3.1 document made from the code; the page's files; and
// the one-time link that lets a phone in.
//
// Every answer that is no success is a problem document (RFC 9457) with a code
// and a remedy. Which error becomes which status stands in one table, in
// status.go.
package rest
