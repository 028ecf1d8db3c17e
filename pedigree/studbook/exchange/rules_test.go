package exchange

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// The rules of import one by one, each by a file that needs it: what comes out
// was worked out by hand.

// written returns the rows of a file of the new folder by the first cell.
func writtenFile(t testing.TB, res *Result, name string) map[string]map[string]string {
	t.Helper()
	for _, f := range res.Files {
		if f.Name != name {
			continue
		}
		rows, err := csv.NewReader(bytes.NewReader(f.Content)).ReadAll()
		require.NoError(t, err)
		out := make(map[string]map[string]string)
		for _, r := range rows[1:] {
			m := make(map[string]string)
			for j, h := range rows[0] {
				m[h] = r[j]
			}
			out[r[0]] = m
		}
		return out
	}
	return nil
}

// read imports a table of text with semicolons and returns its birds.
func read(t testing.TB, text string, m Mapping) (map[string]map[string]string, *Result) {
	t.Helper()
	res := imported(t, "table.csv", []byte(text), m)
	return writtenFile(t, res, "studbook.csv"), res
}

// asks is what a person is asked who is to settle a decision.
func asks(d Decision) string {
	var may []string
	for _, o := range d.Choice.May {
		may = append(may, o.Answer)
	}
	return fmt.Sprintf("%s %q: %s", d.Choice.Subject, d.Choice.Word, strings.Join(may, ", "))
}

// stops imports a table and returns the one thing that must be decided.
func stops(t testing.TB, text string, m Mapping) Decision {
	t.Helper()
	res := tried(t, "table.csv", []byte(text), m)
	require.Nil(t, res.Files, "nothing is written")
	require.NotEmpty(t, res.Report.Stops)
	_, err := ReadMapping([]byte(strings.ReplaceAll(res.Report.Mapping, `" = "" #`, `" = "U" #`)))
	if err != nil && !strings.Contains(err.Error(), "write one of") {
		t.Error(err, res.Report.Mapping)
	}
	return res.Report.Stops[0]
}

// decided returns the codes of what was likely.
func decided(res *Result) []string {
	var out []string
	for _, d := range res.Report.Decisions {
		out = append(out, d.Code)
	}
	return out
}

const parents = "id;sex;sire;dam;hatched;name\nS1;M;;;1990-01-01;Ash\nD1;F;;;1990-02-02;Elm\nS2;M;;;1991-01-01;Oak\nD2;F;;;1991-02-02;Fir\n"

// Every way of naming a parent.
func TestParents(t *testing.T) {
	for _, tt := range []struct{ name, sire, dam, wantSire, wantDam string }{
		{"ids", "S1", "D1", "S1", "D1"},
		{"ids written otherwise", "s-1", "d 1", "S1", "D1"},
		{"names", "ASH", "elm", "S1", "D1"},
		{"a name with an id", "Ash (S1)", "Elm [D1]", "S1", "D1"},
		{"an id with a name", "S1 Ash", "D1 (Elm)", "S1", "D1"},
		{"unknown", "unknown", "?", "", ""},
		{"unknown in other languages", "inconnu", "unbekannt", "", ""},
		{"wild", "wild-caught", "Wildfang", "wild", "wild"},
		{"wild in other languages", "sauvage", "silvestre", "wild", "wild"},
		{"several", "several males", "mixed group 3", "", ""},
		{"group with a number", "Flock 12", "MULT1", "", ""},
		{"weights in brackets", "S1 (0,7) / S2 (0,3)", "D1", "S1=0.7; S2=0.3", "D1"},
		{"weights in percent", "S1 70 %; S2 30 %", "D1", "S1=0.7; S2=0.3", "D1"},
		{"our own weights", "S1=0.7; S2=0.2", "D1", "S1=0.7; S2=0.2", "D1"},
		{"or", "S1 or S2", "D1 oder D2", "S1=0.5; S2=0.5", "D1=0.5; D2=0.5"},
		{"a stroke", "S1/S2", "D1", "S1=0.5; S2=0.5", "D1"},
		{"one of two and unknown", "S1 / unknown", "D1", "S1=0.5", "D1"},
		{"a bird without a row", "S9", "D1", "S9", "D1"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			birds, _ := read(t, parents+"C;M;\""+tt.sire+"\";\""+tt.dam+"\";2000-01-01;\nX;M;S1;D1;2001-01-01;\nY;F;S1;D1;2001-01-01;\nZ;F;S1;D1;2001-01-01;\n", Mapping{})
			assert.Equal(t, tt.wantSire, birds["C"]["sire"])
			assert.Equal(t, tt.wantDam, birds["C"]["dam"])
		})
	}
}

// A cell with both parents; the sexes say who is who.
func TestBothParentsInOneCell(t *testing.T) {
	for cell, want := range map[string][2]string{
		"S1 x D1": {"S1", "D1"}, "D1 x S1": {"S1", "D1"}, "S1 + D1": {"S1", "D1"}, "D1 & S1": {"S1", "D1"}, "S1 × D1": {"S1", "D1"}, "S1xD1": {"S1", "D1"}, "D1 / S1": {"S1", "D1"},
		"Elm and Ash": {"S1", "D1"}, "S1, D1": {"S1", "D1"}, "♀ D1 x ♂ S1": {"S1", "D1"}, "unknown x D1": {"", "D1"}, "S1/S2 x D1": {"S1=0.5; S2=0.5", "D1"},
		"U8 x U9": {"U8", "U9"}, "wild": {"wild", "wild"}, "": {"", ""},
	} {
		birds, _ := read(t, "id;sex;parents;hatched;name\nS1;M;;1990;Ash\nD1;F;;1990;Elm\nS2;M;;1990;Oak\nC;M;\""+cell+"\";2000;\n", Mapping{})
		assert.Equal(t, want, [2]string{birds["C"]["sire"], birds["C"]["dam"]}, cell)
	}
}

// A name that two birds had is the one of the bird that could be the parent; if
// both could, both are possible.
func TestNameOfTwoBirds(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died;name\nS1;M;;;1990-01-01;1999-05-01;Ash\nS2;M;;;1998-01-01;;Ash\nD1;F;;;1990-01-01;;Ash\nD2;F;;;1990-01-01;;Elm\n"
	birds, res := read(t, head+"C;M;Ash;D2;1996-01-01;;\nE;M;Ash;D2;2003-01-01;;\nG;M;Ash;D2;1999-06-01;;\n", Mapping{})
	assert.Equal(t, "S1", birds["C"]["sire"], "the other had not hatched")
	assert.Equal(t, "S2", birds["E"]["sire"], "the other was dead")
	assert.Equal(t, "S1=0.5; S2=0.5", birds["G"]["sire"], "both could be")
	assert.Contains(t, decided(res), "name_of_several")
	assert.Equal(t, 2, res.Report.Parents.ByName)
}

// A weight behind an id is none of its digits, whoever else the file has.
func TestWeightBesideOtherIDs(t *testing.T) {
	const birds = "id;sex;sire;dam\nA12;M;;\nB3;M;;\nA1207;M;;\nB303;M;;\nA1270;M;;\nD;F;;\n"
	for cell, want := range map[string]string{
		"A12=0.7; B3=0.3":     "A12=0.7; B3=0.3",
		"A12=0.7":             "A12=0.7",
		"A12 (0.7) / B3 (.3)": "A12=0.7; B3=0.3",
		"A12 70%":             "A12=0.7",
		"A12-07":              "A1207",
	} {
		got, res := read(t, birds+"C;M;\""+cell+"\";D\n", Mapping{})
		assert.Equal(t, want, got["C"]["sire"], cell)
		assert.NotContains(t, decided(res), "weights_incomplete", cell)
	}
	// Where most parents are weighed, they are ids all the same.
	got, _ := read(t, birds+"C;M;A12=0.7;D\nE;M;A12=0.7;D\nF;M;B3=0.5;D\n", Mapping{})
	assert.Equal(t, "B3=0.5", got["F"]["sire"])
}

// A name of more birds than can stand as possible parents says of none that it is the
// parent; dates still find the one that can be.
func TestNameOfManyBirds(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("id;sex;sire;dam;hatched;died;name\nS0;M;;;1980-01-01;;Ash\n")
	for i := range studbook.MostCandidates + 1 {
		fmt.Fprintf(&rows, "S%d;M;;;1990-01-01;;Ash\n", i+1)
	}
	birds, res := read(t, rows.String()+"D;F;;;1980-01-01;;\nC;F;Ash;D;1985-01-01;;\nE;F;Ash;D;1995-01-01;;\n", Mapping{})
	assert.Equal(t, "S0", birds["C"]["sire"], "the others had not hatched")
	assert.Equal(t, "", birds["E"]["sire"])
	assert.Equal(t, "parent: Ash", birds["E"]["notes"])
	k := slices.IndexFunc(res.Report.Decisions, func(d Decision) bool { return d.Code == "name_of_many" })
	require.GreaterOrEqual(t, k, 0)
	assert.Equal(t, `"Ash" is the name of 202 birds, more than 200 of which could be the parent of E: the parent is unknown, and the name goes to the notes`, res.Report.Decisions[k].Text)
	assert.InDelta(t, 0.5/float64(res.Report.Fates.Living), res.Report.Decisions[k].Share, 1e-12, "half of the genes of one living bird")
}

// Of a long column that is not what it is named as it is asked what it is, and nothing else.
func TestColumnSetAside(t *testing.T) {
	defer func(most int) { mostStops = most }(mostStops)
	mostStops = 2
	const text = "id;sex;sire;dam;hatched\nA1;red;;;big\nA2;blue;;;small\nA3;green;tall;A1;tall\nA4;grey;fat;A1;old\nA5;white;thin;A1;grey\nA6;pink;old;A1;new\n"
	res := tried(t, "table.csv", []byte(text), Mapping{})
	var codes []string
	for _, d := range res.Report.Stops {
		codes = append(codes, d.Code)
	}
	assert.Equal(t, []string{"parents_unlike_ids", "sex_unlike_sexes", "dates_unlike_dates"}, codes)
	assert.Empty(t, res.Report.Decisions)
	assert.Equal(t, 4, res.Report.Parents.ByID, "the dams are read")
	for _, c := range res.Report.Columns {
		assert.Equal(t, c.Ours == "sire" || c.Ours == "sex" || c.Ours == "hatch_date", strings.Join(c.Taken, "") == "", c.Ours)
	}
	// Once it is decided what they are, their cells are looked at.
	m := Mapping{Columns: map[string]string{"sire": "sire", "sex": "sex", "hatch_date": "hatched"}}
	assert.NotEmpty(t, tried(t, "table.csv", []byte(text), m).Report.Decisions)
}

