package report

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWriteJSON(t *testing.T) {
	var b strings.Builder
	require.NoError(t, WriteJSON(&b, map[string]any{"reason": "F < 0.1 & kin", "none": nil}))
	assert.Equal(t, "{\n  \"none\": null,\n  \"reason\": \"F < 0.1 & kin\"\n}\n", b.String())

	b.Reset()
	require.NoError(t, WriteJSON(&b, hostile))
	var back []string
	require.NoError(t, json.Unmarshal([]byte(b.String()), &back))
	for i, h := range hostile {
		assert.Equal(t, strings.ToValidUTF8(h, "\uFFFD"), strings.ReplaceAll(back[i], "\uFFFD\uFFFD", "\uFFFD"))
	}
	assert.Error(t, WriteJSON(&b, math.NaN()), "a number that JSON does not have")
	assert.ErrorIs(t, WriteJSON(failing{}, 1), errFull)
}

func TestWriteCSV(t *testing.T) {
	rows := [][]string{{"A, B", "say \"chick\""}, {"two\nlines", ""}}
	var b strings.Builder
	require.NoError(t, WriteCSV(&b, []string{"id", "notes"}, rows))
	assert.True(t, strings.HasPrefix(b.String(), "id,notes\n"))
	back, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, append([][]string{{"id", "notes"}}, rows...), back)
	assert.ErrorIs(t, WriteCSV(failing{}, []string{"id"}, nil), errFull)
}
