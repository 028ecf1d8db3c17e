package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The bar is for terminals: a file and a pipe get none, and where there is one it
// is drawn when it changes and taken away at the end.
func TestProgress(t *testing.T) {
	var b bytes.Buffer
	assert.Nil(t, newProgress(&b))
	file, err := os.Create(filepath.Join(t.TempDir(), "stderr"))
	require.NoError(t, err)
	defer file.Close()
	none := newProgress(file)
	assert.Nil(t, none)
	none.end()

	p := &progress{w: &b, shown: -1}
	p.end()
	assert.Empty(t, b.String())
	p.tell(150, 300)
	p.tell(151, 300) // the same hundredth
	p.end()
	assert.Equal(t, "\r###############............... 150 of 300 runs, Ctrl-C to stop here \r\x1b[K", b.String())
}
