package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTerminal: whoever types and sees is asked, also through the writer that run
// hands to the commands; nobody is where either end is none.
func TestTerminal(t *testing.T) {
	tty, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("this system has no terminals of that kind")
	}
	defer tty.Close()
	nothing, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	require.NoError(t, err)
	defer nothing.Close()
	assert.True(t, onTerminal(tty, tty))
	assert.True(t, onTerminal(tty, &writer{to: tty}))
	assert.False(t, onTerminal(nothing, &writer{to: tty}))
	assert.False(t, onTerminal(tty, &writer{to: nothing}))
	assert.False(t, onTerminal(tty, &writer{to: new(bytes.Buffer)}))
}

// TestConfirmed: nothing but a yes is one.
func TestConfirmed(t *testing.T) {
	for typed, want := range map[string]bool{"y\n": true, "Yes \n": true, "yes": true, "n\n": false, "\n": false, "": false, "yeah\n": false} {
		var out bytes.Buffer
		ok, err := confirmed(strings.NewReader(typed), &out)
		require.NoError(t, err)
		assert.Equal(t, want, ok, typed)
		assert.Equal(t, !want, strings.Contains(out.String(), "Nothing was written."), typed)
	}
}