// What stands for no bird but is in no list is a founder without a row, heads
// the report, and is taken by a flag.
func TestLotsOfBirds(t *testing.T) {
	text := parents + "C;M;LOT 7;D1;2000;\nE;F;LOT 7;D1;2000;\nG;F;S1;D1;2001;\nH;F;S1;D2;2001;\n"
	_, res := read(t, text, Mapping{})
	require.NotEmpty(t, res.Report.Decisions)
	d := res.Report.Decisions[0]
	assert.Equal(t, "LOT 7: 2 chicks; unlike the ids of the file", d.Text)
	// Two of eight living have it for a sire, none of whom has chicks.
	assert.InDelta(t, 2*0.5/8, d.Share, 1e-12)
	birds, _ := read(t, text, Mapping{Unknown: []string{"lot*"}})
	assert.Equal(t, "", birds["C"]["sire"])
	birds, _ = read(t, text, Mapping{Wild: []string{"LOT 7"}})
	assert.Equal(t, "wild", birds["C"]["sire"])
	both := stops(t, parents+"C;M;LOT 7;D1;2000;\nE;F;S1;LOT 7;2000;\nG;F;S1;D1;2001;\n", Mapping{})
	assert.Equal(t, "sire_and_dam", both.Code)
	assert.Equal(t, `parent "LOT 7": unknown, wild`, asks(both))
}

// Dates of every notation.
func TestDates(t *testing.T) {
	for in, want := range map[string]string{
		"2009-05-12": "2009-05-12", "2009-05-12 00:00:00": "2009-05-12", "2009-05-12T14:30:00Z": "2009-05-12", "12/05/2009 14:30": "2009-05-12", "12.5.2009": "2009-05-12", "12-5-09": "2009-05-12",
		"20090512": "2009-05-12", "39945": "2009-05-12", "2009/05/12": "2009-05-12", "2009": "2009", "05/2009": "2009-05", "2009-05": "2009-05",
		"12 May 2009": "2009-05-12", "May 12, 2009": "2009-05-12", "12th of May 2009": "2009-05-12", "12-May-09": "2009-05-12", "12. Mai 2009": "2009-05-12", "12 mai 2009": "2009-05-12",
		"1er août 2009": "2009-08-01", "12 de mayo de 2009": "2009-05-12", "12 maio 2009": "2009-05-12", "12 maggio 2009": "2009-05-12", "12 mei 2009": "2009-05-12", "März 2009": "2009-03", "déc. 2009": "2009-12",
		"ca. 2009": "2009~", "about 2009": "2009~", "vers 2009": "2009~", "hacia mayo de 2009": "2009-05~", "ABT 2009": "2009~", "EST 2009": "2009~", "CAL 12 MAY 2009": "2009-05-12~", "ca.2009": "2009~", "c. 12.5.2009": "2009-05-12~", "2009 (approx.)": "2009~",
		"2007?": "2007?", "?2007": "2007?", "spring 2009": "2009", "Frühjahr 2009": "2009", "2009-21": "2009", "early May 2009": "2009-05",
		"before 2009": "2008~", "BEF 2009": "2008~", "vor Mai 2009": "2009-04~", "avant 2009": "2008~", "<2009": "2008~",
		"BET 2007 AND 2009": "[2007-01-01..2009-12-31]", "between May 2007 and June 2007": "[2007-05-01..2007-06-30]", "2007-2009": "[2007-01-01..2009-12-31]", "2008/09": "[2008-01-01..2009-12-31]", "2007 or 2008": "[2007-01-01..2008-12-31]",
		"201X": "201X", "[2007..2009]": "[2007..2009]", "1990s": "199X", "* 12.5.2009": "2009-05-12", "unknown": "", "?": "", "n/a": "",
		"1999-00": "1999", "00.05.2012": "2012-05", "0/5/2012": "2012-05", "05/00/2012": "2012-05", "2012-05-00": "2012-05", "00.00.2012": "2012", "2012-00-00": "2012", "00/1999": "1999", "1999/00": "[1999-01-01..2000-12-31]", "0 May 2012": "2012-05", "12mai2019": "2019-05-12", "mai2019": "2019-05", "2019 mai 12": "2019-05-12", "12/5-2012": "2012-05-12",
		"ca. 2009?": "2009%", "[2012?]": "2012?", "2012 spring": "2012", "2012 (spring)": "2012", "before 12.5.2012": "2012-05-11~", "vor dem 12.5.2012": "2012-05-11~",
		"12.5.2012–15.5.2012": "[2012-05-12..2012-05-15]", "May 2012..June 2012": "[2012-05-01..2012-06-30]", "12.5.2012 - 12.5.2012": "2012-05-12", "12.5.19 um 14:00": "2019-05-12", "12 May 2019 at 2:30 pm": "2019-05-12", "um 2009": "2009~",
		"1430s": "", "May 12 June 2009": "", "12 May 123": "", "()": "", "1.2/2009": "", "3/4 2009": "", "summer": "", "30.2.2009": "", "12 May": "", "after 2009": "", "some time": "",
	} {
		t.Run(in, func(t *testing.T) {
			birds, res := read(t, "id;sex;sire;dam;hatched\nZ;M;;;13.5.2001\nY;M;;;14.5.2001\nX;M;;;14.5.2001\nC;M;;;\""+in+"\"\n", Mapping{})
			assert.Equal(t, want, birds["C"]["hatch_date"])
			if in == "30.2.2009" {
				at := slices.IndexFunc(res.Report.Decisions, func(d Decision) bool { return d.Code == "unreadable_date" })
				require.GreaterOrEqual(t, at, 0)
				assert.Contains(t, res.Report.Decisions[at].Text, "a day that its month does not have", "and what to write is said")
				assert.Contains(t, res.Report.Decisions[at].Text, "2009-02")
			}
			if want == "" && !unknownDate(in) {
				assert.Contains(t, decided(res), "unreadable_date")
				assert.Contains(t, birds["C"]["notes"], in)
			}
		})
	}
}

// Words that the notation of dates does not hold go to the notes.
func TestWordsOfDatesAreKept(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched\nC;M;;;spring 2009\nD;M;;;before 2009\nE;M;;;2009\n", Mapping{})
	assert.Equal(t, "hatch_date: spring 2009", birds["C"]["notes"])
	assert.Equal(t, "hatch_date: before 2009", birds["D"]["notes"])
	assert.Empty(t, birds["E"]["notes"])
}

// One cell that can be read in one order alone decides for the file; none, or
// two that disagree, stop.
func TestOrderOfDates(t *testing.T) {
	const head = "id;sex;sire;dam;hatched\n"
	birds, res := read(t, head+"A;M;;;03/04/2001\nB;M;;;13/04/2001\n", Mapping{})
	assert.Equal(t, "2001-04-03", birds["A"]["hatch_date"])
	assert.Contains(t, res.Report.DateProof, `"13/04/2001" in table line 3`)
	birds, _ = read(t, head+"A;M;;;03/04/2001\nB;M;;;04/13/2001\n", Mapping{})
	assert.Equal(t, "2001-03-04", birds["A"]["hatch_date"])
	birds, _ = read(t, head+"A;M;;;01-04-03\nB;M;;;01-04-23\nC;M;;;99-12-31\n", Mapping{})
	assert.Equal(t, "2001-04-03", birds["A"]["hatch_date"], "99 can only be a year")
	d := stops(t, head+"A;M;;;03/04/2001\nB;M;;;05/05/2001\n", Mapping{})
	assert.Equal(t, "date_order", d.Code)
	assert.Equal(t, `dates "": dmy, mdy`, asks(d))
	birds, _ = read(t, head+"A;M;;;03/04/2001\nB;M;;;05/05/2001\n", Mapping{Dates: "mdy"})
	assert.Equal(t, "2001-03-04", birds["A"]["hatch_date"])
	birds, _ = read(t, head+"B;M;;;05/05/2001\n", Mapping{})
	assert.Equal(t, "2001-05-05", birds["B"]["hatch_date"], "it does not differ by the order")
	assert.Equal(t, "date_orders_disagree", stops(t, head+"A;M;;;13/04/2001\nB;M;;;04/13/2001\n", Mapping{}).Code)
	birds, _ = read(t, "id;sex;sire;dam;Hatched (mm/dd/yyyy)\nA;M;;;03/04/2001\n", Mapping{})
	assert.Equal(t, "2001-03-04", birds["A"]["hatch_date"], "the heading says it")
}

// A year of two digits is the latest that is not in the future and makes no
// parent younger than its chick.
func TestYearsOfTwoDigits(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;died\nA;M;;;13.5.22;\nB;F;;;13.5.98;\nC;M;A;B;13.5.15;\nD;M;;;13.5.25;\nE;M;;;1.2.24;1.2.01\n", Mapping{})
	assert.Equal(t, "1922-05-13", birds["A"]["hatch_date"], "2022 would be after its chick")
	assert.Equal(t, "1998-05-13", birds["B"]["hatch_date"])
	assert.Equal(t, "2015-05-13", birds["C"]["hatch_date"])
	assert.Equal(t, "1925-05-13", birds["D"]["hatch_date"], "2025 is in the future")
	assert.Equal(t, "1924-02-01", birds["E"]["hatch_date"], "it died in 2001")
}

// Days stored as numbers, and a column that says how well they are known.
func TestPrecision(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;precision\nA;M;;;2001-01-01;year\nB;M;;;2001-02-01;month\nC;M;;;2001-02-03;day\nD;M;;;2001-01-01;Jahr\nE;M;;;2001;estimated\n", Mapping{})
	for id, want := range map[string]string{"A": "2001", "B": "2001-02", "C": "2001-02-03", "D": "2001", "E": "2001~"} {
		assert.Equal(t, want, birds[id]["hatch_date"], id)
	}
}

