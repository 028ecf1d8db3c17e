// Pairwright advises on breeding pairs in a managed colony of pair-bonding
// birds. See README.md for what it does and how to begin.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
)

// A command is over in a moment, so collecting garbage as often as a server should
// is mostly wasted: a fifth of its time at Go's default. Memory may grow to five
// times what is in use instead, up to memoryMost, from where on it is collected as
// often as needed.
const (
	garbagePercent = 400
	memoryMost     = 900 << 20 // bytes
)

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePercent)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryMost)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	args := os.Args[1:]
	if len(args) == 0 && clicked() {
		args = []string{"serve", "--button"}
	}
	cobra.MousetrapHelpText = "" // a click is no mistake here
	code := run(ctx, args, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
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
