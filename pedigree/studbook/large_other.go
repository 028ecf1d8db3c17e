//go:build !linux

package studbook

// large makes a list of n.
func large[T any](n int) []T { return make([]T, n) }
