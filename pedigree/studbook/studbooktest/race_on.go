//go:build race

package studbooktest

func init() { Race = true }
