package contract

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/golden"
)

func TestWriteJSON(t *testing.T) {
	var b strings.Builder
	require.NoError(t, WriteJSON(&b, map[string]any{"reason": "F < 0.1 & kin", "none": nil}))
	assert.Equal(t, "{\n  \"none\": null,\n  \"reason\": \"F < 0.1 & kin\"\n}\n", b.String())

	b.Reset()
	require.NoError(t, WriteJSON(&b, golden.Hostile))
	var back []string
	require.NoError(t, json.Unmarshal([]byte(b.String()), &back))
	for i, h := range golden.Hostile {
		assert.Equal(t, strings.ToValidUTF8(h, "\uFFFD"), strings.ReplaceAll(back[i], "\uFFFD\uFFFD", "\uFFFD"))
	}
	assert.Error(t, WriteJSON(&b, math.NaN()), "a number that JSON does not have")
	assert.ErrorIs(t, WriteJSON(full{}, 1), errNoRoom)
}

func TestWriteCSV(t *testing.T) {
	rows := [][]string{{"A, B", "say \"chick\""}, {"two\nlines", ""}}
	var b strings.Builder
	require.NoError(t, writeCSV(&b, []string{"id", "notes"}, rows))
	assert.True(t, strings.HasPrefix(b.String(), "id,notes\n"))
	back, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, append([][]string{{"id", "notes"}}, rows...), back)
	assert.ErrorIs(t, writeCSV(full{}, []string{"id"}, nil), errNoRoom)
}

// full is a disk that takes nothing.
type full struct{}

var errNoRoom = errors.New("disk full")

func (full) Write([]byte) (int, error) { return 0, errNoRoom }
