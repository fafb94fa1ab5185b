// Package apart runs a tracer in processes of its own, so that a photo which
// brings the image library down, or takes too much memory, ends one process that
// holds no other photo. It implements [jobs.Tracer].
//
// Parent and child speak over the child's standard input and output, in frames: a
// header in JSON and, where there is one, a picture behind it. The child serves
// one request at a time ([Serve]); to stop it in the midst of one, the parent
// kills it. A child that has opened a photo keeps it decoded, with camera and
// models, until its session is closed: a stroke is then answered without reading
// the photo again. A child whose parent dies finds its input closed and ends. One that
// has done its work well is kept for a while for the next photo ([Tracer.Spare]): they
// are photos of the same people, of one store.
//
// What a child may take is set by the operating system ([Limit]): its memory, and
// that it writes no file at all.
package apart