// Words of sexes in every language; letters and codes are proved by parents.
func TestSexes(t *testing.T) {
	for word, want := range map[string]string{
		"male": "M", "Cock": "M", "hen": "F", "männlich": "M", "w": "F", "Henne": "F", "mâle": "M", "femelle": "F", "macho": "M", "hembra": "F", "fêmea": "F", "maschio": "M", "femmina": "F",
		"man": "M", "pop": "F", "♂": "M", "♀": "F", "1.0": "M", "0.1": "F", "0.0.1": "U", "1,0": "M", "0,1": "F", "0,0,1": "U", "?": "U", "unsexed": "U", "f": "F", "m": "M", "v": "F", "c": "M",
	} {
		birds, _ := read(t, "id;sex;sire;dam\nA;"+word+";;\nB;;;\n", Mapping{})
		assert.Equal(t, want, birds["A"]["sex"], word)
	}
	birds, res := read(t, "id;sex;sire;dam\nA;1;;\nB;2;;\nC;2;A;B\nD;3;A;B\n", Mapping{})
	assert.Equal(t, "MFFU", birds["A"]["sex"]+birds["B"]["sex"]+birds["C"]["sex"]+birds["D"]["sex"])
	assert.Contains(t, decided(res), "sex_proved")
	birds, _ = read(t, "id;sex;sire;dam\nA;M;;\nB;H;;\nC;H;B;A\n", Mapping{})
	assert.Equal(t, "FMM", birds["A"]["sex"]+birds["B"]["sex"]+birds["C"]["sex"], "hombre and mujer")
	birds, _ = read(t, "id;sex;sire;dam\nA;M;;\nB;H;;\nC;H;A;B\n", Mapping{})
	assert.Equal(t, "MFF", birds["A"]["sex"]+birds["B"]["sex"]+birds["C"]["sex"], "macho and hembra")
	d := stops(t, "id;sex;sire;dam\nA;1;;\nB;2;;\nC;2;;\n", Mapping{})
	assert.Equal(t, "sex_unproved", d.Code)
	assert.Equal(t, `word "1": F, M, U`, asks(d))
	birds, _ = read(t, "id;sex;sire;dam\nA;1;;\nB;2;;\n", Mapping{Words: map[string]map[string]string{"sex": {"1": "F", "2": "M"}}})
	assert.Equal(t, "FM", birds["A"]["sex"]+birds["B"]["sex"])
	assert.Equal(t, "sex_contradicted", stops(t, "id;sex;sire;dam\nA;1;;\nB;1;;\nC;2;A;B\n", Mapping{}).Code)
}

// A sex with a question mark is unknown, but of a bird that stands as a parent; every one is
// told, and what is said of the word settles it.
func TestCellsInDoubt(t *testing.T) {
	const file = "id;sex;sire;dam;hatched\nA;macho?;;;2001\nB;F;;;2001\nC;M;A;B;2003\nD;M?;;;2003\nE;M?;D;B;2005\nG;1,0?;A?;B;2005\n"
	birds, res := read(t, file, Mapping{})
	for id, want := range map[string]string{"A": "M", "D": "M", "E": "U", "G": "U"} {
		assert.Equal(t, want, birds[id]["sex"], id)
	}
	assert.Equal(t, "A", birds["G"]["sire"])
	var told []string
	for _, d := range res.Report.Decisions {
		if strings.HasSuffix(d.Code, "_in_doubt") {
			told = append(told, d.Value+" "+d.Taken)
		}
	}
	assert.ElementsMatch(t, []string{"macho? M", "M? U", "1,0? U", "A? A"}, told)
	birds, _ = read(t, file, Mapping{Words: map[string]map[string]string{"sex": {"1,0?": "M"}}})
	assert.Equal(t, "M", birds["G"]["sex"])
}

// A cell of deaths may say that a bird went: its place and day count, and it is kept.
func TestGoneByTheCellOfDeaths(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died;location\n"
	for _, tt := range []struct{ cell, move, code string }{
		{"sent to Zurich 2023", "2023 H>Zurich", "fate_in_death"},
		{"moved to K 13/05/2019", "2019-05-13 H>K", "fate_in_death"},
		{"transferred to the Ashby Zoo in 2019", "2019 H>Ashby Zoo", "fate_in_death"},
		{"am 13.4.2020 nach Wien verlegt", "2020-04-13 H>Wien", "fate_in_death"},
		{"prêté à La Palmyre depuis 2020", "2020 H>La Palmyre", "fate_in_death"},
		{"emprestado ao Zoo Lisboa 2019", "2019 H>Zoo Lisboa", "fate_in_death"},
		{"an Zürich abgegeben 2016", "2016 H>", "fate_in_death"},
		{"an k abgegeben 2016", "2016 H>K", "fate_in_death"}, // a place of the file
		{"cedido a Zoo Lisboa (13/05/2019)", "2019-05-13 H>", "fate_in_death"},
		{"sold 2019", "2019 H>", "fate_in_death"},
		{"sent away 2019", "2019 H>elsewhere", "moved_nowhere"},
		{"loan", "[2001-01-01..2024-12-31] H>elsewhere", "moved_nowhere"},
	} {
		birds, res := read(t, head+"A;M;;;2001-01-01;"+tt.cell+";H\nB;F;;;2001-01-01;;H\nC;F;;;2001-01-01;;K\n", Mapping{})
		require.Len(t, res.Colony.Moves, 1, tt.cell)
		m := res.Colony.Moves[0]
		assert.Equal(t, tt.move, m.Date.Text+" "+m.From+">"+m.To, tt.cell)
		assert.Equal(t, tt.cell, m.Reason)
		if strings.Contains(tt.cell, " ") {
			assert.Equal(t, "death date: "+tt.cell, birds["A"]["notes"])
		}
		assert.Empty(t, birds["A"]["death_date"], tt.cell)
		require.Contains(t, decided(res), tt.code, tt.cell)
		d := res.Report.Decisions[slices.Index(decided(res), tt.code)]
		assert.Contains(t, d.Text, fmt.Sprintf("%q", tt.cell))
		assert.Equal(t, tt.cell, d.Choice.Word)
	}
	var many strings.Builder
	for k := range 30 {
		fmt.Fprintf(&many, "A%d;M;;;2001-01-01;sold %d;H\n", k, 2002+k%22)
	}
	_, res := read(t, head+many.String()+"B;F;;;2001-01-01;;H\n", Mapping{})
	assert.Len(t, slices.DeleteFunc(decided(res), func(code string) bool { return code != "fate_in_death" }), 21, "of many the rest are told together")
	birds, _ := read(t, head+"A;M;;;2001-01-01;sent to vet 2019;H\nB;F;;;2001-01-01;;H\n", Mapping{Words: map[string]map[string]string{"fate": {"sent to vet 2019": "died"}}})
	assert.Equal(t, "2019", birds["A"]["death_date"], "on the user's word")
}

// What became of birds, in every way that it is said.
func TestFates(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died;status;left;reason;location\n"
	for _, tt := range []struct{ name, row, death, move string }{
		{"a day", "2010-01-02;;;;H", "2010-01-02", ""},
		{"alive", "alive;;;;H", "", ""},
		{"a stroke", "-;;;;H", "", ""},
		{"lebt", "lebt;;;;H", "", ""},
		{"a word", "ja;;;;H", "[2001-01-01..2024-12-31]", ""},
		{"a cross", "†;;;;H", "[2001-01-01..2024-12-31]", ""},
		{"any word", "fox;;;;H", "[2001-01-01..2024-12-31]", ""},
		{"unknown day", "unknown;;;;H", "[2001-01-01..2024-12-31]", ""},
		{"a day and words", "2010-01-02 found dead;;;;H", "2010-01-02", ""},
		{"words and a day", "found dead 2010-01-02;;;;H", "2010-01-02", ""},
		{"an abbreviation and a year", "verst. 2010;;;;H", "2010", ""},
		{"after", "after 2009;;;;H", "[2009-12-31..2024-12-31]", ""},
		{"status", ";verstorben;;;H", "[2001-01-01..2024-12-31]", ""},
		{"status alive", ";living;;;H", "", ""},
		{"left and died", ";;2010-01-02;mort;H", "2010-01-02", ""},
		{"left and put to sleep", ";;2010-01-02;eingeschläfert;H", "2010-01-02", ""},
		{"left for necropsy", ";;2010-01-02;sent for necropsy;H", "2010-01-02", ""},
		{"left, and what was done then", ";;2010-01-02;zur Sektion;H", "2010-01-02", ""},
		{"sold", ";;2010-01-02;sold to a friend;H", "", "2010-01-02 H>"},
		{"escaped", ";;2010-01-02;entflogen;H", "", "2010-01-02 H>"},
		{"sold on an unknown day", ";vendido;;;H", "", "[2001-01-01..2024-12-31] H>"},
		{"moved", ";;2010-01-02;transferred to QUM;H", "", "2010-01-02 H>QUM"},
		{"moved nowhere", ";;2010-01-02;transfer;H", "", "2010-01-02 H>elsewhere"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			birds, res := read(t, head+"A;M;;;2001-01-01;"+tt.row+"\nB;F;;;2001-01-01;;;;;H\nC;F;;;2001-01-01;;;;;H\n", Mapping{})
			assert.Equal(t, tt.death, birds["A"]["death_date"])
			move := ""
			for _, m := range res.Colony.Moves {
				move += m.Date.Text + " " + m.From + ">" + m.To
			}
			assert.Equal(t, tt.move, move)
			s := res.Colony.At(asOf)
			i, _ := s.Index("A")
			living := false
			for _, k := range s.Living {
				living = living || k == i
			}
			assert.Equal(t, tt.death == "" && !strings.HasSuffix(tt.move, ">"), living, "whether it lives")
		})
	}
	d := stops(t, head+"A;M;;;2001-01-01;;;2010-01-02;;H\n", Mapping{})
	assert.Equal(t, "departure_without_reason", d.Code)
	d = stops(t, head+"A;M;;;2001-01-01;;baja;;;H\n", Mapping{})
	assert.Equal(t, "departure_without_reason", d.Code)
	d = stops(t, head+"A;M;;;2001-01-01;;;2010-01-02;code 7;H\n", Mapping{})
	assert.Equal(t, "departure_reason_unknown", d.Code)
	birds, _ := read(t, head+"A;M;;;2001-01-01;;;2010-01-02;code 7;H\nB;M;;;2001-01-01;;;2010-01-02;;H\n", Mapping{Words: map[string]map[string]string{"fate": {"code 7": "died", "": "died"}}})
	assert.Equal(t, "2010-01-02", birds["A"]["death_date"])
	assert.Equal(t, "2010-01-02", birds["B"]["death_date"])
}

