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
	if err = flock(f); err == nil {
		return f, nil
	}
	if !errors.Is(err, errHeld) {
		err = &os.PathError{Op: "lock", Path: name, Err: err}
	}
	return nil, errors.Join(err, f.Close())
}

// flock takes the lock of an open file. The error is errHeld where somebody else
// has it.
func flock(f *os.File) error {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) || errors.Is(err, syscall.EINTR) {
		return errHeld
	}
	return err
}

// lockOpen takes the lock of a new file or folder, and reports false if somebody
// else was faster. Where the system has no locks it goes without: nobody else gets
// one there either.
func lockOpen(f *os.File) bool { return !errors.Is(flock(f), errHeld) }

// removeUnlocked removes a file or a folder that nobody holds a lock on.
func removeUnlocked(name string) {
	f, err := os.Open(name)
	if err != nil {
		return
	}
	defer f.Close()
	if flock(f) == nil && isStill(f) {
		_ = os.RemoveAll(name)
	}
}

// moveOpen gives an open file or folder another name and closes it: not before,
// so that its lock lasts until it is there.
func moveOpen(f *os.File, to string) error {
	if err := os.Rename(f.Name(), to); err != nil {
		return err
	}
	_ = f.Close() // what is in it is on the disk
	return nil
}

// removeOpen removes an open file or folder.
func removeOpen(f *os.File) error { return os.RemoveAll(f.Name()) }
