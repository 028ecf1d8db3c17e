package exchange

import (
	"bytes"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// bondsOf writes the bonds of a new folder for comparison.
func bondsOf(res *Result) []string {
	var bonds []string
	for _, b := range res.Colony.Bonds {
		bonds = append(bonds, b.Female+" "+b.Male+" "+b.Since.Text+">"+b.Until.Text)
	}
	return bonds
}

// A column of mates in a list of birds is its pairs, each once, since the first chick if there
// is one; a mate that died has no bond, and one that cannot be is said.
func TestColumnOfMates(t *testing.T) {
	for heading, mate := range map[string]string{"Mate": "B", "Current mate ID": "b", "Partner": "Fern", "aktueller Partner": "Fern (B)", "Partenaire": "B", "Compañera": "B", "Gekoppeld met": "B", "Paired with": "No. B"} {
		_, res := read(t, "id;sex;sire;dam;hatched;died;name;"+heading+"\nA;m;;;2012;;Ash;"+mate+"\nB;f;;;2012;;Fern;\nC;m;A;B;2018;;;\nD;m;;;2010;;;E\nE;f;;;2010;2020;;D\nF;m;;;2015;;;unpaired\nG;f;;;2015;;;-\n", Mapping{})
		assert.Equal(t, []string{"B A 2018>"}, bondsOf(res), heading)
		assert.Empty(t, decided(res), heading)
	}
	_, res := read(t, "id;sex;sire;dam;hatched;mate\nA;m;;;2012;B\nB;f;;;2012;C\nC;m;;;2012;B\nD;m;;;2012;X9\nE;f;;;2012;F\nF;f;;;2012;E\nG;m;;;2012;H\nH;f;;;2012;G\n", Mapping{})
	assert.Equal(t, []string{"B C >", "H G >"}, bondsOf(res))
	assert.ElementsMatch(t, []string{"all_alive", "mate_without_row", "mates_disagree", "mates_disagree", "mates_disagree"}, decided(res), "of D, A, E and F")
	_, res = read(t, "id;sex;sire;dam;hatched;name;notes\nA;m;;;2012;Ash;nervous, paired with Fern\nB;f;;;2012;Fern;paired with care\n", Mapping{})
	assert.Equal(t, []string{"B A >"}, bondsOf(res))
	assert.Equal(t, []string{"mate_in_notes", "all_alive"}, decided(res))
}

// Of several birds of one name the mate is the one that lives and is of the other sex.
func TestMateByNameOfSeveral(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;hatched;died;name;mate\nA;m;;;2012;;Ash;Fern\nB;f;;;2001;2010;Fern;\nC;f;;;2012;;Fern;Ash\nD;m;;;2013;;Fern;\n", Mapping{})
	assert.Equal(t, []string{"C A >"}, bondsOf(res))
}

// A name in brackets behind or before a ring in the column of ids is what the bird is called.
func TestNamesInIDs(t *testing.T) {
	birds, res := read(t, "Bird;M/F;Dad;Mum\nOtto;M;;\nTansy;F;;\nRufus (1007);M;Otto;Tansy\nFern (1008);F;;\nPip (1009);M;Rufus;1008\n", Mapping{})
	assert.Equal(t, "Rufus (1007)", birds["Pip (1009)"]["sire"])
	assert.Equal(t, "Fern (1008)", birds["Pip (1009)"]["dam"])
	assert.Zero(t, res.Report.Parents.WithoutRow)
}

// A column that says of some birds that they died and of the others one thing stops, whatever
// its heading; remarks of many kinds are listed.
func TestStatesUnderAnyHeading(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;Now\n"
	d := stops(t, head+"A;m;;;2012;died 2019\nB;f;;;2012;home\nC;m;A;B;2018;home\nD;f;A;B;2018;died 2020\nE;f;A;B;2018;home\nF;f;A;B;2018;home\nG;f;A;B;2018;gone to Pauline\n", Mapping{})
	assert.Equal(t, "fates_not_read", d.Code)
	assert.Equal(t, `heading "Now": status, `, asks(d))
	_, res := read(t, head+"A;m;;;2012;died 2019\nB;f;;;2012;tame\nC;m;A;B;2018;one eye\nD;f;A;B;2018;died 2020\nE;f;A;B;2018;sings\nF;f;A;B;2018;shy\nG;f;A;B;2018;lame\n", Mapping{})
	assert.Contains(t, decided(res), "fate_in_notes")
}

// Aviaries are no places of the programme: their birds are at one, which is the colony; what
// is no aviary stays a place.
func TestEnclosuresOfOnePlace(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;Where\n"
	birds, res := read(t, head+"A;m;;;2012;Aviary 1\nB;f;;;2012;Aviary 2\nC;m;A;B;2018;Big flight\nD;f;A;B;2018;Lent to Ashby Zoo\nE;f;A;B;2018;Cage B\nF;f;A;B;2018;\n", Mapping{})
	for id, want := range map[string]string{"A": "HOME", "B": "HOME", "C": "HOME", "D": "Ashby Zoo", "E": "HOME", "F": "HOME"} {
		assert.Equal(t, want, birds[id]["location"], id)
	}
	assert.Equal(t, "Aviary 2", birds["B"]["Where"])
	require.Equal(t, []string{"parents_without_bond", "enclosures_of_one_place", "all_alive"}, decided(res))
	assert.Equal(t, "HOME", res.Colony.Settings.Home)
	assert.Equal(t, `heading "Where": location, `, asks(res.Report.Decisions[1]))
	m, err := Mapping{}.Decide(*res.Report.Decisions[1].Choice, "location")
	require.NoError(t, err)
	birds, res = read(t, head+"A;m;;;2012;Aviary 1\nB;f;;;2012;Aviary 2\n", m)
	assert.Equal(t, "Aviary 1", birds["A"]["location"], "on the user's word they are places")
	assert.Equal(t, []string{"all_alive"}, decided(res))
	birds, _ = read(t, head+"A;m;;;2012;Aviary Park\nB;f;;;2012;Oakfield\n", Mapping{})
	assert.Equal(t, "Aviary Park", birds["A"]["location"])
}

// Aviaries may have names, and parts of a place be named without an aviary; that other places
// are institutions is said, and may be decided otherwise.
func TestPlacesOrPartsOfOne(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died;Where\n"
	birds, res := read(t, head+"A;m;;;2012;;Cliff aviary\nB;f;;;2012;;Off show\nC;m;A;B;2018;;Cliff aviary\nD;f;A;B;2018;sent to Zurich 2023;\n", Mapping{})
	assert.Equal(t, "HOME HOME Zurich", birds["A"]["location"]+" "+birds["B"]["location"]+" "+birds["D"]["location"])
	assert.Equal(t, "HOME", writtenFile(t, res, "moves.csv")["D"]["from"])
	assert.Contains(t, decided(res), "enclosures_of_one_place")
	birds, _ = read(t, head+"A;m;;;2012;;Cliff aviary\nB;f;;;2012;;Beach aviary\n", Mapping{})
	assert.Equal(t, "HOME", birds["A"]["location"])

	const two = head + "A;m;;;2012;;Ashby Park\nB;f;;;2012;;Oakfield\nC;f;;;2012;;Oakfield\n"
	birds, res = read(t, two, Mapping{})
	assert.Equal(t, "Ashby Park", birds["A"]["location"])
	assert.Empty(t, res.Colony.Settings.Home, "either could be")
	assert.Equal(t, "Oakfield", res.Report.Largest())
	k := slices.Index(decided(res), "places_are_institutions")
	require.GreaterOrEqual(t, k, 0)
	m, err := Mapping{}.Decide(*res.Report.Decisions[k].Choice, Nothing)
	require.NoError(t, err)
	birds, res = read(t, two, m)
	assert.Equal(t, "Oakfield", birds["B"]["Where"], "parts of one place are carried over")
	assert.False(t, res.Colony.HasLocation)

	_, res = read(t, head+"A;m;;;2012;;Ashby Park\nB;f;;;2012;;Ashby Park\nD;f;A;B;2018;sent to Zurich 2023;Ashby Park\n", Mapping{})
	assert.Equal(t, "Ashby Park", res.Colony.Settings.Home, "the one place of the file")
	assert.NotContains(t, decided(res), "places_are_institutions")
}

// A book of nests has the clutches of its pairs, with the counts that it has, and a season
// without one parts nobody; the young that it names are chicks of the pair.
func TestBookOfClutches(t *testing.T) {
	f := excelize.NewFile()
	for sheet, rows := range map[string][][]any{
		"Birds": {{"Ring", "Sex", "Died"}, {"A", "cock"}, {"B", "hen"}, {"C", "cock"}, {"D", "hen"}, {"E", "hen"}},
		"Nest boxes": {
			{"Box", "Year", "Hen", "Cock", "1st egg", "Eggs", "Infertile", "Hatched", "Reared", "Rings of young"},
			{"1", 2019, "B", "A", "12 Apr", 3, 1, 1, 1, "E"},
			{"1", 2021, "B", "A", "April 2021", 2, nil, 0, "-", nil},
			{"2", 2021, "D", "C", nil, 4, nil, "a few", nil, nil},
			{"1", 2022, "B", "A", "1 May 2022", 2, nil, 0, nil, nil},
		},
	} {
		_, err := f.NewSheet(sheet)
		require.NoError(t, err)
		for i, row := range rows {
			require.NoError(t, f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &row))
		}
	}
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var book bytes.Buffer
	require.NoError(t, f.Write(&book))
	res := imported(t, "nests.xlsx", book.Bytes(), Mapping{})
	var clutches []string
	for _, c := range res.Colony.Clutches {
		clutches = append(clutches, fmt.Sprint(c.Female, " ", c.Male, " ", c.Laid.Text, " ", c.Eggs, c.Fertile, c.Hatched, c.Fledged))
	}
	assert.Equal(t, []string{"B A 2019-04-12 3 2 1 1", "B A 2021-04 2 -1 0 -1", "D C 2021 4 -1 -1 -1", "B A 2022-05-01 2 -1 0 -1"}, clutches)
	assert.Equal(t, []string{"B A 2019>", "D C 2021>"}, bondsOf(res))
	assert.Equal(t, "A", writtenFile(t, res, "studbook.csv")["E"]["sire"])
	for _, c := range res.Report.Columns { // what each is taken for is among what it may be
		assert.True(t, slices.ContainsFunc(c.Choice.May, func(o Option) bool { return o.Answer == c.Ours }), c.Theirs)
	}
	assert.Equal(t, []string{"bands_are_ids", "count_not_read", "pair_of_last_season", "pair_of_last_season"}, decided(res))
}

// A bird that moved elsewhere lives there, though the file has no column of places: all
// others are then at one place.
func TestBirdsThatMovedAwayWithoutPlaces(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched;status\nA;m;;;2012;home\nB;f;;;2012;here\nC;m;A;B;2018;gone to Pauline\nD;f;A;B;2018;sold 2020\n", Mapping{})
	assert.Equal(t, "HOME HOME Pauline", birds["A"]["location"]+" "+birds["B"]["location"]+" "+birds["C"]["location"])
	assert.Equal(t, "HOME", res.Colony.Settings.Home)
	assert.Equal(t, "HOME", writtenFile(t, res, "moves.csv")["C"]["from"])
	birds, res = read(t, "id;sex;sire;dam;hatched;status\nA;m;;;2012;home\nD;f;A;;2018;sold 2020\n", Mapping{})
	assert.NotContains(t, birds["A"], "location")
	assert.Empty(t, res.Colony.Settings.Home)
}
