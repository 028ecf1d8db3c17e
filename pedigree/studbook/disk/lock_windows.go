package disk

import (
	"errors"
	"os"
	"syscall"
	"time"
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

// abandoned is how old something must be to count as left behind: nothing that is
// open can be renamed here, so that no lock would last to the end.
const abandoned = 10 * time.Minute

// lockOpen takes no lock, but age.
func lockOpen(*os.File) bool { return true }

// removeUnlocked removes a file or a folder that is old.
func removeUnlocked(name string) {
	if info, err := os.Lstat(name); err == nil && time.Since(info.ModTime()) > abandoned {
		_ = os.RemoveAll(name)
	}
}

// moveOpen closes a file or folder and gives it another name.
func moveOpen(f *os.File, to string) error {
	_ = f.Close() // what is in it is on the disk
	return os.Rename(f.Name(), to)
}

// removeOpen closes a file or folder and removes it.
func removeOpen(f *os.File) error {
	_ = f.Close() // a second time where it could not be moved
	return os.RemoveAll(f.Name())
}
