package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/require"
)

// fate is what becomes of a system call of a traced program.
type fate int

const (
	passes fate = iota
	killed      // the program is killed before the call is made
	halved      // half of what is to be written is written, then the program is killed
	fails       // the call is not made and returns an error
)

// change is a system call that changes a file or a folder, or opens it for that.
type change struct{ call, file string }

// traced runs a program in a folder under ptrace(2). Before each change to what is
// in the folder, judge tells what becomes of it. The exit code is -1 for a program
// that was killed.
func traced(t *testing.T, dir string, judge func(change) (fate, syscall.Errno), program string, args ...string) (code int, said string) {
	t.Helper()
	dir, err := filepath.EvalSymlinks(dir)
	require.NoError(t, err)
	told, err := os.Create(filepath.Join(t.TempDir(), "stderr"))
	require.NoError(t, err)
	defer told.Close()
	nowhere, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	require.NoError(t, err)
	defer nowhere.Close()
	attr := &syscall.ProcAttr{
		Dir: dir, Env: os.Environ(), Files: []uintptr{nowhere.Fd(), nowhere.Fd(), told.Fd()},
		Sys: &syscall.SysProcAttr{Ptrace: true, Setpgid: true},
	}
	done := make(chan error)
	go func() {
		runtime.LockOSThread() // for good: a thread is traced by a thread, and what is filtered stays so
		err := filter()
		pid := 0
		if err == nil {
			pid, err = syscall.ForkExec(program, append([]string{program}, args...), attr)
		}
		if err == nil {
			f := &follower{pid: pid, dir: dir, judge: judge}
			code, err = f.follow()
		}
		done <- err
	}()
	require.NoError(t, <-done)
	raw, err := os.ReadFile(told.Name())
	require.NoError(t, err)
	return code, string(raw)
}

// writes are the flags of open that are for changing something.
const writes = syscall.O_WRONLY | syscall.O_RDWR | syscall.O_CREAT | syscall.O_TRUNC

// filter has the kernel stop the programs that this thread starts at the calls that
// may change files, and at no other; see seccomp(2). The thread itself cannot make
// them any more, so that it must use no function of the package os: a test writes down
// which files they look at.
func filter() error {
	const (
		load, equal, anyOf, give = 0x20, 0x15, 0x45, 0x06 // BPF_LD|W|ABS, BPF_JMP|JEQ|K, BPF_JMP|JSET|K, BPF_RET|K
		allow, trace             = 0x7fff0000, 0x7ff00000
		number, openFlags        = 0, 16 + 2*8 // in struct seccomp_data
	)
	program := []syscall.SockFilter{
		{Code: load, K: number}, {Code: equal, K: syscall.SYS_OPENAT, Jf: 4},
		{Code: load, K: openFlags}, {Code: anyOf, K: writes, Jf: 1}, {Code: give, K: trace}, {Code: give, K: allow},
	}
	for _, call := range watched {
		program = append(program, syscall.SockFilter{Code: equal, K: call, Jf: 1}, syscall.SockFilter{Code: give, K: trace})
	}
	program = append(program, syscall.SockFilter{Code: give, K: allow})
	all := syscall.SockFprog{Len: uint16(len(program)), Filter: &program[0]}
	const noNewPrivileges, setSeccomp, byFilter = 38, 22, 2 // of prctl(2)
	if _, _, err := syscall.RawSyscall6(syscall.SYS_PRCTL, noNewPrivileges, 1, 0, 0, 0, 0); err != 0 {
		return err
	}
	if _, _, err := syscall.RawSyscall(syscall.SYS_PRCTL, setSeccomp, byFilter, uintptr(unsafe.Pointer(&all))); err != 0 {
		return err
	}
	return nil
}

// watched are the calls besides openat that may change files.
var watched = []uint32{
	syscall.SYS_WRITE, syscall.SYS_PWRITE64, syscall.SYS_FSYNC, syscall.SYS_FDATASYNC, syscall.SYS_FTRUNCATE, syscall.SYS_FCHMOD, syscall.SYS_FCHMODAT,
	syscall.SYS_FLOCK, syscall.SYS_MKDIRAT, syscall.SYS_UNLINKAT, syscall.SYS_RENAMEAT, sysRenameat2,
	syscall.SYS_OPEN, syscall.SYS_CREAT, syscall.SYS_TRUNCATE, syscall.SYS_RENAME, syscall.SYS_UNLINK, syscall.SYS_RMDIR, syscall.SYS_MKDIR, syscall.SYS_LINK, syscall.SYS_LINKAT,
	syscall.SYS_SYMLINK, syscall.SYS_SYMLINKAT, syscall.SYS_CHMOD, syscall.SYS_SENDFILE, syscall.SYS_PWRITEV, syscall.SYS_WRITEV, syscall.SYS_FALLOCATE, sysCopyFileRange, sysOpenat2,
}

// Of linux/amd64, which the package syscall does not name.
const (
	sysRenameat2     = 316
	sysCopyFileRange = 326
	sysOpenat2       = 437
)

// follower follows a program and its threads from stop to stop.
type follower struct {
	pid   int
	dir   string
	judge func(change) (fate, syscall.Errno)
}

