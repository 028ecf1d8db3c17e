package disk

import (
	"errors"
	"os"
	"syscall"
)

// sharingViolation is what Windows says of a file that somebody else has open
// and does not share.
const sharingViolation = syscall.Errno(32)

// tryLock opens the file without sharing it.
func tryLock(name string) (*os.File, error) {
	at, err := syscall.UTF16PtrFromString(name)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(at, syscall.GENERIC_READ|syscall.GENERIC_WRITE, 0, nil, syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	switch {
	case errors.Is(err, sharingViolation):
		return nil, errHeld
	case err != nil:
		return nil, &os.PathError{Op: "open", Path: name, Err: err}
	}
	return os.NewFile(uintptr(h), name), nil
}
