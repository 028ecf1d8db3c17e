package main

import (
	"bytes"
	"testing"

	"github.com/sourcegraph/conc"
	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
)

// TestPanicIsToldInWords: what nobody foresaw ends in a line that says so, and not in a
// stack trace, in a goroutine of its own as well.
func TestPanicIsToldInWords(t *testing.T) {
	nobody := []int{}
	for name, do := range map[string]func(){
		"here": func() { nobody[len(nobody)]++ },
		"beside": func() {
			var wg conc.WaitGroup
			wg.Go(func() { nobody[len(nobody)]++ })
			wg.Wait()
		},
	} {
		t.Run(name, func(t *testing.T) {
			cmd := &cobra.Command{Run: func(*cobra.Command, []string) { do() }, SilenceErrors: true, SilenceUsage: true}
			cmd.SetArgs([]string{})
			err := execute(t.Context(), cmd)
			var said bytes.Buffer
			assert.Equal(t, exitFault, exitCode(err, &said))
			assert.Regexp(t, `^pairwright: the program itself is at fault, .*\(runtime error: index out of range \[0\] with length 0 in run_test.go, line \d+\).*\n$`, said.String())
		})
	}
}