// follow runs the program to its end and returns its exit code.
func (f *follower) follow() (code int, err error) {
	const options = 0x1 | 0x8 | 0x80 | 0x100000 // PTRACE_O_: TRACESYSGOOD, TRACECLONE, TRACESECCOMP, EXITKILL
	const filtered = 7                          // PTRACE_EVENT_SECCOMP
	var status syscall.WaitStatus
	if _, err := syscall.Wait4(f.pid, &status, syscall.WALL, nil); err != nil {
		return 0, err
	}
	if err := syscall.PtraceSetOptions(f.pid, options); err != nil {
		return 0, err
	}
	thread, goOn := f.pid, syscall.PtraceCont
	begun := make(map[int]bool)
	signal := 0
	for {
		if err := goOn(thread, signal); err != nil && !errors.Is(err, syscall.ESRCH) { // or killed
			return 0, err
		}
		goOn, signal = syscall.PtraceCont, 0
		for running := true; running; {
			thread, err = syscall.Wait4(-f.pid, &status, syscall.WALL, nil)
			switch {
			case errors.Is(err, syscall.EINTR):
			case err != nil:
				return 0, err
			case status.Exited() && thread == f.pid:
				return status.ExitStatus(), nil
			case status.Signaled() && thread == f.pid:
				return -1, nil
			default:
				running = !status.Stopped() // else a thread has ended
			}
		}
		switch stop := status.StopSignal(); {
		case stop == syscall.SIGTRAP && status.TrapCause() == filtered:
			halve, err := f.decide(thread)
			if err != nil && !errors.Is(err, syscall.ESRCH) {
				return 0, err
			}
			if halve { // and stop when it is done
				goOn = syscall.PtraceSyscall
			}
		case stop == syscall.SIGTRAP|0x80:
			if err := syscall.Kill(f.pid, syscall.SIGKILL); err != nil {
				return 0, err
			}
		case stop == syscall.SIGTRAP: // a thread was made
		case stop == syscall.SIGSTOP && !begun[thread]:
			begun[thread] = true
		default:
			signal = int(stop)
		}
	}
}

// decide has done what becomes of the call that a thread is about to make.
func (f *follower) decide(thread int) (halve bool, err error) {
	var regs syscall.PtraceRegs
	if err := syscall.PtraceGetRegs(thread, &regs); err != nil {
		return false, err
	}
	then, errno, err := f.sentence(thread, &regs)
	switch {
	case err != nil || then == passes:
		return false, err
	case then == killed:
		return false, syscall.Kill(f.pid, syscall.SIGKILL)
	case then == halved:
		regs.Rdx /= 2
	case then == fails:
		regs.Orig_rax, regs.Rax = ^uint64(0), uint64(-int64(errno)) // no call
	}
	return then == halved, syscall.PtraceSetRegs(thread, &regs)
}

// sentence asks what becomes of the call that a thread is about to make.
func (f *follower) sentence(thread int, r *syscall.PtraceRegs) (fate, syscall.Errno, error) {
	var c change
	var err error
	switch r.Orig_rax {
	case syscall.SYS_OPENAT:
		c.call = "open"
		c.file, err = f.named(thread, r.Rdi, r.Rsi)
	case syscall.SYS_WRITE, syscall.SYS_PWRITE64:
		c = change{"write", f.opened(r.Rdi)}
	case syscall.SYS_FSYNC, syscall.SYS_FDATASYNC:
		c = change{"sync", f.opened(r.Rdi)}
	case syscall.SYS_FTRUNCATE:
		c = change{"truncate", f.opened(r.Rdi)}
	case syscall.SYS_FCHMOD:
		c = change{"chmod", f.opened(r.Rdi)}
	case syscall.SYS_FLOCK:
		c = change{"lock", f.opened(r.Rdi)}
	case syscall.SYS_FCHMODAT:
		c.call = "chmod"
		c.file, err = f.named(thread, r.Rdi, r.Rsi)
	case syscall.SYS_MKDIRAT:
		c.call = "mkdir"
		c.file, err = f.named(thread, r.Rdi, r.Rsi)
	case syscall.SYS_UNLINKAT:
		c.call = "remove"
		c.file, err = f.named(thread, r.Rdi, r.Rsi)
	case syscall.SYS_RENAMEAT, sysRenameat2:
		c.call = "rename"
		c.file, err = f.named(thread, r.Rdx, r.R10)
	default:
		err = fmt.Errorf("system call %d changes files and is not followed yet", r.Orig_rax)
	}
	if err != nil || c.file != f.dir && !strings.HasPrefix(c.file, f.dir+"/") {
		return passes, 0, err
	}
	then, errno := f.judge(c)
	return then, errno, nil
}

// opened is the file of a descriptor of the program.
func (f *follower) opened(descriptor uint64) string {
	name := make([]byte, 4096) // PATH_MAX
	n, err := syscall.Readlink(fmt.Sprintf("/proc/%d/fd/%d", f.pid, descriptor), name)
	if err != nil {
		return ""
	}
	return string(name[:n])
}

// named is the file that a call names from a folder on.
func (f *follower) named(thread int, folder, address uint64) (string, error) {
	var name []byte
	for block := make([]byte, 8); ; address += 8 {
		if _, err := syscall.PtracePeekData(thread, uintptr(address), block); err != nil {
			return "", err
		}
		word, _, ended := strings.Cut(string(block), "\x00")
		name = append(name, word...)
		if ended {
			break
		}
	}
	const here = -100 // AT_FDCWD
	switch {
	case filepath.IsAbs(string(name)):
		return filepath.Clean(string(name)), nil
	case int32(folder) == here:
		return filepath.Join(f.dir, string(name)), nil
	}
	return filepath.Join(f.opened(folder), string(name)), nil
}
