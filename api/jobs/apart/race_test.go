//go:build race

package apart_test

// raced says that the race detector watches: it takes far more memory for itself
// than a child may have.
const raced = true
