package studbook

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is no studbook by its content gives one finding with the cure, whatever
// its name.
func TestForeignStudbooks(t *testing.T) {
	ods := "PK\x03\x04\x14\x00\x00\x08\x00\x00ABCDEFGH\x00\x00\x00\x00\x2e\x00\x00\x00\x08\x00\x00\x00mimetypeapplication/vnd.oasis.opendocument.spreadsheet"
	for _, tt := range []struct{ name, content, message, help string }{
		{"birds.ods", ods, "OpenDocument", "import birds.ods, which makes a colony folder of it"},
		{"birds.xlsx", ods, "OpenDocument", "import birds.xlsx, which makes a colony folder of it"},
		{"birds.csv", "PK\x03\x04\x14\x00\x06\x00", "a workbook or an archive", "call it .xlsx"},
		{"birds.xls", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", "old .xls format", "save it as .xlsx"},
		{"birds.xlsx", "id,sex,sire,dam\n", "no workbook", "call it .csv"},
	} {
		_, err := Read(t.Context(), fstest.MapFS{tt.name: {Data: []byte(tt.content)}}, tt.name, Options{})
		var faults *Faults
		require.True(t, errors.As(err, &faults), tt.name)
		require.Len(t, faults.Findings, 1, tt.name)
		assert.Contains(t, faults.Findings[0].Message, tt.message)
		assert.Contains(t, faults.Findings[0].Help, tt.help)
	}
	c, err := Read(t.Context(), fstest.MapFS{"studbook.csv": {Data: []byte("id,sex,sire,dam\nA,1.0,,\nB,0.1,,\nC,0.0.1,A,B\n")}}, "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, []Sex{Male, Female, Unsexed}, []Sex{c.Birds[0].Sex, c.Birds[1].Sex, c.Birds[2].Sex}, "the count notation of zoos")
}