// A column that asks whether a bird is alive, or dead.
func TestYesAndNo(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;Alive\nA;M;;;2001;yes\nB;M;;;2001;no\n", Mapping{})
	assert.Equal(t, "", birds["A"]["death_date"])
	assert.NotEmpty(t, birds["B"]["death_date"])
	birds, _ = read(t, "id;sex;sire;dam;hatched;Dead\nA;M;;;2001;no\nB;M;;;2001;yes\n", Mapping{})
	assert.Equal(t, "", birds["A"]["death_date"])
	assert.NotEmpty(t, birds["B"]["death_date"])
}

// A dam of a chick was alive when the egg was laid, so its death is later.
func TestDeathOnAnUnknownDayIsAfterTheLastChick(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;died\nA;M;;;2001-01-01;?\nB;F;;;2001-01-01;dead\nC;M;A;B;2010-05-01;\n", Mapping{})
	assert.Equal(t, "[2010-01-01..2024-12-31]", birds["B"]["death_date"], "120 days before the chick")
	assert.Equal(t, "[2001-01-01..2024-12-31]", birds["A"]["death_date"], "a sire may die before")
}

// Ids that are numbers are filled with zeros to the length of those that are
// text; references are matched likewise.
func TestIDsWithZeros(t *testing.T) {
	raw := inWorkbook(t, false, page{name: "Birds", rows: [][]any{
		{"Ring", "Sex", "Sire", "Dam"}, {"0731", "m", nil, nil}, {732, "f", nil, nil}, {"0733", "m", 731, 732}, {734, "f", 731.0, "0732"},
	}})
	birds := writtenFile(t, imported(t, "b.xlsx", raw, Mapping{}), "studbook.csv")
	require.Contains(t, birds, "0732")
	assert.Equal(t, "0731 0732", birds["0733"]["sire"]+" "+birds["0733"]["dam"])
	assert.Equal(t, "0731 0732", birds["0734"]["sire"]+" "+birds["0734"]["dam"])

	text, _ := read(t, "id;sex;sire;dam\n12;M;;\n13;F;;\n14;M;12.0;13.0\n", Mapping{})
	assert.Equal(t, "12 13", text["14"]["sire"]+" "+text["14"]["dam"], "12.0 of a number is 12")

	text, res := read(t, "id;sex;sire;dam\n#12;M;;\n#13;F;;\n#14;M;#12;13\n", Mapping{})
	assert.Equal(t, "12 13", text["14"]["sire"]+" "+text["14"]["dam"])
	assert.Contains(t, decided(res), "sign_left_out")

	// Not where the two are different birds: then somebody has to say so.
	raw = inWorkbook(t, false, page{name: "Birds", rows: [][]any{
		{"Ring", "Sex", "Sire", "Dam", "Name"}, {"0731", "m", nil, nil, "Ash"}, {731, "f", nil, nil, "Elm"}, {"0733", "m", "0731", nil, nil},
	}})
	stopped := tried(t, "b.xlsx", raw, Mapping{}).Report.Stops
	require.Len(t, stopped, 1)
	assert.Equal(t, "alike_ids", stopped[0].Code)
	assert.Len(t, writtenFile(t, imported(t, "b.xlsx", raw, Mapping{Alike: "two"}), "studbook.csv"), 3)
}

// Ids in two rows that the eye does not tell apart stop, until it is said whether
// they are one bird; a parent that is written so is the bird that looks like it.
func TestIDsAlike(t *testing.T) {
	const text = "id;sex;sire;dam;hatched\nC12;M;;;2001\nB1;F;;;2001\nc12;;;;2001\nB007;M;C12;B1;2004\nE5;F;b7;B1;2008\n"
	d := stops(t, text, Mapping{})
	assert.Equal(t, "alike_ids", d.Code)
	assert.Equal(t, `word "c12": C12, c12`, asks(d))
	for mapping, want := range map[string]int{"alike = \"one\"": 4, "alike = \"two\"": 5, "[import.words.id]\nc12 = \"C12\"": 4, "[import.words.id]\nc12 = \"c12\"": 5} {
		m, err := ReadMapping([]byte("[import]\n" + mapping))
		require.NoError(t, err)
		birds, res := read(t, text, m)
		assert.Len(t, birds, want, mapping)
		assert.Equal(t, "C12 B1", birds["B007"]["sire"]+" "+birds["B007"]["dam"])
		assert.Equal(t, "B007", birds["E5"]["sire"], "zeros and case aside it is one bird")
		assert.Equal(t, 5-want, res.Report.Joined)
		again, err := ReadMapping([]byte(res.Report.Mapping))
		require.NoError(t, err)
		_, same := read(t, text, again)
		assert.Equal(t, res.Report.Birds, same.Report.Birds, "the mapping that is kept says it again")
	}
	_, err := ReadMapping([]byte("[import]\nalike = \"three\""))
	assert.ErrorContains(t, err, "write one or two")
}

// A column that names other birds as sires than the one that was taken is told, but
// not one that has grandparents or the sires again by name.
func TestOtherColumnsOfParents(t *testing.T) {
	const text = "id;name;sex;sire;dam;sire by colour;sire's name;dam's sire\nA;Ash;M;;;;;\nB;Elm;F;;;;;\nG;Asp;M;;;;;\nC;Oak;M;A;B;A;Ash;\nD;Fir;F;C;B;G;Oak;\nE;Yew;F;A;D;A;Ash;C\n"
	_, res := read(t, text, Mapping{})
	require.Equal(t, []string{"other_parents", "all_alive"}, decided(res))
	d := res.Report.Decisions[0]
	assert.Equal(t, `column "": sire, sire by colour`, asks(d))
	assert.Contains(t, d.Text, `1 bird`)
	birds, _ := read(t, text, Mapping{Columns: map[string]string{"sire": "sire by colour"}})
	assert.Equal(t, "G", birds["D"]["sire"])
}

// A column of pairs says who the parents are where a bird is none of the pair.
func TestPairsOfParents(t *testing.T) {
	pairs := page{name: "Pairs", rows: [][]any{{"Pair", "Cock", "Hen", "Put up", "Split"}, {1, "A", "B", "2003", nil}, {2, "C", "B", "2006", nil}}}
	res := imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: [][]any{{"Ring", "Sex", "Pair", "Hatched"}, {"A", "m", nil, "2001"}, {"B", "f", nil, "2001"}, {"C", "m", 1, "2004"}, {"D", "f", "Pair 2", "2008"}}}, pairs), Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "A B C B", strings.Join([]string{birds["C"]["sire"], birds["C"]["dam"], birds["D"]["sire"], birds["D"]["dam"]}, " "))
	own := [][]any{{"Ring", "Sex", "Sire", "Dam", "Pair"}, {"A", "m", nil, nil, 1}, {"B", "f", nil, nil, 1}, {"C", "m", nil, nil, 2}}
	res = imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: own}, pairs), Mapping{})
	assert.Equal(t, []string{"nest_of_its_own", "all_alive"}, decided(res)[1:], "the first is of the rings")
	assert.Empty(t, writtenFile(t, res, "studbook.csv")["C"]["sire"])
	// A list of pairs alone is no list of birds.
	assert.Equal(t, "column_missing", stops(t, "No;Male;Female;Hatched\n1;A;B;2\n2;C;D;1\n", Mapping{}).Code)
}

// Sums at the foot of a list are no birds, whatever stands in their first cell.
func TestSums(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;hatched\nA;M;;;2001\nB;F;;;2001\n7;M;A;B;2004\nTotal 2004;1.1;;2;3\n3 birds;2.1.0;;;\n2.1.0 Vögel;;;;\n49 on 1 May;M;A;B;2005\n", Mapping{})
	assert.Equal(t, 4, res.Report.Birds, "49 on 1 May is an odd id, but it has parents")
	var lines []int
	for _, l := range res.Report.LeftOut {
		assert.Equal(t, "a total", l.Reason)
		lines = append(lines, l.Line)
	}
	assert.Equal(t, []int{5, 6, 7}, lines)
	assert.Len(t, res.Report.Totals, 2, "of males, females and unsexed")
}

// What databases write: \N, times with a zone, t and f.
func TestWhatDatabasesWrite(t *testing.T) {
	birds, res := read(t, "animal_id;sex;sire_id;dam_id;hatched_at;is_alive\n1;m;\\N;\\N;2001-05-06 00:00:00+00;f\n2;f;\\N;\\N;2001-05-06 00:00:00.000+02;t\n3;f;1;2;2004-05-06T10:11:12+02:00;t\n", Mapping{})
	assert.Equal(t, Fates{Living: 2, DiedUnknownDay: 1}, res.Report.Fates)
	assert.Equal(t, "2001-05-06 2001-05-06 2004-05-06", birds["1"]["hatch_date"]+" "+birds["2"]["hatch_date"]+" "+birds["3"]["hatch_date"])
	assert.Equal(t, 4, res.Report.Parents.Unknown)
	assert.Equal(t, "2007-08-13", func() string {
		b, _ := read(t, "id;sex;sire;dam;hatched\nA;M;;;13/8-2007\n", Mapping{})
		return b["A"]["hatch_date"]
	}())
}

// One word that has to be settled is one thing to decide, however many birds it
// is about; where a bird went says its own column.
func TestDepartures(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;left;reason;destination\n"
	res := tried(t, "t.csv", []byte(head+"A;M;;;2001;2005-01-02;xyzzy;\nB;F;;;2001;2005-01-02;xyzzy;\nC;F;;;2001;2005-01-02;;\nD;F;;;2001;2005-01-02;;\n"), Mapping{})
	require.Len(t, res.Report.Stops, 2)
	assert.Contains(t, res.Report.Stops[0].Text, "(and 1 time more)")
	_, moved := read(t, head+"A;M;;;2001;2005-01-02;loan;QUM\nB;F;;;2001;2006-01-02;sold;Mr Hale\n", Mapping{})
	require.Len(t, moved.Colony.Moves, 2)
	assert.Equal(t, "QUM", moved.Colony.Moves[0].To)
	assert.Empty(t, moved.Colony.Moves[1].To, "sold is out of the programme")
}

