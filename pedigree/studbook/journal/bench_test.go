package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkDraft is what a person waits for who looks at a record of the
// example: reading and checking it twice.
func BenchmarkDraft(b *testing.B) {
	f := Open("../../../examples/harrow-fell/studbook.csv", Options{Now: now})
	for b.Loop() {
		p, err := f.Draft(b.Context(), event("hatch", "dam", "C0419", "date", "2026-10-01"))
		require.NoError(b, err)
		require.False(b, p.Refused())
	}
}

// BenchmarkCommit writes records to the example, on the disk.
func BenchmarkCommit(b *testing.B) {
	dir := b.TempDir()
	require.NoError(b, os.CopyFS(dir, os.DirFS("../../../examples/harrow-fell")))
	f := Open(filepath.Join(dir, "studbook.csv"), Options{Now: now})
	for b.Loop() {
		commit(b, f, event("arrival", "date", "2026-10-01"))
	}
}
