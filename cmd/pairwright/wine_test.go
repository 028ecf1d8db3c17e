//go:build wine

package main

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWineRunsWindowsBinary builds the program for Windows and runs it under
// Wine, in folders whose names have blanks and letters beyond ASCII: it writes
// the example, reads it, imports a table and lays a newer one over it.
func TestWineRunsWindowsBinary(t *testing.T) {
	wine := wineProgram(t)
	dir := t.TempDir()
	exe := filepath.Join(dir, "pairwright.exe")
	build := exec.Command("go", "build", "-trimpath", "-o", exe, ".")
	build.Env = append(os.Environ(), "GOOS=windows", "GOARCH=amd64", "CGO_ENABLED=0")
	out, err := build.CombinedOutput()
	require.NoError(t, err, string(out))

	prefix := filepath.Join(dir, "wine")
	require.NoError(t, os.Mkdir(prefix, 0o755))
	env := append(os.Environ(), "WINEPREFIX="+prefix, "WINEDEBUG=-all", "WINEDLLOVERRIDES=mscoree,mshtml=") // no downloads
	t.Cleanup(func() {
		stop := exec.Command(filepath.Join(filepath.Dir(wine), "wineserver"), "-k", "-w")
		stop.Env = env
		_ = stop.Run() // it may have ended by itself
	})
	here := filepath.Join(dir, "Vögel im Zoo 鳥")
	require.NoError(t, os.Mkdir(here, 0o755))
	inWine := func(wantCode int, program string, args ...string) string {
		t.Helper()
		cmd := exec.CommandContext(t.Context(), wine, append([]string{program}, args...)...)
		cmd.Dir, cmd.Env = here, env
		var stdout, stderr bytes.Buffer
		cmd.Stdout, cmd.Stderr = &stdout, &stderr
		_ = cmd.Run() // the code says how it ended
		require.Equal(t, wantCode, cmd.ProcessState.ExitCode(), "%s: %s%s", args, stdout.String(), stderr.String())
		return stdout.String()
	}
	inWine(0, "wineboot", "--init")
	library := filepath.Join(prefix, "drive_c", "windows", "system32", "bcryptprimitives.dll")
	if _, err := os.Stat(library); err != nil {
		require.NoError(t, os.WriteFile(library, randomLibrary(), 0o644))
	}

	assert.Contains(t, inWine(0, exe, "--version"), "pairwright ")
	assert.Contains(t, inWine(0, exe, "demo", "Kolonie Süd"), "Kolonie Süd")
	kin := inWine(0, exe, "kin", "C0419", "C0841", "--studbook", `Kolonie Süd\studbook.csv`, "--quiet")
	assert.Contains(t, kin, "is 0.0156")

	old := "Ring;Sex;Sire;Dam;Hatched\r\nÅ1;m;;;2001\r\nÅ2;w;;;2001\r\nÅ3;m;Å1;Å2;2004\r\n"
	require.NoError(t, os.WriteFile(filepath.Join(here, "meine Vögel.csv"), []byte(old), 0o644))
	inWine(0, exe, "import", "meine Vögel.csv", "--into", "neu Ä")
	require.NoError(t, os.WriteFile(filepath.Join(here, "meine Vögel.csv"), []byte(old+"Å4;w;Å1;Å2;2005\r\n"), 0o644))
	assert.Contains(t, inWine(0, exe, "import", "meine Vögel.csv", "--into", "neu Ä", "--apply"), "1 new bird")
	merged, err := os.ReadFile(filepath.Join(here, "neu Ä", "studbook.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(merged), "Å4")
	inWine(2, exe, "init", "neu Ä")
	assert.Contains(t, inWine(0, exe, "export", "all", "--into", "aus Ö", "--studbook", `neu Ä\studbook.csv`, "--quiet"), "colony.xlsx")
}

// wineProgram finds Wine for 64 bits, and skips the test where there is none.
func wineProgram(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"/usr/lib/wine/wine64", "wine64", "wine"} { // Debian keeps it out of the path
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	t.Skip("there is no Wine here: apt-get install wine64")
	return ""
}

// randomLibrary is bcryptprimitives.dll, which Go's runtime asks for and Wine
// before 9 does not have: a library of no code, whose one function ProcessPrng
// is forwarded to that of the same arguments which Wine has. The layout is that
// of the PE format (Microsoft, PE Format specification: COFF header, optional
// header of PE32+, .edata section).
func randomLibrary() []byte {
	const (
		at       = 0x1000 // where the section is loaded
		headers  = 0x200
		exports  = 40 // size of the export directory
		function = "ProcessPrng\x00"
		forward  = "ADVAPI32.SystemFunction036\x00"
		name     = "bcryptprimitives.dll\x00"
		strs     = exports + 4 + 4 + 2 // behind it: an address, a name, an ordinal
	)
	little := binary.LittleEndian
	var section bytes.Buffer
	put := func(b *bytes.Buffer, values ...any) {
		for _, v := range values {
			_ = binary.Write(b, little, v) // a buffer takes all
		}
	}
	put(&section, uint32(0), uint32(0), uint32(0), uint32(at+strs), uint32(1), uint32(1), uint32(1), uint32(at+exports), uint32(at+exports+4), uint32(at+exports+8),
		uint32(at+strs+len(name)+len(function)), uint32(at+strs+len(name)), uint16(0))
	section.WriteString(name + function + forward)
	var file bytes.Buffer
	file.WriteString("MZ" + strings.Repeat("\x00", 58))
	put(&file, uint32(0x40))
	file.WriteString("PE\x00\x00")
	put(&file, uint16(0x8664), uint16(1), uint32(0), uint32(0), uint32(0), uint16(240), uint16(0x2022),
		uint16(0x20b), uint16(0), uint32(0), uint32(0x200), uint32(0), uint32(0), uint32(at), uint64(0x180000000), uint32(at), uint32(0x200),
		uint16(6), uint16(0), uint32(0), uint16(6), uint16(0), uint32(0), uint32(2*at), uint32(headers), uint32(0), uint16(2), uint16(0x100),
		uint64(0x100000), uint64(0x1000), uint64(0x100000), uint64(0x1000), uint32(0), uint32(16),
		uint32(at), uint32(section.Len()), make([]byte, 15*8))
	file.WriteString(".edata\x00\x00")
	put(&file, uint32(section.Len()), uint32(at), uint32(0x200), uint32(headers), uint32(0), uint32(0), uint32(0), uint32(0x40000040))
	file.Write(make([]byte, headers-file.Len()))
	file.Write(section.Bytes())
	file.Write(make([]byte, headers+0x200-file.Len()))
	return file.Bytes()
}