// Rows that are no birds are left out, each with its reason.
func TestRowsLeftOut(t *testing.T) {
	_, res := read(t, "Our birds;;;;\n;;;;\nid;sex;sire;dam;hatched\nNorth aviary;;;;\nA1;M;;;2001\nB1;F;;;2001\n;;;;\nid;sex;sire;dam;hatched\nSouth aviary;;;;\nC1;M;A1;B1;2003\nE1;;;;\n;F;;;\nTotal;3;;;\n37 birds alive;;;;\n", Mapping{})
	var got []string
	for _, l := range res.Report.LeftOut {
		got = append(got, l.Reason)
	}
	assert.Equal(t, []string{"above the header", "above the header", "a section's name or a remark", "blank", "the header again", "a section's name or a remark",
		"a section's name or a remark", "a total", "a total"}, got)
	assert.Equal(t, 4, res.Report.Birds, "E1 looks like the others' ids")
	require.Len(t, res.Report.Totals, 1)
	assert.Equal(t, OwnTotal{Sheet: "table", Line: 14, Text: "37 birds alive", Says: "37", Counted: "4"}, res.Report.Totals[0])
}

// A row without an id is a bird if it has a sex or a hatch date with parents.
func TestRowWithoutID(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched\nA1;M;;;2001\nB1;F;;;2001\n;F;A1;B1;2005\n;;;;2005\n", Mapping{})
	require.Contains(t, birds, "table-4")
	assert.Equal(t, "A1", birds["table-4"]["sire"])
}

// Names that only look like ours are never taken for them.
func TestNoLikenessOfLetters(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;Foster dam;Dam's sire;Changed on;hatched\nA;M;;;;;2020-01-01;2001\nB;F;;;;;2020-01-01;2001\nC;M;A;B;Z9;Y8;2020-02-02;2005\n", Mapping{})
	assert.Equal(t, "B", birds["C"]["dam"])
	assert.Equal(t, "foster dam: Z9", birds["C"]["notes"])
	assert.Equal(t, "Y8", birds["C"]["Dam's sire"], "carried over as it stands")
	assert.Equal(t, "2020-02-02", birds["C"]["Changed on"])
	assert.Equal(t, "2005", birds["C"]["hatch_date"])
	assert.Equal(t, 0, res.Report.Parents.WithoutRow)
}

// Headings in two languages, with qualifiers, and of Darwin Core.
func TestHeadings(t *testing.T) {
	for heading, want := range map[string]column{
		"Mère / Madre": colDam, "Père/Padre": colSire, "Sex (M/F)": colSex, "Hatch date (dd/mm/yyyy)": colHatch, "Gewicht (g)": unclaimed, "SIRE_ID": colSire, "Vater (Ring)": colSire,
		"organismID": colID, "organismName": colName, "otherCatalogNumbers": colOtherIDs, "Sire / Dam": colParents, "Name / Sex": unclaimed, "Dam's sire": unclaimed, "Changed on": unclaimed,
		"Foster dam": colFosterDam, "†": colDeath, "Né(e) le": colHatch, "Geschlecht": colSex, "Sexe / Sex": colSex, "Madre - Mother": colDam, "Paternal": unclaimed, "Damage": unclaimed,
	} {
		assert.Equal(t, want, birdNames().find(heading, false), heading)
	}
}

// A word for "number" and what stands in brackets leave a heading what it is, unless with
// them it is the name of something else.
func TestHeadingsWithMore(t *testing.T) {
	im := &importer{opt: &Options{}, src: &source{}}
	for heading, want := range map[string]column{
		"Zuchtbuchnr.": colID, "Zuchtbuch Nr": colID, "Zuchtbuch-Num.": colID, "N.º anilha": colBand, "Anilha Nº": colBand, "No. Ring": colBand, "Vaternr.": colSire, "Muttervogel No.": colDam,
		"Vater (ZB)": colSire, "Mutter (ZB)": colDam, "Father (SB)": colSire, "Dam [studbook]": colDam, "Haltung (jetzt)": colLocation, "geschlüpft am (wenn bekannt, sonst Jahr)": colHatch,
		"Dam (foster)": colFosterDam, "Vater (Pflege)": colFosterSire, "Ring (old)": colOtherIDs, "Ring (father)": colSire, "Father (nourricier)": unclaimed, "Hatched (died)": unclaimed,
		"Gewicht (g)": unclaimed, "Hatch no.": unclaimed, "Eggs (hatched)": unclaimed,
	} {
		c := im.known(birdNames(), heading, nil, false)
		if c == unclaimed {
			c = im.known(birdNames(), heading, nil, true)
		}
		assert.Equal(t, want, c, heading)
	}
}

// Where the heading of the ids is not known the others still show the header: only what is
// missing is asked for, and the columns that nothing claims are shown once.
func TestHeaderWithoutIDs(t *testing.T) {
	const rows = "4;;;1999;m;X\n7;;;2000;f;Y\n9;4;7;2004;f;Z\n"
	res := tried(t, "table.csv", []byte("Unsere Vögel;;;;;\nKennzahl;Erzeuger;Gebärerin;geschlüpft am;Geschl.;Rufname\n"+rows), Mapping{})
	var told []string
	for _, d := range res.Report.Stops {
		told = append(told, d.Code+" "+d.Text)
	}
	assert.Equal(t, []string{
		`column_missing no column of the file is known to be id; not known in line 2 are "Kennzahl" (4, 7, 9), "Erzeuger" (4), "Gebärerin" (7)`,
		"column_missing no column of the file is known to be sire", "column_missing no column of the file is known to be dam",
	}, told)
	birds, _ := read(t, "Kennzahl;Vater (ZB);Mutter (ZB);geschlüpft am;Geschl.;Rufname\n"+rows, Mapping{})
	assert.Equal(t, "4 7", birds["9"]["sire"]+" "+birds["9"]["dam"], "the column in which the parents stand has the ids")
}

// Columns that are there twice or not at all stop, and a flag decides.
func TestColumnsThatMustBeDecided(t *testing.T) {
	d := stops(t, "id;sex;sire;father;dam\nA;M;;;\nB;M;A;Z;\n", Mapping{})
	assert.Equal(t, "column_twice", d.Code)
	assert.Equal(t, `column "": sire, father`, asks(d))
	_, res := read(t, "id;sex;father;sire;dam\nA;M;;;\nB;M;;A;\n", Mapping{})
	assert.Equal(t, 1, res.Report.Parents.ByID, "a column without a cell says nothing")
	birds, _ := read(t, "id;sex;sire;father;dam\nA;M;;;\nB;M;A;Z;\n", Mapping{Columns: map[string]string{"sire": "sire"}})
	assert.Equal(t, "A", birds["B"]["sire"])
	assert.Equal(t, "column_missing", stops(t, "id;sex;dam\nA;M;\nB;M;A\n", Mapping{}).Code)
	assert.Equal(t, "no_such_column", stops(t, "id;sex;sire;dam\nA;M;;\n", Mapping{Columns: map[string]string{"band": "Ring"}}).Code)
	d = stops(t, "id;sex;sire;dam\nA;M;good;\nB;M;bad;\nC;M;ugly;\n", Mapping{})
	assert.Equal(t, "parents_unlike_ids", d.Code)
	assert.Equal(t, `heading "sire": sire, `, asks(d))
	birds, _ = read(t, "id;sex;sire;dam\nA;M;good;\nB;M;bad;\nC;M;ugly;\n", Mapping{Columns: map[string]string{"sire": "sire"}})
	assert.Equal(t, "good", birds["A"]["sire"], "on the user's word")
	var many strings.Builder
	for _, w := range strings.Fields("one two three four five six seven eight nine ten eleven twelve thirteen") {
		many.WriteString("A" + w + ";" + w + ";;\n")
	}
	assert.Equal(t, "sex_unlike_sexes", stops(t, "id;sex;sire;dam\n"+many.String(), Mapping{}).Code)
}

// Several rows of a bird become one: blanks are filled, the finer date is taken,
// places become moves, and what cannot both be right stops.
func TestOneBirdInSeveralRows(t *testing.T) {
	const head = "id;name;sex;sire;dam;hatched;location;arrived;left;reason;died\n"
	const others = "S;;M;;;1990;H;;;;\nD;;F;;;1990;H;;;;\n"
	birds, res := read(t, head+others+"A;;;S;;2001;H;;;;\nA;Ash;M;;D;2001-05;;;;;\nA;;;;;;Q;2004-05-06;;;\n", Mapping{})
	a := birds["A"]
	assert.Equal(t, "Ash M S D 2001-05 Q", strings.Join([]string{a["name"], a["sex"], a["sire"], a["dam"], a["hatch_date"], a["location"]}, " "))
	require.Len(t, res.Colony.Moves, 1)
	m := res.Colony.Moves[0]
	assert.Equal(t, "A 2004-05-06 H Q", strings.Join([]string{m.ID, m.Date.Text, m.From, m.To}, " "))
	assert.Equal(t, 2, res.Report.Joined)

	// It was sold and came back to where it had been.
	birds, res = read(t, head+others+"A;Ash;M;S;D;2001;H;;2010-03-14;sold;\nA;ASH;;;;;H;2012-04-15;;;\n", Mapping{})
	assert.Equal(t, "Ash H ", birds["A"]["name"]+" "+birds["A"]["location"]+" "+birds["A"]["notes"])
	require.Len(t, res.Colony.Moves, 2)
	assert.Equal(t, "H  2010-03-14", res.Colony.Moves[0].From+" "+res.Colony.Moves[0].To+" "+res.Colony.Moves[0].Date.Text)
	assert.Equal(t, " H 2012-04-15 came back", res.Colony.Moves[1].From+" "+res.Colony.Moves[1].To+" "+res.Colony.Moves[1].Date.Text+" "+res.Colony.Moves[1].Reason)

	// It left without a reason, and came back.
	_, res = read(t, head+others+"A;;M;S;D;2001;H;;2003-01-01;;\nA;;M;S;D;2001;Q;2003-01-01;2005-01-01;;\nA;;M;S;D;2001;H;2005-01-01;;;\n", Mapping{})
	var moves []string
	for _, m := range res.Colony.Moves {
		moves = append(moves, m.Date.Text+" "+m.From+">"+m.To)
	}
	assert.Equal(t, []string{"2003-01-01 H>Q", "2005-01-01 Q>H"}, moves)

	for name, rows := range map[string]string{
		"sire":         "A;;M;S;D;2001;H;;;;\nA;;M;X;D;2001;H;;;;\nX;;M;;;1990;H;;;;\n",
		"sex":          "A;;M;S;D;2001;H;;;;\nA;;F;S;D;2001;H;;;;\n",
		"day of death": "A;;M;S;D;2001;H;;;;2010-01-01\nA;;M;S;D;2001;H;;;;2011-01-01\n",
	} {
		d := stops(t, head+others+rows, Mapping{})
		assert.Equal(t, "rows_disagree", d.Code, name)
		assert.Equal(t, name, d.Column)
		assert.Contains(t, d.Text, "table line 4")
		assert.Contains(t, d.Text, "table line 5")
		birds, _ := read(t, head+others+rows, Mapping{LeaveOut: []string{"table:5"}})
		assert.Equal(t, "S", birds["A"]["sire"])
	}
}

