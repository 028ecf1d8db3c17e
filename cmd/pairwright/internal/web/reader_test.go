package web

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReaderReadsWhatIsNew keeps what was computed as long as the files say the
// same, whenever they were written, and tells of every state that it reads.
func TestReaderReadsWhatIsNew(t *testing.T) {
	dir := pairFolder(t)
	studbook := filepath.Join(dir, "studbook.csv")
	var r reader
	r.open(onDisk(studbook), nil)
	var told []*colony
	r.tell(func(c *colony) { told = append(told, c) })
	now := func() *colony {
		r.changed()
		c, err := r.now(t.Context())
		require.NoError(t, err)
		return c
	}
	first := now()
	assert.Same(t, first, now())
	text, err := os.ReadFile(studbook)
	require.NoError(t, err)
	require.NoError(t, os.Chtimes(studbook, time.Time{}, time.Now().Add(-time.Hour)))
	assert.Same(t, first, now(), "written long ago")
	require.NoError(t, os.WriteFile(studbook, text, 0o666))
	assert.Same(t, first, now(), "saved as it was")
	require.NoError(t, os.WriteFile(studbook, append(text, "# a remark\n"...), 0o666))
	second := now()
	assert.NotSame(t, first, second)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "holds.csv"), []byte("id,since,reason\n"), 0o666))
	third := now()
	assert.NotSame(t, second, third, "a file more")
	assert.Equal(t, []*colony{first, second, third}, told)
}
