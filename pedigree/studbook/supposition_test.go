package studbook

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReadSuppositions: a file of changes is read as the files of a folder are, and
// all of its faults are told at once.
func TestReadSuppositions(t *testing.T) {
	files := fstest.MapFS{
		"studbook.csv":     {Data: []byte("id,sex,sire,dam,location\nA1,F,,,X\nB2,M,,,X\n")},
		"institutions.csv": {Data: []byte("code,name\nY,Why\n")},
		"changes.csv": {Data: []byte("\ufeffWhat;Birds;To;Number;Sex;Year\nmove;A1; Y;;;\n# a remark\nMOVE;A1 ;Y;;;\npart;A1;;;;\n" +
			"founder;;Y;3;f;2030\nplaces;;X;-2;;\nleave;;Y;;;\n")},
		"season.csv": {Data: []byte("what,birds,to,chicks,fixed,reason\nhatch,A1; B2,,2,yes,why not\n")},
		"half.csv":   {Data: []byte("what,birds,chicks\nhatch,A1; B2,\n")},
		"lacks.csv":  {Data: []byte("what,birds\nhatch,A1; B2\nmove,A1\n")},
		"faulty.csv": {Data: []byte("what,birds,to,number,sex,year\nfly,A1,,,,\nmove,A1;B2;A1,Y,,,\nmove,A1,,,,\nbond,A1;A1,,,,\nbond,A1,,,,\n" +
			"places,,X,,,\nfounder,,Z,-1,,\nleave,a1,,,,\nleave,A1,Y,,,\nplaces,A1,X,2,,\n,A1,,,,\nfounder,,Y,0,,\nfounder,,Y,1.5,,\nplaces,,X,0.5,,\n")},
		"empty.csv": {Data: []byte("")},
	}
	c, err := Read(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	got, err := ReadSuppositions(t.Context(), files, "changes.csv", c)
	require.NoError(t, err)
	assert.Equal(t, []Supposition{
		{What: SupposeMove, Birds: []string{"A1"}, To: "Y", Sex: Unsexed, Year: -1, Chicks: -1, Line: 2},
		{What: SupposeMove, Birds: []string{"A1"}, To: "Y", Sex: Unsexed, Year: -1, Chicks: -1, Line: 4},
		{What: SupposePart, Birds: []string{"A1"}, Sex: Unsexed, Year: -1, Chicks: -1, Line: 5},
		{What: SupposeFounder, To: "Y", Number: 3, Sex: Female, Year: 2030, Chicks: -1, Line: 6},
		{What: SupposePlaces, To: "X", Number: -2, Sex: Unsexed, Year: -1, Chicks: -1, Line: 7},
		{What: SupposeLeave, To: "Y", Sex: Unsexed, Year: -1, Chicks: -1, Line: 8},
	}, got)

	got, err = ReadSuppositions(t.Context(), files, "season.csv", c)
	require.NoError(t, err)
	assert.Equal(t, []Supposition{{What: SupposeHatch, Birds: []string{"A1", "B2"}, Sex: Unsexed, Year: -1, Chicks: 2, Line: 2}}, got)

	_, err = ReadSuppositions(t.Context(), files, "half.csv", c)
	assert.ErrorContains(t, err, "chicks")
	var faults *Faults
	_, err = ReadSuppositions(t.Context(), files, "lacks.csv", c)
	require.ErrorAs(t, err, &faults)
	require.Len(t, faults.Findings, 2)
	assert.Equal(t, []string{"error lacks.csv:2 chicks missing_value", "error lacks.csv:3 to missing_value"}, []string{brief(faults.Findings[0]), brief(faults.Findings[1])})
	_, err = ReadSuppositions(t.Context(), files, "faulty.csv", c)
	require.ErrorAs(t, err, &faults)
	var briefs []string
	for _, f := range faults.Findings {
		briefs = append(briefs, brief(f))
		assert.NotEmpty(t, f.Help)
	}
	assert.Equal(t, []string{
		"error faulty.csv:2 what bad_subject",
		"error faulty.csv:3 birds number_of_birds",
		"error faulty.csv:4 to missing_value",
		"error faulty.csv:5 birds same_bird",
		"error faulty.csv:6 birds number_of_birds",
		"error faulty.csv:7 number missing_value",
		"error faulty.csv:8 number out_of_range",
		"error faulty.csv:8 to unknown_institution",
		"error faulty.csv:9 birds unknown_id",
		"error faulty.csv:10 birds number_of_birds",
		"error faulty.csv:11 birds number_of_birds",
		"error faulty.csv:12 what missing_value",
		"error faulty.csv:13 number out_of_range",
		"error faulty.csv:14 number bad_number",
		"error faulty.csv:15 number bad_number",
	}, briefs)
	_, err = ReadSuppositions(t.Context(), files, "empty.csv", c)
	assert.ErrorAs(t, err, &faults)
	var missing *NoFileError
	_, err = ReadSuppositions(t.Context(), files, "nothing.csv", c)
	assert.True(t, errors.As(err, &missing))
}

// TestParseSuppositions: a change by itself is read as its row in a file would be; its last
// cells may be left out. Of several the first that cannot be read is told.
func TestParseSuppositions(t *testing.T) {
	files := fstest.MapFS{
		"studbook.csv":     {Data: []byte("id,sex,sire,dam,location\nA1,F,,,X\nB2,M,,,\n")},
		"institutions.csv": {Data: []byte("code,name\nY,Why\n")},
	}
	c, err := Read(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, []string{"X", "Y"}, c.InstitutionCodes())
	for row, want := range map[string]Supposition{
		"move,A1; B2,Y":        {What: SupposeMove, Birds: []string{"A1", "B2"}, To: "Y", Sex: Unsexed, Year: -1, Chicks: -1},
		"founder,,Y,2,F,2030":  {What: SupposeFounder, To: "Y", Number: 2, Sex: Female, Year: 2030, Chicks: -1},
		"hatch,A1;B2,,,,,1":    {What: SupposeHatch, Birds: []string{"A1", "B2"}, Sex: Unsexed, Year: -1, Chicks: 1},
		`Bond,"A1; B2",,,,,`:   {What: SupposeBond, Birds: []string{"A1", "B2"}, Sex: Unsexed, Year: -1, Chicks: -1},
		"places,,X,-2":         {What: SupposePlaces, To: "X", Number: -2, Sex: Unsexed, Year: -1, Chicks: -1},
		"fly,A1":               {},
		"leave,C3":             {},
		"move,A1":              {},
		",,":                   {},
		"# leave,A1":           {},
		"":                     {},
		"leave,A1,,,,,,":       {},
		"leave,A1\nleave,,X":   {},
		"part,A1;B2,,,,,,more": {},
	} {
		got, err := ParseSuppositions(t.Context(), []string{row}, c)
		if want.What == 0 {
			assert.Error(t, err, row)
			continue
		}
		require.NoError(t, err, row)
		assert.Equal(t, []Supposition{want}, got, row)
	}
	got, err := ParseSuppositions(t.Context(), []string{"leave,B2", "part,A1"}, c)
	require.NoError(t, err)
	assert.Equal(t, []Supposed{SupposeLeave, SupposePart}, []Supposed{got[0].What, got[1].What})
	_, err = ParseSuppositions(t.Context(), []string{"leave,A1", "leave,C3", "fly"}, c)
	assert.EqualError(t, err, `leave,C3: birds "C3": no bird of the studbook has the id "C3" (correct the id)`)
}