// A second sheet of dead birds makes them dead, whatever it says of days.
func TestSheetOfTheDead(t *testing.T) {
	for _, name := range []string{"Dead birds", "Verstorben", "Morts", "Fallecidos", "Óbitos", "Deceduti", "Overleden", "Former"} {
		raw := inODS(t, page{name: "Birds", rows: [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "m", nil, nil, "2001"}, {"B", "f", nil, nil, "2001"}, {"C", "m", "A", "B", "2005"}}},
			page{name: name, rows: [][]any{{"id", "sex", "sire", "dam", "hatched", "died"}, {"E", "m", nil, nil, "2001", nil}, {"G", "f", nil, nil, "2001", "2009"}}},
			page{name: "Food", rows: [][]any{{"Month", "kg"}, {"May", 3}}})
		res := imported(t, "b.ods", raw, Mapping{})
		birds := writtenFile(t, res, "studbook.csv")
		assert.Equal(t, "[2001-01-01..2024-12-31]", birds["E"]["death_date"], name)
		assert.Equal(t, "2009", birds["G"]["death_date"])
		assert.Equal(t, "", birds["A"]["death_date"])
		require.Len(t, res.Report.Sheets, 3)
		assert.Equal(t, "left out", res.Report.Sheets[2].As)
		assert.NotEmpty(t, res.Report.Sheets[2].Why)
	}
	raw := inODS(t, page{name: "A", rows: [][]any{{"id", "sex", "sire", "dam"}, {"A", "m", nil, nil}}}, page{name: "B", rows: [][]any{{"id", "sex", "sire", "dam"}, {"B", "m", nil, nil}}})
	assert.Len(t, writtenFile(t, imported(t, "b.ods", raw, Mapping{Sheets: []string{"B"}}), "studbook.csv"), 1)
	assert.Equal(t, "no_such_sheet", tried(t, "b.ods", raw, Mapping{Sheets: []string{"C"}}).Report.Stops[0].Code)
}

// Nests and groups say who the parents could be.
func TestNestsAndGroups(t *testing.T) {
	birds := [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "m", nil, nil, "1990"}, {"B", "f", nil, nil, "1990"}, {"E", "m", nil, nil, "1990"}, {"G", "f", nil, nil, "1990"},
		{"C1", "m", "Nest 5", nil, "2005-05-01"}, {"C2", "m", "nest 5", "nest 5", "2007-05-01"}, {"C3", "f", "South aviary flock", "South aviary flock", "2005-06-01"}, {"C4", "f", "South aviary flock", "South aviary flock", "2009-06-01"}, {"C5", "f", "A", "B", "2009-06-01"}, {"C6", "m", "Nest 0", "Nest 00", "2005-05-01"}}
	raw := inODS(t, page{name: "Birds", rows: birds},
		page{name: "Nests", rows: [][]any{{"Nest", "Female", "Male", "From", "To"}, {"5", "B", "A", "2004-01-01", "2006-01-01"}, {"5", "B", "A", "2007-01-01", "2008-01-01"}, {"5", "G", "E", "2007-04-01", nil}, {"0", "G", "E", "2004-01-01", "2006-01-01"}}},
		page{name: "Groups", rows: [][]any{{"Group", "Season", "Males", "Females"}, {"South aviary flock", "2005", "A, E", "B; G"}, {"South aviary flock", "2009", "E", "G"}}})
	res := imported(t, "b.ods", raw, Mapping{})
	got := writtenFile(t, res, "studbook.csv")
	for id, want := range map[string]string{"C1": "A B", "C2": "A=0.5; E=0.5 B=0.5; G=0.5", "C3": "A=0.5; E=0.5 B=0.5; G=0.5", "C4": "E G", "C6": "E G"} {
		assert.Equal(t, want, got[id]["sire"]+" "+got[id]["dam"], id)
	}
	assert.Equal(t, 6, res.Report.Parents.ByNest)
	assert.Equal(t, 4, res.Report.Parents.ByGroup)
	assert.Len(t, res.Colony.Bonds, 4)
	assert.Equal(t, "nests", res.Report.Sheets[1].As)
	assert.Equal(t, "groups", res.Report.Sheets[2].As)
}

// Nests that nobody held, that two pairs held, or of which one of the pair is unknown.
func TestNestsInDoubt(t *testing.T) {
	raw := inODS(t, page{name: "Birds", rows: [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "m", nil, nil, "1990"}, {"B", "f", nil, nil, "1990"}, {"E", "m", nil, nil, "1990"}, {"G", "f", nil, nil, "1990"},
		{"C1", "m", "Nest 5", nil, "2005-05-01"}, {"C2", "m", "Nest 9", nil, "2007-05-01"}, {"C3", "f", "Nest 7", nil, "2005-06-01"}, {"C4", "f", nil, "Nest 8", "2009-06-01"}, {"C5", "f", "Big group", "Big group", "2010"}, {"C6", "f", "Nest 5", nil, nil}}},
		page{name: "Nests", rows: [][]any{{"Nest", "Female", "Male", "From", "To"}, {"5", "A", "B", "2004-01-01", "2006-01-01"}, {"9", "B", "A", "2010-01-01", "2011-01-01"}, {"7", "B", "unknown", "2004-01-01", nil},
			{"8", "G", "E", "2009-04-01", nil}, {"8", "G", "A", "2009-04-01", nil}, {"5", "G", "E", "2008-01-01", "2009-01-01"}}},
		page{name: "Groups", rows: [][]any{{"Group", "Season", "Males", "Females"}, {"Big group", "sometime", "A, E", "B; G"}}})
	res := imported(t, "b.ods", raw, Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	for id, want := range map[string]string{
		"C1": "A B",                       // the sexes say who is who
		"C2": " ",                         // nobody held it then
		"C3": " B",                        // one of the two is unknown
		"C4": "E=0.5; A=0.5 G",            // two males held it with her
		"C5": "A=0.5; E=0.5 B=0.5; G=0.5", // of any season, as its own cannot be read
		"C6": " ",                         // of a day that nobody knows
	} {
		assert.Equal(t, want, birds[id]["sire"]+" "+birds[id]["dam"], id)
	}
	for _, code := range []string{"nest_of_nobody", "unreadable_date", "pair_without_rows"} {
		assert.Contains(t, decided(res), code)
	}
}

// A nest or a group of more birds than can stand as possible parents says nothing.
func TestNestsAndGroupsOfMany(t *testing.T) {
	birds := [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"C1", "m", "Nest 5", nil, "2005-05-01"}, {"C2", "m", "South flock", "South flock", "2005-05-01"}, {"C3", "m", "Nest 5", nil, "1999-05-01"}}
	nests, groups := [][]any{{"Nest", "Female", "Male", "From"}}, [][]any{{"Group", "Season", "Males", "Females"}}
	for i := range studbook.MostCandidates + 1 {
		m, f, since := fmt.Sprint("M", i), fmt.Sprint("F", i), "2000-01-01"
		if i == 0 {
			since = "1995-01-01"
		}
		birds = append(birds, []any{m, "m", nil, nil, "1990"}, []any{f, "f", nil, nil, "1990"})
		nests, groups = append(nests, []any{"5", f, m, since}), append(groups, []any{"South flock", "2005", m, "F1"})
	}
	res := imported(t, "b.ods", inODS(t, page{name: "Birds", rows: birds}, page{name: "Nests", rows: nests}, page{name: "Groups", rows: groups[:200]}), Mapping{})
	got := writtenFile(t, res, "studbook.csv")
	assert.Equal(t, " ", got["C1"]["sire"]+" "+got["C1"]["dam"])
	assert.Equal(t, "M0 F0", got["C3"]["sire"]+" "+got["C3"]["dam"], "the others came later")
	assert.Len(t, strings.Split(got["C2"]["sire"], ";"), 199)
	assert.Equal(t, "F1", got["C2"]["dam"])
	k := slices.IndexFunc(res.Report.Decisions, func(d Decision) bool { return d.Code == "parents_too_many" })
	require.GreaterOrEqual(t, k, 0)
	assert.Equal(t, `more than 200 birds or pairs of "Nest 5" could be parents of C1: the parent is unknown`, res.Report.Decisions[k].Text)
	groups[1][2] = "M0, M200, Q1"
	for _, rows := range [][][]any{groups, groups[:200]} { // too many rows, and too many names
		res = imported(t, "b.ods", inODS(t, page{name: "Birds", rows: birds}, page{name: "Groups", rows: rows}), Mapping{LeaveOut: []string{"Birds:2", "Birds:4"}})
		assert.Contains(t, decided(res), "parents_too_many")
		assert.Equal(t, "", writtenFile(t, res, "studbook.csv")["C2"]["sire"])
	}
}

// Encodings of one byte a letter are told apart by their letters.
func TestEncodings(t *testing.T) {
	for name, raw := range map[string]string{
		"windows-1252": "id;sex;sire;dam;name\nA;M;;;J\xfcrgen\nB;F;;;Fran\xe7oise\n",
		"macintosh":    "id;sex;sire;dam;name\nA;M;;;J\x9frgen\nB;F;;;Fran\x8doise\n",
		"IBM850":       "id;sex;sire;dam;name\nA;M;;;J\x81rgen\nB;F;;;Fran\x87oise\n",
	} {
		birds, res := read(t, raw, Mapping{})
		assert.Equal(t, "Jürgen", birds["A"]["name"], name)
		assert.Equal(t, name, res.Report.Encoding)
		assert.Equal(t, []string{"Jürgen", "Françoise"}, res.Report.Accented)
	}
	birds, res := read(t, "id;sex;sire;dam;name;died\nA;M;;;J\xfcrgen;\x86\nB;M;;;Anna;\x86\nC;M;;;Hans;\x86\n", Mapping{})
	assert.Equal(t, "windows-1252", res.Report.Encoding, "a cross is no letter")
	assert.Equal(t, "Jürgen", birds["A"]["name"])
	birds, _ = read(t, "id;sex;sire;dam;name\nA;M;;;\xa3\xf3d\xbc\n", Mapping{Encoding: "ISO-8859-2"})
	assert.Equal(t, "Łódź", birds["A"]["name"])
}

