// Package api holds the nouns of the service: garments, photos, pieces and jobs
// as they are stored and sent, the error codes that a caller may meet, and the
// [Store] and [Queue] that the rest of the service is written against.
//
// # Flow
//
// Package rest takes a photo in and hands it to the store; the queue (package
// jobs) runs the steps of package pipeline on it and tells the store what came
// out; the store (package store) announces every change, which package rest
// passes on to the page as server-sent events.
//
// The record of a piece is the one truth of its outline and of what hangs on it; a
// garment file is composed of the records whenever one is asked for ([Compose]), and
// taken apart into records when one is brought in ([FromFile]).
//
// Lengths are millimetres in the plane frame of the photo, y up. JSON names are
// snake_case and carry the unit where there is one.
package api
