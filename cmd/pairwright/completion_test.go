package main

import (
	"io"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
)

// TestEveryFlagCompletes: the shell is told of every flag that takes a value what it
// can be, if only that it is no file; a plain FILE alone is any.
func TestEveryFlagCompletes(t *testing.T) {
	var walk func(*cobra.Command)
	seen := 0
	walk = func(c *cobra.Command) {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			takes, _ := pflag.UnquoteUsage(f)
			if f.Value.Type() == "bool" || takes == "FILE" {
				return
			}
			seen++
			_, told := c.GetFlagCompletionFunc(f.Name)
			assert.True(t, told, "%s --%s %s", c.CommandPath(), f.Name, takes)
		})
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(io.Discard, io.Discard, nil))
	assert.Greater(t, seen, 50)
}