// A description beside a table is used.
func TestDescribedTables(t *testing.T) {
	table := []byte("Ring|S|Pa|Ma|Born\nA|m|NULL|NULL|3/4/2001\nB|f|NULL|NULL|5/6/2001\nC|m|A|B|1/2/2004\nD|m|A,C|B|1/2/2008\n")
	res, err := Import(t.Context(), fstest.MapFS{
		"birds.csv": {Data: table},
		"datapackage.json": {Data: []byte(`{"resources":[{"path":"birds.csv","dialect":{"delimiter":"|"},"schema":{"missingValues":["","NULL"],
			"fields":[{"name":"Ring","title":"id"},{"name":"S","title":"sex"},{"name":"Pa","title":"sire"},{"name":"Ma","title":"dam"},{"name":"Born","type":"date","format":"%m/%d/%Y"}]}}]}`)},
	}, "birds.csv", Options{Today: asOf, FileDay: asOf})
	require.NoError(t, err)
	require.Empty(t, res.Report.Stops)
	assert.Equal(t, "datapackage.json", res.Report.Beside)
	got := writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "2001-03-04", got["A"]["hatch_date"])
	assert.Equal(t, "A B", got["C"]["sire"]+" "+got["C"]["dam"])

	res, err = Import(t.Context(), fstest.MapFS{
		"birds.csv": {Data: table},
		"birds.csv-metadata.json": {Data: []byte(`{"dialect":{"delimiter":"|"},"tableSchema":{"null":"NULL","columns":[{"titles":"Ring","name":"id"},{"titles":["S"],"name":"sex"},
			{"titles":"Pa","name":"sire","separator":","},{"titles":{"en":"Ma"},"name":"dam"},{"titles":"Born","name":"hatch_date","datatype":{"base":"date","format":"M/d/yyyy"}}]}}`)},
	}, "birds.csv", Options{Today: asOf, FileDay: asOf})
	require.NoError(t, err)
	require.Empty(t, res.Report.Stops)
	got = writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "2001-03-04", got["A"]["hatch_date"])
	assert.Equal(t, "A=0.5; C=0.5", got["D"]["sire"])
}

// What is no table gets one finding with the cure.
func TestForeignFiles(t *testing.T) {
	var faults *studbook.Faults
	for begin, cure := range map[string]string{
		"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1": "save it as .xlsx", "%PDF-1.7": "save that as .xlsx", "\x89PNG\r\n\x1a\n\x00": "type the table", "\x1f\x8b\x08": "unpack it", "": "save it again", " \n": "save it again",
		"<!DOCTYPE html><table>": "save it as .xlsx", "PK\x03\x04 damaged": "save it again as .xlsx", "{\\rtf1": "copy the table", "\x01\x00\x02\x00\x00\x03\x00\x01": "save the birds as .xlsx",
	} {
		_, err := Import(t.Context(), fstest.MapFS{"f.csv": {Data: []byte(begin)}}, "f.csv", Options{})
		require.ErrorAs(t, err, &faults, "%q", begin)
		require.Len(t, faults.Findings, 1)
		assert.Contains(t, faults.Findings[0].Help, cure, "%q", begin)
	}
	_, err := Import(t.Context(), fstest.MapFS{}, "f.csv", Options{})
	assert.ErrorContains(t, err, "there is no file f.csv")
}

// A file cut short anywhere, or with bytes changed, never panics.
func TestDamagedWorkbooks(t *testing.T) {
	rows := [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "m", nil, nil, 2001}, {"B", "f", nil, nil, on(2001, 2, 3)}, {"C", "m", "A", "B", "5.6.2007"}}
	for name, raw := range map[string][]byte{"b.xlsx": inWorkbook(t, false, page{name: "Birds", rows: rows, merged: []string{"A1:B1"}}), "b.ods": inODS(t, page{name: "Birds", rows: rows})} {
		for n := 0; n < len(raw); n += 61 {
			for _, changed := range [][]byte{raw[:n], append(append(bytes.Clone(raw[:n]), raw[n]^0x55), raw[n+1:]...)} {
				res, err := Import(t.Context(), fstest.MapFS{name: {Data: changed}}, name, Options{Today: asOf})
				var faults *studbook.Faults
				if err != nil {
					require.ErrorAs(t, err, &faults)
					continue
				}
				addsUp(t, res)
			}
		}
	}
}

// A log of events makes birds, bonds, clutches and moves; the words may stand
// in one cell.
func TestEvents(t *testing.T) {
	res := imported(t, "log.csv", []byte(`Date;Bird;What happened;With;Where
1.5.1990;A;arrived;Zoo Q;H
;B;arrived;;H
;A;sexed male;;
;B;sexed;hen;
13.5.1995;A;paired with B;;
1.6.1996;B;laid;;
5.7.1996;C;hatched from A x B;;H
;C;ringed GB 77;;
1.1.1998;C;moved to QUM;;
1.1.1999;A;parted;B;
1.1.2000;B;weighed;700 g;
1.1.2001;B;found dead;;
1.1.2002;C;serenaded;;
1.1.2003;A;sold;;
2.2.2003;;cleaned;;
`), Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	require.Len(t, birds, 3)
	assert.Equal(t, "M F", birds["A"]["sex"]+" "+birds["B"]["sex"])
	assert.Equal(t, "A B 1996-07-05 GB 77 QUM", strings.Join([]string{birds["C"]["sire"], birds["C"]["dam"], birds["C"]["hatch_date"], birds["C"]["band"], birds["C"]["location"]}, " "))
	assert.Equal(t, "2001-01-01", birds["B"]["death_date"])
	require.Len(t, res.Colony.Bonds, 1)
	b := res.Colony.Bonds[0]
	assert.Equal(t, "B A 1995-05-13 1999-01-01", strings.Join([]string{b.Female, b.Male, b.Since.Text, b.Until.Text}, " "))
	require.Len(t, res.Colony.Clutches, 1)
	assert.Equal(t, "B A 1996-06-01", res.Colony.Clutches[0].Female+" "+res.Colony.Clutches[0].Male+" "+res.Colony.Clutches[0].Laid.Text)
	var moves []string
	for _, m := range res.Colony.Moves {
		moves = append(moves, m.ID+" "+m.Date.Text+" "+m.From+">"+m.To)
	}
	assert.Equal(t, []string{"A 1990-05-01 Zoo Q>H", "B 1990-05-01 >H", "C 1998-01-01 H>QUM", "A 2003-01-01 H>"}, moves)
	assert.Contains(t, decided(res), "event_unknown")
	var left []string
	for _, l := range res.Report.LeftOut {
		left = append(left, l.Reason)
	}
	assert.Equal(t, []string{`the event "serenaded" is in no list of words`, "the event names no bird"}, left)

	// A date that runs backward: an empty one is not that of the row above.
	res = imported(t, "log.csv", []byte("Date;Bird;Event\n13.5.1995;A;hatched\n1.5.1990;B;hatched\n;C;hatched\n"), Mapping{})
	assert.Equal(t, "", writtenFile(t, res, "studbook.csv")["C"]["hatch_date"])
	// Columns of birds beside the events, a death without a day and a parting of a bond that
	// nobody wrote down.
	res = imported(t, "log.csv", []byte("Date;Bird;Event;With;Place;Sex;Sire;Dam;Notes;Origin\n13.1.2001;A;hatched;;Hall;m;;;first;wild\n13.1.2001;B;hatched;;Hall;f;;;;captive\n"+
		"14.3.2003;C;hatched;;Hall;;A;B;;\n15.5.2004;A;parted;B;;;;;;\n?;B;died;fox;;;;;;\n"), Mapping{})
	birds = writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "M wild first", birds["A"]["sex"]+" "+birds["A"]["origin"]+" "+birds["A"]["notes"])
	assert.Equal(t, "A B", birds["C"]["sire"]+" "+birds["C"]["dam"])
	assert.Equal(t, "[2002-11-14..2024-12-31] death: fox", birds["B"]["death_date"]+" "+birds["B"]["notes"], "she laid the egg of C, longest days before it hatched at most")
	require.Len(t, res.Colony.Bonds, 1)
	assert.Equal(t, "B A  2004-05-15", res.Colony.Bonds[0].Female+" "+res.Colony.Bonds[0].Male+" "+res.Colony.Bonds[0].Since.Text+" "+res.Colony.Bonds[0].Until.Text)
	res = imported(t, "log.csv", []byte("Date;Bird;Event\n13.5.1995;A;arose\n"), Mapping{Words: map[string]map[string]string{"event": {"arose": "hatched"}}})
	assert.Equal(t, "1995-05-13", writtenFile(t, res, "studbook.csv")["A"]["hatch_date"])
}

