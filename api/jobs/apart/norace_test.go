//go:build !race

package apart_test

const raced = false
