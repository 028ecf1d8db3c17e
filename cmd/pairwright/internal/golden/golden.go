// Package golden compares what is printed with what tests expect.
package golden

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Update is the flag -update of every test binary that compares with golden
// files: write them anew.
var Update = flag.Bool("update", false, "write what is printed into the golden files")

// File compares what write writes with a file of the folder testdata: JSON
// Nearly, all else byte by byte. On a difference it leaves what it got beside
// the file.
func File(t *testing.T, name string, write func(io.Writer) error) {
	t.Helper()
	var got bytes.Buffer
	require.NoError(t, write(&got))
	file := filepath.Join("testdata", name)
	if *Update {
		require.NoError(t, os.WriteFile(file, got.Bytes(), 0o644))
		return
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	if filepath.Ext(name) == ".json" && Nearly(string(want), got.String()) == nil {
		return
	}
	if !bytes.Equal(want, got.Bytes()) {
		require.NoError(t, os.WriteFile(file+".got", got.Bytes(), 0o644))
		assert.Equal(t, string(want), got.String())
	}
}

// tolerance is how far apart two numbers may be, relative to the larger one.
// Processors that multiply and add in one step round once less, which shows in
// the last digits.
const tolerance = 1e-9

// item is a number, a word or a part of one in JSON or CSV.
var item = regexp.MustCompile(`[^\s,;:()\[\]{}"=]+`)

// Nearly compares two texts in JSON or CSV. It returns an error that names the
// first difference, unless all that differs are numbers, each by no more than
// the tolerance. Whole numbers must be the same, digit by digit: they may be
// ids.
func Nearly(want, got string) error {
	wants, gots := item.FindAllString(want, -1), item.FindAllString(got, -1)
	for k := range min(len(wants), len(gots)) {
		if !same(wants[k], gots[k]) {
			return fmt.Errorf("item %d is %q, not %q", k+1, gots[k], wants[k])
		}
	}
	if len(wants) != len(gots) {
		return fmt.Errorf("there are %d items, not %d", len(gots), len(wants))
	}
	if item.ReplaceAllString(want, "x") != item.ReplaceAllString(got, "x") {
		return fmt.Errorf("the items are the same, but not what stands between them")
	}
	return nil
}

func same(want, got string) bool {
	if want == got {
		return true
	}
	if !strings.ContainsAny(want+got, ".e") {
		return false
	}
	a, errA := strconv.ParseFloat(want, 64)
	b, errB := strconv.ParseFloat(got, 64)
	return errA == nil && errB == nil && math.Abs(a-b) <= tolerance*max(math.Abs(a), math.Abs(b))
}
