//go:build !windows

package disk

import (
	"errors"
	"os"
	"syscall"
)

// tryLock opens the file with an advisory lock on the open file, which also
// keeps out other openings by the same program.
func tryLock(name string) (*os.File, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	switch {
	case err == nil:
		return f, nil
	case errors.Is(err, syscall.EWOULDBLOCK), errors.Is(err, syscall.EINTR):
		err = errHeld
	default:
		err = &os.PathError{Op: "lock", Path: name, Err: err}
	}
	return nil, errors.Join(err, f.Close())
}