// What else a family tree may say.
func TestFamilyTreeRules(t *testing.T) {
	const head = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR ANSI\n"
	people := "0 @A@ INDI\n1 NAME Moss /Cliff/\n1 SEX M\n0 @B@ INDI\n1 SEX F\n0 @C@ INDI\n1 SEX M\n1 FAMC @F1@\n2 PEDI foster\n1 FAMC @F2@\n0 @D@ INDI\n1 SEX M\n1 FAMC @F1@\n1 FAMC @F2@\n0 @E@ INDI\n1 SEX F\n1 NOTE f\xfcr\n2 CONT zwei\n1 DEAT\n0 @G@ INDI\n1 SEX M\n"
	families := "0 @F1@ FAM\n1 HUSB @A@\n1 WIFE @B@\n1 CHIL @G@\n1 MARR\n2 DATE 1 MAY 1990\n1 DIV\n2 DATE 1995\n0 @F2@ FAM\n1 HUSB @A@\n1 WIFE @E@\n0 TRLR\n"
	res := imported(t, "t.ged", []byte(head+people+families), Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "Moss Cliff", birds["A"]["name"])
	assert.Equal(t, "A E foster by A and B", birds["C"]["sire"]+" "+birds["C"]["dam"]+" "+birds["C"]["notes"])
	assert.Equal(t, "A B=0.5; E=0.5", birds["D"]["sire"]+" "+birds["D"]["dam"], "two families of birth")
	assert.Equal(t, "A B", birds["G"]["sire"]+" "+birds["G"]["dam"], "a child that its family alone names")
	assert.Equal(t, "für zwei", birds["E"]["notes"])
	assert.NotEmpty(t, birds["E"]["death_date"])
	require.Len(t, res.Colony.Bonds, 1)
	assert.Equal(t, "B A 1990-05-01 1995", res.Colony.Bonds[0].Female+" "+res.Colony.Bonds[0].Male+" "+res.Colony.Bonds[0].Since.Text+" "+res.Colony.Bonds[0].Until.Text)

	res = imported(t, "t.ged", []byte("0 HEAD\n1 CHAR ANSEL\n0 @A@ INDI\n1 NAME J\xe8urgen \xb2yvind\n0 TRLR\n"), Mapping{})
	assert.Equal(t, "Jurgen øyvind", writtenFile(t, res, "studbook.csv")["A"]["name"])
	assert.Contains(t, decided(res), "letters_without_accents")

	// The id is REFN only if all have one of their own.
	res = imported(t, "t.ged", []byte("0 HEAD\n0 @A@ INDI\n1 REFN 7\n0 @B@ INDI\n1 REFN 7\n0 TRLR\n"), Mapping{})
	assert.Contains(t, writtenFile(t, res, "studbook.csv"), "B")
	res = imported(t, "t.ged", []byte("0 HEAD\n0 @A@ INDI\n1 REFN 7\n1 EXID x\n0 @B@ INDI\n1 EXID y\n0 TRLR\n"), Mapping{})
	assert.Contains(t, writtenFile(t, res, "studbook.csv"), "y")
}

// told returns the texts of what was likely, by code.
func told(res *Result) map[string]string {
	out := make(map[string]string)
	for _, d := range res.Report.Decisions {
		out[d.Code] += d.Text + "\n"
	}
	return out
}

// TestFamilyTreesOfPrograms: what programs of genealogy write beside the standards, and trees
// of which a part is missing.
func TestFamilyTreesOfPrograms(t *testing.T) {
	tree := func(text string) (map[string]map[string]string, *Result) {
		res := imported(t, "t.ged", []byte(text), Mapping{})
		return writtenFile(t, res, "studbook.csv"), res
	}
	parents := func(b map[string]string) string { return b["sire"] + " " + b["dam"] }

	// Indented, with tabs, without header and trailer, on lines that end as those of old Macintosh.
	birds, _ := tree("0 @A@ INDI\r  1\tSEX\tM\r0 @B@ INDI\r  1 SEX F\r0 @C@ INDI\r  1 FAMC @F@\r0 @F@ FAM\r  1 HUSB @A@\r  1 WIFE @B@\r")
	assert.Equal(t, "A B", parents(birds["C"]))
	assert.Equal(t, "M", birds["A"]["sex"])

	// A stepfather, as most programs write him, and other words than the standards have.
	birds, res := tree("0 HEAD\n0 @A@ INDI\n0 @B@ INDI\n0 @C@ INDI\n1 FAMC @F@\n0 @D@ INDI\n1 FAMC @F@\n2 PEDI natural\n0 @E@ INDI\n1 FAMC @F@\n2 PEDI step\n" +
		"0 @F@ FAM\n1 HUSB @A@\n1 WIFE @B@\n1 CHIL @C@\n2 _FREL Step\n2 _MREL Natural\n1 CHIL @D@\n2 _FREL Natural\n0 TRLR\n")
	assert.Equal(t, " B", parents(birds["C"]))
	assert.Equal(t, "step by A", birds["C"]["notes"])
	assert.Equal(t, "A B", parents(birds["D"]))
	assert.Equal(t, " ", parents(birds["E"]))
	assert.Contains(t, told(res)["foster_parent"], "2 individuals, as E,")

	// Siblings stay siblings where a parent or their family has no record.
	birds, res = tree("0 HEAD\n0 @B@ INDI\n1 REFN 1\n0 @C@ INDI\n1 REFN 2\n1 FAMC @F@\n0 @D@ INDI\n1 REFN 3\n1 FAMC @F@\n0 @E@ INDI\n1 REFN 4\n1 FAMC @G@\n0 @H@ INDI\n1 REFN 5\n1 FAMC @G@\n0 @I@ INDI\n1 REFN 6\n1 FAMC @K@\n" +
		"0 @F@ FAM\n1 HUSB @I1@\n1 WIFE @B@\n0 TRLR\n")
	assert.Equal(t, "record-I1 1", parents(birds["2"]))
	assert.Equal(t, parents(birds["2"]), parents(birds["3"]))
	assert.Equal(t, "record-G-HUSB record-G-WIFE", parents(birds["4"]))
	assert.Equal(t, parents(birds["4"]), parents(birds["5"]))
	assert.Equal(t, " ", parents(birds["6"]), "nobody's sibling")
	assert.Contains(t, told(res)["parent_without_row"], "record-I1: 2 chicks")

	// Of a family with one parent the other may be another bird for each chick.
	birds, res = tree("0 HEAD\n0 @A@ INDI\n0 @B@ INDI\n1 FAMC @F@\n0 @C@ INDI\n1 FAMC @F@\n0 @F@ FAM\n1 WIFE @A@\n0 TRLR\n")
	assert.Equal(t, " A", parents(birds["B"]))
	assert.Contains(t, told(res)["family_of_one_parent"], "2 individuals, as B,")

	// Two families of birth are said, unless their partners are the same.
	birds, res = tree("0 HEAD\n0 @A@ INDI\n0 @B@ INDI\n0 @C@ INDI\n0 @D@ INDI\n1 FAMC @F@\n1 FAMC @G@\n0 @E@ INDI\n1 FAMC @F@\n1 FAMC @H@\n0 @F@ FAM\n1 HUSB @A@\n1 WIFE @B@\n0 @G@ FAM\n1 HUSB @A@\n1 WIFE @C@\n0 @H@ FAM\n1 HUSB @A@\n1 WIFE @B@\n0 TRLR\n")
	assert.Equal(t, "A B=0.5; C=0.5", parents(birds["D"]))
	assert.Equal(t, "A B", parents(birds["E"]))
	assert.Contains(t, told(res)["families_of_birth"], "of 1 individual, as D,")

	// Numbers that not all have are kept; notes of their own records; the name in parts; the
	// latest residence; a burial is a death; a day out of words.
	birds, res = tree("0 HEAD\n0 @A@ INDI\n1 NAME\n2 GIVN Moss\n1 REFN 0101\n1 NOTE @N@\n1 RESI\n2 DATE 2012\n2 PLAC HAF\n1 RESI\n2 DATE 2005\n2 PLAC QUM\n0 @B@ INDI\n1 BURI\n2 DATE 2014\n1 BIRT\n1 BIRT\n2 DATE INT 12 MAY 2009 (about then)\n0 @N@ NOTE on eg\n1 CONC gs\n0 TRLR\n")
	assert.Equal(t, "Moss", birds["A"]["name"])
	assert.Equal(t, "HAF", birds["A"]["location"])
	assert.Equal(t, "REFN 0101; on eggs", birds["A"]["notes"])
	assert.Equal(t, "2009-05-12~", birds["B"]["hatch_date"])
	assert.NotEmpty(t, birds["B"]["death_date"])
	assert.Contains(t, decided(res), "ids_are_pointers")
	assert.Contains(t, decided(res), "homes_of_one")

	for _, twice := range []string{"0 @A@ INDI\n1 SEX M\n0 @A@ INDI\n1 SEX F\n", "0 @A@ INDI\n0 @F@ FAM\n0 @F@ FAM\n1 CHIL @A@\n"} {
		_, err := Import(t.Context(), fstest.MapFS{"t.ged": {Data: []byte("0 HEAD\n" + twice)}}, "t.ged", Options{Today: asOf})
		assert.ErrorContains(t, err, "nobody can tell which of them is meant")
	}
}

// TestManyStops: stops of one kind are told up to a bound, and the last says how many
// more there are.
func TestManyStops(t *testing.T) {
	defer func(most int) { mostStops = most }(mostStops)
	mostStops = 2
	text := "id;sex;sire;dam;hatched\nM1;M;;;2001-02-03\nM2;M;;;2001-02-03\nF;F;;;2001-02-03\n"
	for k := range 5 {
		text += fmt.Sprintf("C%d;F;M1;F;2005-02-03\nC%d;F;M2;F;2005-02-03\n", k, k)
	}
	res, err := Import(t.Context(), fstest.MapFS{"table.csv": {Data: []byte(text)}}, "table.csv", Options{Today: asOf})
	require.NoError(t, err)
	require.Len(t, res.Report.Stops, 2)
	assert.NotContains(t, res.Report.Stops[0].Text, "more of the kind")
	assert.Contains(t, res.Report.Stops[1].Text, "C1")
	assert.Contains(t, res.Report.Stops[1].Text, "(and so on from here, 3 more of the kind)")
	assert.Nil(t, res.Colony)
}

// TestManyRowsOfABird: what many rows of one bird have beside each other goes to its
// notes once.
func TestManyRowsOfABird(t *testing.T) {
	text := "id;sex;sire;dam;hatched;notes\n"
	for k := range 200 {
		text += fmt.Sprintf("A;F;;;2001-02-03;seen %d\n", k%100)
	}
	birds, _ := read(t, text, Mapping{})
	notes := strings.Split(birds["A"]["notes"], "; ")
	require.Len(t, notes, 100)
	assert.Equal(t, []string{"seen 0", "seen 99"}, []string{notes[0], notes[99]})
}

// TestIdle: what a mapping decides on and the file has not is told.
func TestIdle(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;hatched\nX;M;;;2001-02-03\nA;M;lost;;2001-02-03\nB;F;lost;;2001-02-03\n",
		Mapping{Unknown: []string{"lost", "found"}, Wild: []string{"EGG*", "lost"}, LeaveOut: []string{"9", "table:2", "other:3"}})
	var idle []string
	for _, c := range res.Report.Idle {
		idle = append(idle, fmt.Sprintf("%s %q %s", c.Subject, c.Word, c.Taken))
	}
	assert.Equal(t, []string{`parent "found" unknown`, `parent "EGG*" wild`, `parent "lost" wild`, `row "" 9`, `row "" other:3`}, idle)
}
