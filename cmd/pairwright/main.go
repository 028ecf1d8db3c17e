// Pairwright advises on breeding pairs in a managed colony of pair-bonding
// birds. See README.md for what it does and how to begin.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"syscall"
	"time"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
)

func main() {
	if os.Getenv("GOGC") == "" && os.Getenv("GOMEMLIMIT") == "" {
		collectSeldom()
	}
	ends := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // as nohup has it
		ends = append(ends, syscall.SIGHUP) // the terminal is closed
	}
	ctx, stop := signal.NotifyContext(context.Background(), ends...)
	go endSoon(ctx, stop)
	args := os.Args[1:]
	if len(args) == 0 && clicked() {
		args = []string{"serve", "--button"}
	}
	cobra.MousetrapHelpText = "" // a click is no mistake here
	os.Exit(run(ctx, args, os.Stdout, os.Stderr))
}

// patience is for how long what was stopped may take to end in its own way.
const patience = 700 * time.Millisecond

// endSoon ends the program when it has been stopped and does not end by itself, as
// where it waits for somebody at the other end of a pipe. What it writes is whole
// whenever it ends. A second Ctrl-C ends it at once.
func endSoon(ctx context.Context, stop context.CancelFunc) {
	<-ctx.Done()
	stop()
	time.Sleep(patience)
	os.Exit(exitCode(ctx.Err(), os.Stderr))
}

// collectSeldom lets garbage lie for longer than Go does: a command is over in a
// moment, and to collect while memory doubles takes a tenth of its time. Garbage may
// come to four times what is in use, but to no more than garbageMost, or as much as
// is in use where that is more. All the memory is kept within a bound that leaves room in
// a gigabyte for what else a process has, or where more is in use, to a quarter more than
// that: Go sees to it at any time, while what is set here may come a collection late.
func collectSeldom() {
	const garbageMost, memory = 256 << 20, 850 << 20 // bytes
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	var set func(int)
	set = func(int) { // once now, and after each collection
		metrics.Read(live)
		percent, inUse := 400, int(live[0].Value.Uint64())
		if inUse > 0 {
			percent = min(400, max(100, 100*garbageMost/inUse))
		}
		debug.SetGCPercent(percent)
		debug.SetMemoryLimit(int64(max(memory, inUse+inUse/4)))
		runtime.AddCleanup(new([]byte), set, 0)
	}
	set(0)
}

// clicked reports whether the program was started with the mouse: nobody is at
// a terminal, and there is a screen to show pages on.
func clicked() bool {
	if mousetrap.StartedByExplorer() {
		return true
	}
	screen := os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
	return screen && !terminal(os.Stdin) && !terminal(os.Stdout) && !terminal(os.Stderr)
}

// terminal reports whether somebody may be reading, or typing, at the other end
// of a file: it is a device, and not the one that stands for nothing.
func terminal(f *os.File) bool {
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	nothing, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, nothing)
}
