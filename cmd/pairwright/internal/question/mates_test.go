package question

import (
	"bytes"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestListOfMatesByFormat asks one folder for the list of all free birds as a page, which
// has no room for how sure a rank is, and then as JSON, which has.
func TestListOfMatesByFormat(t *testing.T) {
	var f *Folder
	for _, format := range []string{"html", "json"} {
		a, err := matesQuestion.Parse(url.Values{"format": {format}})
		require.NoError(t, err)
		if f == nil {
			f = readExample(t, a)
		}
		x, err := a.Answer(t.Context(), f)
		require.NoError(t, err)
		var out bytes.Buffer
		require.NoError(t, x.Write(&out, format))
		if format == "json" {
			assert.Regexp(t, `"rank_confidence": 0\.\d`, out.String())
			assert.Contains(t, out.String(), "of 200 possible pedigrees")
		} else {
			assert.NotContains(t, out.String(), "possible pedigrees")
		}
	}
	_, err := matesQuestion.Parse(url.Values{"seed": {"2"}})
	assert.ErrorContains(t, err, "in json and csv alone")
	_, err = matesQuestion.Parse(url.Values{"seed": {"2"}, "format": {"json"}})
	assert.NoError(t, err)
}
