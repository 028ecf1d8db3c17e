package exchange

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
)

// Habits of keepers that would give wrong figures without a word: what came of
// a bird written where no column is for it. The files are our own inventions;
// what comes out was worked out by hand.

// A column or remarks that say that birds died or left, and that nothing reads,
// stop the import; the flag that is named settles it.
func TestFatesThatNothingReads(t *testing.T) {
	const text = "id;sex;sire;dam;hatched;Zz\nA;M;;;2001-01-01;\nB;F;;;2001-02-02;sold\nC;M;A;B;2004-03-03;died 2010\n"
	d := stops(t, text, Mapping{})
	assert.Equal(t, "fates_not_read", d.Code)
	assert.Equal(t, `heading "Zz": status, `, asks(d))
	birds, res := read(t, text, Mapping{Columns: map[string]string{"status": "Zz"}})
	assert.Equal(t, "2010", birds["C"]["death_date"])
	assert.Equal(t, Fates{Living: 1, Died: 1, Left: 1}, res.Report.Fates)
	assert.Equal(t, "sold", res.Colony.Moves[0].Reason)

	_, res = read(t, text, Mapping{Words: map[string]map[string]string{"fate": {"sold": "alive", "died 2010": "alive"}}})
	assert.Equal(t, 3, res.Report.Fates.Living, "on the user's word")

	// Remarks beside a column of deaths are listed, bird by bird.
	_, res = read(t, "id;sex;sire;dam;hatched;died;notes\nA;M;;;2001-01-01;;fine\nB;F;;;2001-02-02;2009-01-01;\nC;M;A;B;2004-03-03;;† 2010\nD;M;A;B;2005-03-03;;a good breeder who was nearly sold twice\n", Mapping{})
	assert.Equal(t, 3, res.Report.Fates.Living)
	require.Equal(t, []string{"fate_in_notes"}, decided(res))
	assert.Contains(t, res.Report.Decisions[0].Text, `C counts as living`)
}

func TestDatesThatNothingReads(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;Zz\nA;M;;;2001-01-01\nB;F;;;2001-02-02\nC;M;A;B;2004-03-03\n", Mapping{})
	require.Equal(t, []string{"dates_not_read", "all_alive"}, decided(res))
	assert.Equal(t, `heading "Zz": hatch_date, death_date, departure_date, arrival_date, `, asks(res.Report.Decisions[0]))
	_, res = read(t, "id;sex;sire;dam;hatched;died;Zz\nA;M;;;2001;;2004-01-01\nB;F;;;2001;;\nC;M;A;B;2004;;\n", Mapping{})
	require.Contains(t, decided(res), "dates_not_read")
	d := stops(t, "id;sex;sire;dam;hatched;Zz\nA;M;;;2001;2004-01-01\nB;F;;;2001;NULL\nC;M;A;B;2004;\n", Mapping{})
	assert.Equal(t, "dates_not_read death_date", d.Code+" "+d.Column, "nothing else could say who is gone")
}

// A code of the status column could say anything.
func TestCodesOfStatus(t *testing.T) {
	d := stops(t, "id;sex;sire;dam;hatched;status\nA;M;;;2001;A\nB;F;;;2001;D\n", Mapping{})
	assert.Equal(t, "status_code_unknown", d.Code)
	_, res := read(t, "id;sex;sire;dam;hatched;status\nA;M;;;2001;A\nB;F;;;2001;D\n", Mapping{Words: map[string]map[string]string{"fate": {"A": "alive", "D": "died"}}})
	assert.Equal(t, Fates{Living: 1, DiedUnknownDay: 1}, res.Report.Fates)
}

// What became of a bird stands in the column of places, behind its name as a
// cross, or as a verb over a column of dates.
func TestFatesInOtherPlaces(t *testing.T) {
	birds, res := read(t, "Nr.;Name;Geschl.;Vater;Mutter;geb.;Standort\n1;Ash;m;0;0;2001;Halle\n2;Elm †;w;0;0;2001;Halle\n3;Oak;m;Ash;Elm;2004;verkauft\n4;Fir;m;Ash;Elm;2004;tot\n", Mapping{})
	assert.Equal(t, Fates{Living: 1, DiedUnknownDay: 2, Left: 1}, res.Report.Fates)
	assert.Equal(t, "1 2", birds["3"]["sire"]+" "+birds["3"]["dam"])
	assert.Equal(t, "Elm", birds["2"]["name"])
	assert.Equal(t, 4, res.Report.Parents.Unknown, "0 is no bird where none is called so")

	birds, _ = read(t, "Anilha;Sexo;Pai;Mãe;Nasceu;Morreu\nA;M;?;?;2001;vivo\nB;F;?;?;2001;2009\n", Mapping{})
	assert.Equal(t, "2001 2009", birds["B"]["hatch_date"]+" "+birds["B"]["death_date"])
}

// A sheet's name says what became of its birds, or their sex.
func TestNamesOfSheets(t *testing.T) {
	head := []any{"Ring", "Dad", "Mum", "Born"}
	book := inWorkbook(t, false,
		page{name: "Cocks", rows: [][]any{head, {"A", nil, nil, 2001}, {"C", "A", "B", 2004}, {"D", "A", "B", 2004}}},
		page{name: "Hens", rows: [][]any{head, {"B", nil, nil, 2001}}},
		page{name: "Sold 2010", rows: [][]any{{"Ring", "Sex", "Dad", "Mum"}, {"C", "m", nil, nil}}},
		page{name: "Mortality", rows: [][]any{{"Ring", "Date", "Cause"}, {"D", on(2011, 5, 6), "old age"}}})
	res := imported(t, "birds.xlsx", book, Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	assert.Equal(t, "M F", birds["A"]["sex"]+" "+birds["B"]["sex"])
	assert.Equal(t, "2011-05-06", birds["D"]["death_date"])
	assert.Equal(t, Fates{Living: 2, Died: 1, Left: 1}, res.Report.Fates)
	assert.Equal(t, studbook.Female, sexOfSheet("Hennen 2024"))
	assert.Zero(t, sexOfSheet("Cocks and hens"))
}

// Phrases for nobody are no pairs, and a name beside an id is checked.
func TestPhrasesAndLabels(t *testing.T) {
	birds, res := read(t, "id;name;sex;sire;dam;hatched\n1;Ash;M;né en milieu naturel;wild;2001\n2;;F;née en captivité et nourrie;wild;2001\n3;;M;#1 (Ash);#2 (Elm);2004\n4;;M;1 (Oak);2 - Elm;2005\n", Mapping{})
	assert.Equal(t, "wild", birds["1"]["sire"])
	assert.Equal(t, "née en captivité et nourrie", birds["2"]["sire"], "a founder without a row, which the report shows")
	assert.Equal(t, "1 2", birds["3"]["sire"]+" "+birds["3"]["dam"])
	assert.Equal(t, "1 2", birds["4"]["sire"]+" "+birds["4"]["dam"])
	assert.Contains(t, decided(res), "id_and_name_differ")
}

// M and H of one column need no parent to tell them apart.
func TestMachoAndHembra(t *testing.T) {
	birds, res := read(t, "id;sexo;progenitores;nacido\nA;M;;2001\nB;H;;2001\nC;M;A x B;2004\nD;M;B x A;2005\n", Mapping{})
	assert.Equal(t, "M F", birds["A"]["sex"]+" "+birds["B"]["sex"])
	assert.Equal(t, "A B", birds["D"]["sire"]+" "+birds["D"]["dam"])
	assert.Contains(t, decided(res), "sex_proved")
}

// Programs of statistics put blanks between cells and 0 or NA for nobody.
func TestTablesWithBlanks(t *testing.T) {
	birds, _ := read(t, "animal  father mother sex\n1 NA NA 1\n2 NA NA 2\n3 1 2 1\n", Mapping{})
	assert.Equal(t, "1 2", birds["3"]["sire"]+" "+birds["3"]["dam"])
	birds, _ = read(t, "id,sire,dam,sex\n0,,,M\n1,,,F\n2,0,1,M\n", Mapping{})
	assert.Equal(t, "0 1", birds["2"]["sire"]+" "+birds["2"]["dam"], "a bird may be called 0")
}

// Labels, prefixes and brackets around a parent's id say what it is; what
// databases write for a blank cell is blank.
func TestLabelsAndPrefixes(t *testing.T) {
	const head = "Ring;Geschlecht;Eltern;geschlüpft;gestorben\nA1;m;;2001;NULL\nB2;w;;2001;0000-00-00\n"
	for cell, want := range map[string]string{
		"Vater: A1, Mutter: B2": "A1 B2", "Mutter B2 / Vater A1": "A1 B2", "Ring A1 x Nr. B2": "A1 B2", "Mutter: B2, Vater: unbekannt": " B2",
		"wild (Peru) x wild caught 1998": "wild wild", "♂ A1 / ♀ B2": "A1 B2",
	} {
		birds, res := read(t, head+"C3;m;\""+cell+"\";2004;NA\n", Mapping{})
		assert.Equal(t, want, birds["C3"]["sire"]+" "+birds["C3"]["dam"], cell)
		assert.Equal(t, 3, res.Report.Fates.Living, "NULL in a column of deaths is no death")
		assert.Zero(t, res.Report.Parents.WithoutRow, cell)
	}
	birds, _ := read(t, "animal_id;sex_code;sire_id;dam_id;hatched_at;left_at;left_reason\n1;M;NULL;NULL;2001-01-01T00:00:00Z;NULL;NULL\n2;F;NULL;NULL;2001-01-01T00:00:00Z;2010-01-01;SOLD\n", Mapping{})
	assert.Equal(t, "2001-01-01 M", birds["1"]["hatch_date"]+" "+birds["1"]["sex"])
}

// A year has two digits or four, so one digit in front is no year.
func TestOrderByWidth(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA;M;;;9/3/08\nB;F;;;16/8/08\n", Mapping{})
	assert.Equal(t, "2008-03-09 2008-08-16", birds["A"]["hatch_date"]+" "+birds["B"]["hatch_date"])
	assert.Equal(t, "dmy", res.Report.DateOrder)
}

// A line over the birds may name its pair in two lines, with labels and boxes; a line
// that names nobody ends it.
func TestPairsOverTheirChicks(t *testing.T) {
	birds, res := read(t, "Ring,Sex,Hatched\nA1,m,2001\nB2,f,2001\nC3,f,2001\nPair 1 (A1 / B2),,\nD4,m,2004\nCock: A1,,\nHen: C3,,\nE5,f,2005\nPaar 3,A1,x B2\nF6,f,2006\nBought in,,\nG7,m,2007\n", Mapping{})
	for id, want := range map[string]string{"A1": " ", "D4": "A1 B2", "E5": "A1 C3", "F6": "A1 B2", "G7": " "} {
		assert.Equal(t, want, birds[id]["sire"]+" "+birds[id]["dam"], id)
	}
	assert.Contains(t, decided(res), "pair_of_section")
}

// Marks for what stands above are read wherever a column of ours has them, but not
// where a bird is called so.
func TestDittoMarks(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA;m;;;2001\nB;f;;;2001\nC;m;A;B;2004\nD;idem;ditto;″;- \" -\nDo;m;A;B;2005\nE;m;Do;;2008\n", Mapping{})
	assert.Equal(t, "m A B 2004", "m "+birds["D"]["sire"]+" "+birds["D"]["dam"]+" "+birds["D"]["hatch_date"])
	assert.Equal(t, "M", birds["D"]["sex"])
	assert.Equal(t, "Do", birds["E"]["sire"], "a bird of the file")
	assert.Contains(t, decided(res), "ditto")
	birds, _ = read(t, "id;name;sex;sire;dam;hatched;location\nA;Ditto;m;;;2001;XY\nB;;f;;;2001;DO\nC;;m;A;B;2004;XY\nD;;m;C;B;2006;as above\nE;;m;Ditto;B;2008;ID\n", Mapping{})
	assert.Equal(t, "A DO XY ID", birds["E"]["sire"]+" "+birds["B"]["location"]+" "+birds["D"]["location"]+" "+birds["E"]["location"], "codes of places and names of birds")
	birds, _ = read(t, "id;sex;sire;dam\nA;m;;\nB;f;;\nC;m;A;B\nD;m;ditto;B\n", Mapping{Unknown: []string{"ditto"}})
	assert.Equal(t, "", birds["D"]["sire"], "on the user's word")
}

// A column of sexes under a heading of no list stops; without any, parents have the
// sex of their part.
func TestSexesThatNothingReads(t *testing.T) {
	d := stops(t, "id;Zz;sire;dam;hatched\nA;m;;;2001\nB;f;;;2001\nC;m;A;B;2004\n", Mapping{})
	assert.Equal(t, "sex_not_read", d.Code)
	assert.Equal(t, `heading "Zz": sex, `, asks(d))
	birds, res := read(t, "id;sire;dam;hatched\nA;;;2001\nB;;;2001\nC;A;B;2004\n", Mapping{})
	assert.Equal(t, "M F U", birds["A"]["sex"]+" "+birds["B"]["sex"]+" "+birds["C"]["sex"])
	assert.Contains(t, decided(res), "sex_of_parent")
}

// Numbers of pairs that begin again each year hold for their year; a bird that hatched
// of pair 1 may hold pair 1 itself later.
func TestPairsOfASeason(t *testing.T) {
	book := inWorkbook(t, false,
		page{name: "Birds", rows: [][]any{{"Ring", "Sex", "Born", "Pair"}, {"A", "m", 2001, nil}, {"B", "f", 2001, nil}, {"C", "m", 2003, 1}, {"D", "f", 2003, 1}, {"E", "m", 2006, 1}, {"F", "f", 2006, 2}}},
		page{name: "Pairs", rows: [][]any{{"Year", "Pair", "Cock", "Hen"}, {2003, 1, "A", "B"}, {2005, 7, "A", "B"}, {2006, 1, "C", "B"}, {2006, 2, "A", "D"}}})
	res := imported(t, "b.xlsx", book, Mapping{Columns: map[string]string{"nest": "Pair"}})
	birds := writtenFile(t, res, "studbook.csv")
	for id, want := range map[string]string{"C": "A B", "D": "A B", "E": "C B", "F": "A D"} {
		assert.Equal(t, want, birds[id]["sire"]+" "+birds[id]["dam"], id)
	}
	var bonds []string
	for _, b := range res.Colony.Bonds {
		bonds = append(bonds, b.Female+" "+b.Male+" "+b.Since.Text+">"+b.Until.Text)
	}
	assert.Equal(t, []string{"B A 2003>2003", "B A 2005>2005", "B C 2006>", "D A 2006>"}, bonds)
}

// Months in Roman numbers, headings that say what became of birds, and lines beneath
// the table.
func TestOtherNotations(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched;Sold on\nA;m;;;12.V.2001;3 IX 2009\nB;f;;;1-XII-2001;\nC;m;A;B;7.IV.2004;\nPrinted 3 May 2024;;;;;page 1\n", Mapping{})
	assert.Equal(t, "2001-05-12 2001-12-01 2004-04-07", birds["A"]["hatch_date"]+" "+birds["B"]["hatch_date"]+" "+birds["C"]["hatch_date"])
	assert.Equal(t, Fates{Living: 2, Left: 1}, res.Report.Fates)
	require.Len(t, res.Report.LeftOut, 1)
	assert.Equal(t, "a remark", res.Report.LeftOut[0].Reason)
}

// Numbers that begin again each year are told apart by parents that are written with
// the year, and stop where nothing proves it.
func TestNumbersOfAYear(t *testing.T) {
	birds, _ := read(t, "Anno;Anello;Sesso;Padre;Madre\n2001;1;M;;\n2001;2;F;;\n2002;1;M;1/01;2/2001\n2002;2;F;01/2001;2/01\n2003;1;M;1/02;2/02\n", Mapping{})
	assert.Equal(t, "1/2002 2/2002", birds["1/2003"]["sire"]+" "+birds["1/2003"]["dam"])
	assert.Equal(t, "1/2001 2/2001", birds["2/2002"]["sire"]+" "+birds["2/2002"]["dam"])
	assert.Equal(t, "rows_disagree", stops(t, "Ring;Sex;Sire;Dam;Born\n1;M;;;2001\n2;F;;;2001\n3;M;1;2;2003\n3;M;1;2;2005\n", Mapping{}).Code)
}

// Two birds of one ring are kept as two, with an id for the second that no other row
// has; whoever names the ring elsewhere means the first.
func TestTwoBirdsOfOneID(t *testing.T) {
	const rows = "id;name;sex;sire;dam;hatched\nA8;Ho;F;;;2001\nA8;Ik;M;;;2001\nA9;Jo;M;;;2001\nA8-2;Ka;F;;;2001\nB1;Mo;M;A9;A8;2005\n"
	stop := stops(t, rows, Mapping{})
	require.Equal(t, "rows_disagree", stop.Code)
	m, err := Mapping{}.Decide(*stop.Choice, "apart table:3")
	require.NoError(t, err)
	birds, res := read(t, rows, m)
	assert.Equal(t, "Ho F", birds["A8"]["name"]+" "+birds["A8"]["sex"])
	assert.Equal(t, "Ik M", birds["A8-3"]["name"]+" "+birds["A8-3"]["sex"])
	assert.Equal(t, "A8", birds["B1"]["dam"])
	assert.Len(t, birds, 5)
	assert.Contains(t, decided(res), "apart")
	require.Len(t, res.Report.Idle, 0)
	again, err := ReadMapping([]byte(m.Text()))
	require.NoError(t, err)
	assert.Equal(t, []string{"table:3"}, again.Apart)
}

// Living birds whose last chicks are of each other are said to have no bond; where they
// are pairs on the user's word, each has one since their first chick, and the next
// export of the kind needs no word more.
func TestBondsOfParents(t *testing.T) {
	const text = "id;sex;sire;dam;hatched;died\nA;m;;;2012;\nB;f;;;2012;\nC;m;;;2013;\nD;f;;;2013;\nE;m;A;B;2018;\nF;f;A;B;2021-05-03;\nG;m;C;D;2022;\nH;m;C;B;2015;\nI;m;;;2011;2019\nJ;f;I;D;2016;\n"
	_, res := read(t, text, Mapping{})
	assert.Empty(t, res.Colony.Bonds)
	require.Equal(t, []string{"parents_without_bond"}, decided(res))
	d := res.Report.Decisions[0]
	assert.Equal(t, `bonds "": parents, `, asks(d))
	assert.InDelta(t, 17./18, d.Share, 1e-9, "of nine living birds all but half of J comes through them")
	m, err := Mapping{}.Decide(*d.Choice, BondsOfParents)
	require.NoError(t, err)
	_, res = read(t, text, m)
	var bonds []string
	for _, b := range res.Colony.Bonds {
		bonds = append(bonds, b.Female+" "+b.Male+" "+b.Since.Text+">"+b.Until.Text)
	}
	assert.Equal(t, []string{"B A 2018>", "D C 2022>"}, bonds)
	assert.Equal(t, []string{"parents_without_bond"}, decided(res), "it is said")
	assert.Equal(t, 2, res.Report.Bonds)
	again, err := ReadMapping([]byte(res.Report.Mapping))
	require.NoError(t, err)
	assert.Equal(t, BondsOfParents, again.Bonds)
	assert.Empty(t, m.Undecide(m.Decided()[0]).Bonds)
	_, err = ReadMapping([]byte("[import]\nbonds = \"all\"\n"))
	assert.ErrorContains(t, err, "write parents")
}

// A cross before an id says that the bird is dead, and is no part of the id.
func TestCrossesAtIDs(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA1;m;;;2010\n†A2;f;;;2010\nA3;m;A1;A2;2012\nA4;f;A1;†A2;2013\n", Mapping{})
	assert.Equal(t, "A2 A2", birds["A3"]["dam"]+" "+birds["A4"]["dam"])
	assert.Equal(t, Fates{Living: 3, DiedUnknownDay: 1}, res.Report.Fates)
	assert.Contains(t, decided(res), "cross_in_name")
}

// Marks for the birds that are there say of the others what the user says.
func TestMarksOfThoseWhoAreThere(t *testing.T) {
	const text = "id;sex;sire;dam;hatched;Present\nA;m;;;2010;\nB;f;;;2010;\nC;m;A;B;2012;x\n"
	d := stops(t, text, Mapping{})
	assert.Equal(t, "status_blank", d.Code)
	assert.Contains(t, d.Text, "blank for 2 birds, the first in line 2")
	m, err := Mapping{}.Decide(*d.Choice, "died")
	require.NoError(t, err)
	_, res := read(t, text, m)
	assert.Equal(t, Fates{Living: 1, DiedUnknownDay: 2}, res.Report.Fates)
	_, res = read(t, "id;sex;sire;dam;hatched;Present\nA;m;;;2010;no\nB;f;;;2010;\nC;m;A;B;2012;yes\n", Mapping{})
	assert.Equal(t, Fates{Living: 2, DiedUnknownDay: 1}, res.Report.Fates, "where some are said not to be there")
}

// Who reared a chick is none of its parents, and an egg that did not hatch is no bird.
func TestFostersAndEggs(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA1;m;;;2010\nA2;f;;;2010\nC;m;A1 (foster);A2;2012\nD;f;fostered by A1;Amme: A2;2013\n", Mapping{})
	assert.Equal(t, " A2", birds["C"]["sire"]+" "+birds["C"]["dam"])
	assert.Equal(t, " ", birds["D"]["sire"]+" "+birds["D"]["dam"])
	assert.Contains(t, birds["C"]["notes"], "A1 (foster)")
	assert.Equal(t, []string{"foster_parent", "foster_parent", "foster_parent", "all_alive"}, decided(res))
	birds, res = read(t, "id;sex;sire;dam;hatched;Result\nA;m;;;2010;alive\nB;f;;;2010;alive\nC;m;A;B;2012;alive\nE1;;A;B;2012;infertile\nE2;u;A;B;2012;DIS\n", Mapping{})
	assert.Len(t, birds, 3)
	require.Len(t, res.Report.LeftOut, 2)
	assert.Equal(t, "an egg that did not hatch", res.Report.LeftOut[1].Reason)
}

// Tables that stand side by side are one; what stands over each may be its sex.
func TestTablesSideBySide(t *testing.T) {
	birds, res := read(t, "COCKS,,,,,HENS,,,\nRing,Sire,Dam,Born,,Ring,Sire,Dam,Born\nA1,,,2010,,B1,,,2010\nA3,A1,B1,2012,,B4,A1,B1,2013\nA5,A3,B4,2015,,,,,\n", Mapping{})
	assert.Len(t, birds, 5)
	assert.Equal(t, "M A3 B4 2015", birds["A5"]["sex"]+" "+birds["A5"]["sire"]+" "+birds["A5"]["dam"]+" "+birds["A5"]["hatch_date"])
	assert.Equal(t, "F A1 B1 2013", birds["B4"]["sex"]+" "+birds["B4"]["sire"]+" "+birds["B4"]["dam"]+" "+birds["B4"]["hatch_date"])
	assert.Contains(t, decided(res), "side_by_side")
	assert.Equal(t, 5, res.Report.RowsRead-len(res.Report.LeftOut))
}

// A cell of departures may say why as well.
func TestDeparturesInWords(t *testing.T) {
	birds, res := read(t, "Ring;Geschlecht;Vater;Mutter;geschlüpft;Abgang\nA1;1,0;;;2010;+ 2015\nA2;0,1;;;2010;verk. 2016\nA3;1,0;A1;A2;2012;\nA4;0,1;A1;A2;2013;an M. Huber verkauft\nA5;0,1;A1;A2;2013;eingegangen 23.4.2014\n", Mapping{})
	assert.Equal(t, "2015 2014-04-23", birds["A1"]["death_date"]+" "+birds["A5"]["death_date"])
	assert.Equal(t, Fates{Living: 1, Died: 2, Left: 2}, res.Report.Fates)
	assert.Equal(t, "departure_without_reason", stops(t, "id;sex;sire;dam;left\nA;m;;;2015\nB;f;A;;to M. Huber\nC;m;;;\n", Mapping{}).Code)
	// The day before the words, and words behind those that say it.
	_, res = read(t, "id;sex;sire;dam;hatched;left\nA;m;;;2001;13.4.2010 sold to X\nB;f;;;2001;14.4.2010, sold to M. Huber\nC;m;A;B;2004;15.4.2010 escaped\nD;f;A;B;2005;\n", Mapping{})
	var moves []string
	for _, m := range res.Colony.Moves {
		moves = append(moves, m.ID+" "+m.Date.Text+" "+m.To)
	}
	assert.Equal(t, []string{"A 2010-04-13 ", "B 2010-04-14 ", "C 2010-04-15 "}, moves)
}

// Cards have their headings beneath each other.
func TestCards(t *testing.T) {
	card := func(ring, sex string, sire, dam any) page {
		return page{name: ring, rows: [][]any{{"Aviary of the Mill"}, {"Ring:", ring}, {"Sex:", sex}, {"Sire:", sire}, {"Dam:", dam}, {"Hatched:", 2010}, {"Remarks:", nil}}}
	}
	res := imported(t, "cards.xlsx", inWorkbook(t, false, card("A1", "m", nil, nil), card("A2", "f", nil, nil), card("A3", "m", "A1", "A2")), Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	require.Len(t, birds, 3)
	assert.Equal(t, "M A1 A2 2010", birds["A3"]["sex"]+" "+birds["A3"]["sire"]+" "+birds["A3"]["dam"]+" "+birds["A3"]["hatch_date"])
	assert.Contains(t, decided(res), "headings_down")
}

// Where no stored date has a day above 12 and every one that has is text, a spreadsheet
// took the day for the month.
func TestDatesPerhapsSwapped(t *testing.T) {
	rows := [][]any{{"id", "sex", "sire", "dam", "hatched"}}
	for k, x := range []any{"13/05/2010", "28/02/2010", "17/11/2011", on(2010, 2, 3), on(2010, 5, 12), on(2011, 1, 4)} {
		rows = append(rows, []any{fmt.Sprintf("A%d", k), "m", nil, nil, x})
	}
	assert.Contains(t, decided(imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: rows}), Mapping{})), "dates_perhaps_swapped")
	rows[6][4] = on(2011, 1, 14)
	assert.NotContains(t, decided(imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: rows}), Mapping{})), "dates_perhaps_swapped")
}

// A heading may ask where a bird is.
func TestHeadingsThatAsk(t *testing.T) {
	for _, where := range []string{"Where", "Where kept", "Kept at", "Wo", "Où", "¿Dónde?", "Onde", "Dove", "Waar"} {
		birds, _ := read(t, "id;sex;sire;dam;hatched;"+where+"\nA;M;;;2001-01-01;Barn\nB;F;;;2001-02-02;Barn\nC;M;A;B;2004-03-03;Loft\n", Mapping{})
		assert.Equal(t, "Loft", birds["C"]["location"], where)
	}
}

// A workbook that counts days from 1904 does so in cells without the look of a date too.
func TestCountsFrom1904(t *testing.T) {
	rows := [][]any{{"id", "sex", "sire", "dam", "hatched"}, {"A", "m", nil, nil, on(2010, 5, 12)}, {"B", "f", nil, nil, 38848}}
	for from1904, want := range map[bool]string{true: "2010-05-12", false: "2006-05-11"} {
		birds := writtenFile(t, imported(t, "b.xlsx", inWorkbook(t, from1904, page{name: "Birds", rows: rows}), Mapping{}), "studbook.csv")
		assert.Equal(t, "2010-05-12 "+want, birds["A"]["hatch_date"]+" "+birds["B"]["hatch_date"])
	}
}

// Where no cell shows the order of dates, lives that cannot be do, if they are several.
func TestOrderOfLives(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died\nA;m;;;19/04/05;\nB;f;;;18/03/06;11/05/08\n"
	birds, res := read(t, head+"C;m;A;B;05/06/07;\nD;f;A;B;03/07/07;02/01/09\nE;m;A;B;04/08/08;\n", Mapping{})
	assert.Equal(t, "2007-06-05 2009-01-02", birds["C"]["hatch_date"]+" "+birds["D"]["death_date"], "with the year first chicks would hatch before their parents")
	assert.Contains(t, res.Report.DateProof, "in any other order birds would hatch before a parent or after their death")
	assert.Equal(t, "date_order", stops(t, head+"C;m;A;B;05/06/07;\n", Mapping{}).Code, "one may be a slip")
}

// What stands over a column may be a sign.
func TestSignsInHeadings(t *testing.T) {
	birds, _ := read(t, "Ring;♂/♀;♂ parent;♀ parent;hatched\nA;♂;;;2001\nB;♀;;;2001\nC;♂;A;B;2004\n", Mapping{})
	assert.Equal(t, "M A B", birds["C"]["sex"]+" "+birds["C"]["sire"]+" "+birds["C"]["dam"])
}

// The day since which a status holds is that of the death or departure; of the living it says
// nothing.
func TestDayOfStatus(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched;Status;Status date\nA;m;;;2001;Deceased;2009-03-04\nB;f;;;2001;Sold;2010-05-06\nC;m;A;B;2004;Active;2020-07-08\n", Mapping{})
	assert.Equal(t, "2009-03-04", birds["A"]["death_date"])
	assert.Equal(t, Fates{Living: 1, Died: 1, Left: 1}, res.Report.Fates)
	assert.Equal(t, "2010-05-06", res.Colony.Moves[0].Date.Text)
	_, res = read(t, "id;sex;sire;dam;hatched;Status;Zz\nA;m;;;2001;Deceased;2009-03-04\nB;f;;;2001;alive;\nC;m;A;B;2004;alive;\n", Mapping{})
	assert.Equal(t, "status_date", res.Report.Decisions[0].Column)
}

// A file in which nothing could say that a bird is gone is said to be one; colours say it of
// some birds, perhaps.
func TestNobodyGone(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;hatched\nA;m;;;2001\n", Mapping{})
	assert.Equal(t, "no column says that a bird died or left: 1 bird count as living", res.Report.Decisions[0].Text)
}

// A heading of no list has the ids where the parents are called so.
func TestIDsByParents(t *testing.T) {
	birds, res := read(t, "Zz;Box;sex;sire;dam;hatched;died\nA;1;m;;;2001;\nB;2;f;;?;2001;\nC;2;m;A;B;2004;2009\n", Mapping{})
	assert.Equal(t, "A", birds["C"]["sire"])
	assert.Contains(t, decided(res), "ids_by_parents")
	assert.Equal(t, "column_missing", stops(t, "Zz;Yy;sex;sire;dam;hatched\nA;A;m;;;2001\nB;B;f;;;2001\nC;C;m;A;B;2004\n", Mapping{}).Code, "two columns could be")
}

// Ids that a spreadsheet took for days are said.
func TestIDsAsDays(t *testing.T) {
	rows := [][]any{{"id", "sex", "sire", "dam", "died"}, {on(2026, 5, 3), "m", nil, nil, nil}, {"13-5", "f", nil, nil, nil}}
	assert.Contains(t, decided(imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: rows}), Mapping{})), "ids_as_days")
}

// A book of nests may say which sex its chicks are.
func TestChicksWithTheirSex(t *testing.T) {
	for _, chicks := range []string{"C ♂, D ♀", "C (m); D (f)", "♂C / ♀D"} {
		res := imported(t, "b.xlsx", inWorkbook(t, false,
			page{name: "Birds", rows: [][]any{{"Ring", "Sex", "Hatched", "Died"}, {"A", "m", 2001, nil}, {"B", "f", 2001, nil}, {"C", nil, 2004, nil}, {"D", nil, 2004, nil}}},
			page{name: "Pairs", rows: [][]any{{"Year", "Cock", "Hen", "Young (ring, sex)"}, {2004, "A", "B", chicks}}}), Mapping{})
		birds := writtenFile(t, res, "studbook.csv")
		assert.Equal(t, "M A B F A B", fmt.Sprint(birds["C"]["sex"], " ", birds["C"]["sire"], " ", birds["C"]["dam"], " ", birds["D"]["sex"], " ", birds["D"]["sire"], " ", birds["D"]["dam"]), chicks)
	}
}

// A book of nests may name the rings of a clutch from the first to the last.
func TestRangesOfChicks(t *testing.T) {
	res := imported(t, "b.xlsx", inWorkbook(t, false,
		page{name: "Birds", rows: [][]any{{"Ring", "Sex", "Hatched", "Died"}, {"A", "m", 2001, nil}, {"B", "f", 2001, nil}, {"K09", "m", 2004, nil}, {"K10", "m", 2004, nil}, {"K11", "f", 2004, nil}}},
		page{name: "Pairs", rows: [][]any{{"Year", "Cock", "Hen", "Rings of young"}, {2004, "A", "B", "K09 – K11"}}}), Mapping{})
	birds := writtenFile(t, res, "studbook.csv")
	for _, id := range []string{"K09", "K10", "K11"} {
		assert.Equal(t, "A B", birds[id]["sire"]+" "+birds[id]["dam"], id)
	}
}

// A list of chicks with their sex is one of birds, whose parents are the cock and the hen.
func TestListOfOffspring(t *testing.T) {
	birds, _ := read(t, "Cock;Hen;Offspring;Sex of offspring;Hatched;Died\n;;A;m;2001;\n;;B;f;2001;\nA;B;C;m;2004;2009\n", Mapping{})
	assert.Equal(t, "M A B", birds["C"]["sex"]+" "+birds["C"]["sire"]+" "+birds["C"]["dam"])
}

// A list without any ids has names for them.
func TestNamesForIDs(t *testing.T) {
	birds, res := read(t, "Name;Sex;Father;Mother;Born;Died\nAsh;m;;;2001;\nElm;f;;;2001;\nOak;m;Ash;Elm;2004;2009\n", Mapping{})
	assert.Equal(t, "Ash Elm", birds["Oak"]["sire"]+" "+birds["Oak"]["dam"])
	assert.Contains(t, decided(res), "ids_by_parents")
}

// A status is a code or a word with a date beside it; one word settles all of its dates.
func TestStatusWithDates(t *testing.T) {
	const text = "id;sex;sire;dam;hatched;Fate\nA;m;;;2001;D 13 Mar 2009\nB;f;;;2001;sold 5.6.2010\nC;m;A;B;2004;D (14 Mar 2011)\n"
	d := stops(t, text, Mapping{Dates: "dmy"})
	assert.Equal(t, `word "D": alive, died, moved, left`, asks(d))
	birds, res := read(t, text, Mapping{Dates: "dmy", Words: map[string]map[string]string{"fate": {"D": "died"}}})
	assert.Equal(t, "2009-03-13 2011-03-14", birds["A"]["death_date"]+" "+birds["C"]["death_date"])
	assert.Equal(t, "2010-06-05", res.Colony.Moves[0].Date.Text)
	_, res = read(t, "id;sex;sire;dam;hatched;Fate\nA;m;;;2001;13.4.2010 sold to X\nB;f;;;2001;\nC;m;A;B;2004;\n", Mapping{})
	assert.Equal(t, "2010-04-13", res.Colony.Moves[0].Date.Text)
	birds, _ = read(t, "id;sex;sire;dam;hatched;Dead?;Date\nA;m;;;2001;yes;13.3.2009\nB;f;;;2001;no;\n", Mapping{Columns: map[string]string{"status_date": "Date"}})
	assert.Equal(t, "2009-03-13 ", birds["A"]["death_date"]+" "+birds["B"]["death_date"])
}

// A day, a month and a year in three columns are one date.
func TestDatesInThreeColumns(t *testing.T) {
	for _, head := range []string{"Day;Month;Year", "Hatched D;M;Hatched Y", "Tag;Monat;Jahr", "hatch day;hatch month;hatch year"} {
		birds, res := read(t, "id;sex;sire;dam;"+head+";died\nA;m;;;3;4;2001;\nB;f;;;;5;2001;\nC;m;A;B;;;2004;2009\n", Mapping{})
		assert.Equal(t, "2001-04-03 2001-05 2004", birds["A"]["hatch_date"]+" "+birds["B"]["hatch_date"]+" "+birds["C"]["hatch_date"], head)
		assert.Contains(t, decided(res), "dates_joined")
	}
}

// Marks beneath male and female are sexes, and so is an answer to "Male?".
func TestMarksForSexes(t *testing.T) {
	birds, res := read(t, "id;Male;Female;sire;dam;hatched;died\nA;x;;;;2001;\nB;;x;;;2001;\nC;;;A;B;2004;2009\n", Mapping{})
	assert.Equal(t, "MFU", birds["A"]["sex"]+birds["B"]["sex"]+birds["C"]["sex"])
	assert.Contains(t, decided(res), "sex_by_marks")
	birds, _ = read(t, "id;Male?;sire;dam;hatched;died\nA;TRUE;;;2001;\nB;FALSE;;;2001;\nC;FALSE;A;B;2004;2009\n", Mapping{})
	assert.Equal(t, "MFF", birds["A"]["sex"]+birds["B"]["sex"]+birds["C"]["sex"])
}

// A sheet a nest has its pair above the headings.
func TestPairAboveTheHeadings(t *testing.T) {
	head := []any{"Ring", "Sex", "Hatched", "Died"}
	for _, top := range [][]any{{"Cock:", "A", nil, "Hen:", "B"}, {"Nest 3: A x B"}, {"Cock: A", "Hen: B"}, {"♂", "A", "♀", "B"}} {
		res := imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Stock", rows: [][]any{head, {"A", "m", 2001, nil}, {"B", "f", 2001, nil}}},
			page{name: "Nest 3", rows: [][]any{top, {}, head, {"C", "m", 2004, nil}}}), Mapping{})
		birds := writtenFile(t, res, "studbook.csv")
		assert.Equal(t, "A B", birds["C"]["sire"]+" "+birds["C"]["dam"], top)
		assert.Empty(t, birds["A"]["sire"])
	}
}

// Lists of birds year by year in one: who is missing from the last is gone on the user's word.
func TestListsOfYears(t *testing.T) {
	const text = "Year;Ring;Sex;Sire;Dam;Site\n2003;A;m;;;ABC\n2003;B;f;;;XYZ\n2002;B;f;;;ABC\n2002;A;m;;;ABC\n2003;C;m;A;B;ABC\n2004;C;m;A;B;ABC\n2004;B;f;;;XYZ\n"
	d := stops(t, text, Mapping{})
	assert.Equal(t, "not_in_last_list", d.Code)
	assert.Contains(t, d.Text, "1 bird, as A in 2003,")
	m, err := Mapping{}.Decide(*d.Choice, "died")
	require.NoError(t, err)
	birds, res := read(t, text, m)
	assert.Equal(t, "[2003-01-01..2024-12-31]", birds["A"]["death_date"])
	assert.Equal(t, "XYZ", birds["B"]["location"], "of the last year, in whatever order the rows stand")
	require.Len(t, res.Colony.Moves, 1)
	assert.Equal(t, "B 2003 ABC XYZ", fmt.Sprint(res.Colony.Moves[0].ID, " ", res.Colony.Moves[0].Date.Text, " ", res.Colony.Moves[0].From, " ", res.Colony.Moves[0].To))
}

// Parents behind a letter each are who the letters say in the language that has both.
func TestLettersOfParents(t *testing.T) {
	for cell, want := range map[string]string{"P: A / M: B": "A B", "M: B / V: A": "A B", "S: A, D: B": "A B", "F: A x M: B": "A B", "M: A x F: B": "A B", "P: A\nM: ?": "A "} {
		birds, _ := read(t, "id;sex;parents;hatched;died\nA;m;;2001;\nB;f;;2001;\nC;m;\""+cell+"\";2004;2009\n", Mapping{})
		assert.Equal(t, want, birds["C"]["sire"]+" "+birds["C"]["dam"], cell)
	}
}

// A column of pairs has two birds in each cell, and is of parents then.
func TestPairsAsParents(t *testing.T) {
	birds, _ := read(t, "Ringnummer;Geschlecht;Zuchtpaar (Hahn x Henne);Schlupf;Verstorben\nA;Hahn;;2001;\nB;Henne;;2001;\nC;Hahn;A x B;2004;2009\n", Mapping{})
	assert.Equal(t, "A B", birds["C"]["sire"]+" "+birds["C"]["dam"])
}

// A column of departures has their dates where its cells are dates, whatever its name.
func TestDisposals(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched;Disposal;How\nA;m;;;2001;13.3.2009;died\nB;f;;;2001;14.3.2010;sold\nC;m;A;B;2004;;\n", Mapping{})
	assert.Equal(t, "2009-03-13", birds["A"]["death_date"])
	assert.Equal(t, Fates{Living: 1, Died: 1, Left: 1}, res.Report.Fates)
}

// Days of the week, days of a year beside it, and the day of databases that never comes.
func TestDatesOfOtherHabits(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;died\nA;m;;;Sun 25 August 2002;9999-12-31\nB;f;;;Montag, 13.5.2002;2009\n", Mapping{})
	assert.Equal(t, "2002-08-25  2002-05-13", birds["A"]["hatch_date"]+" "+birds["A"]["death_date"]+" "+birds["B"]["hatch_date"])
	birds, _ = read(t, "id;sex;sire;dam;Year;Hatched;died\nA;m;;;2002;13/5;2009\nB;f;;;2003;1.6.;\nC;m;;;2003;31/12;\n", Mapping{})
	assert.Equal(t, "2002-05-13 2003-06-01", birds["A"]["hatch_date"]+" "+birds["B"]["hatch_date"])
}

// Signs that keep a spreadsheet from reading an id as a number are no part of it.
func TestGuardedIDs(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;died\n\"=\"\"0042\"\"\";m;;;2001;\n'0043;f;;;2001;\n0044;m;\"=\"\"0042\"\"\";'0043;2004;2009\n", Mapping{})
	assert.Equal(t, "0042 0043", birds["0044"]["sire"]+" "+birds["0044"]["dam"])
}

// A second table beneath the first has headings of its own, and what stands over it may say
// that its birds are gone.
func TestTablesBeneathEachOther(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA;m;;;2001\nC;m;A;B;2004\n\nDead birds;;;;\nhatched;id;sex;sire;dam\n2001;B;f;;\n2005;D;f;A;B\n", Mapping{})
	require.Len(t, birds, 4)
	assert.Equal(t, "A B A B", birds["C"]["sire"]+" "+birds["C"]["dam"]+" "+birds["D"]["sire"]+" "+birds["D"]["dam"])
	assert.Equal(t, Fates{Living: 2, DiedUnknownDay: 2}, res.Report.Fates)
	assert.Equal(t, "table (Dead birds)", res.Report.Sheets[1].Name)
	for name, n := range map[string]int{"table": 4, "Table (dead birds)": 2} {
		res := tried(t, "table.csv", []byte("id;sex;sire;dam;hatched\nA;m;;;2001\nC;m;A;B;2004\n\nDead birds;;;;\nhatched;id;sex;sire;dam\n2001;B;f;;\n2005;D;f;;B\n"), Mapping{Sheets: []string{name}})
		require.Empty(t, res.Report.Stops, name)
		assert.Equal(t, n, res.Report.Birds, name)
	}
}

// A parent without a ring is nobody that the file knows.
func TestParentsWithoutARing(t *testing.T) {
	birds, _ := read(t, "id;sex;sire;dam;hatched;died\nA;m;not ringed;unringed hen;2001;\nB;f;ohne Ring;sans bague;2001;2009\n", Mapping{})
	assert.Equal(t, "   ", birds["A"]["sire"]+" "+birds["A"]["dam"]+" "+birds["B"]["sire"]+" "+birds["B"]["dam"])
}

// TestCellsOfNoDeath: points and strokes, a nought, and the day that spreadsheets count from
// stand for no date of a death, and a cause alone for one on an unknown day.
func TestCellsOfNoDeath(t *testing.T) {
	const head = "id;sex;sire;dam;hatched;died\nA;m;;;2010;2015-01-02\nB;f;;;2010;"
	for _, cell := range []string{".", "...", "---", "_", "0", "00.01.1900", "1/0/1900", "1900-01-00 00:00:00", "30.12.1899", "1899-12-31", "1900-01-01"} {
		_, res := read(t, head+cell+"\n", Mapping{})
		assert.Equal(t, Fates{Living: 1, Died: 1}, res.Report.Fates, cell)
	}
	birds, _ := read(t, "id;sex;sire;dam;hatched\nA;m;;;30.12.1899\nB;f;;;31.12.2010\n", Mapping{})
	assert.Equal(t, "", birds["A"]["hatch_date"])
	res := imported(t, "b.xlsx", inWorkbook(t, false, page{name: "Birds", rows: [][]any{{"id", "sex", "sire", "dam", "hatched", "dead"}, {"A", "m", nil, nil, 2010, 1}, {"B", "f", nil, nil, 2010, 0}, {"C", "f", "A", "B", 2010, 0}}}), Mapping{})
	assert.Equal(t, Fates{Living: 2, DiedUnknownDay: 1}, res.Report.Fates)

	_, res = read(t, "id;sex;sire;dam;hatched;cause of death\nA;m;;;2010;aspergillosis\nB;f;;;2010;\nC;f;A;B;2012;n/a\n", Mapping{})
	assert.Equal(t, Fates{Living: 2, DiedUnknownDay: 1}, res.Report.Fates)
	assert.Contains(t, told(res)["death_by_cause"], "as A,")
	_, res = read(t, "id;sex;sire;dam;hatched;status;cause of death\nA;m;;;2010;alive;aspergillosis\nB;f;A;;2010;dead;\n", Mapping{})
	assert.NotContains(t, decided(res), "death_by_cause")
}

// Who left and died afterwards has left on the day that is given.
func TestDepartureBeforeDeath(t *testing.T) {
	_, res := read(t, "id;sex;sire;dam;hatched;died;left;reason;location\nA;m;;;2010;2015-01-02;2014-03-04;sold;H\nB;f;A;;2012;2015-01-02;2015-01-02;sold;H\n", Mapping{})
	require.Len(t, res.Colony.Moves, 1)
	assert.Equal(t, "A 2014-03-04", res.Colony.Moves[0].ID+" "+res.Colony.Moves[0].Date.Text)
	assert.Equal(t, 2, res.Report.Fates.Died)
}

// Words of doubt before a parent, letters before two, and "of", which is "or" to the Dutch.
func TestWordsBesideParents(t *testing.T) {
	birds, res := read(t, "id;sex;sire;dam;hatched\nA;m;;;2010\nB;f;;;2010\nD;m;;;2010\nC;m;probably A;B;2012\nE;m;son of A;B;2012\nG;m;A of D;B;2012\nH;m;A or X9;B;2012\n", Mapping{})
	assert.Equal(t, "A", birds["C"]["sire"])
	assert.Equal(t, "son of A", birds["E"]["sire"])
	assert.Equal(t, "A=0.5; D=0.5", birds["G"]["sire"])
	assert.Equal(t, "A=0.5; X9=0.5", birds["H"]["sire"])
	assert.Contains(t, told(res)["parent_in_doubt"], "probably A")
	assert.Contains(t, told(res)["parent_without_row"], "X9: one of the possible parents of 1 chick")

	birds, _ = read(t, "id;sex;parents;hatched\nA;m;;2010\nB;f;;2010\nC;m;f B / m A;2012\n", Mapping{})
	assert.Equal(t, "A B", birds["C"]["sire"]+" "+birds["C"]["dam"])
	birds, _ = read(t, "id;sex;parents;hatched\nA;m;;2010\nB;f;;2010\nm A;m;;2010\nf B;f;;2010\nD;f;m A / f B;2012\n", Mapping{Alike: "two"})
	assert.Equal(t, "m A f B", birds["D"]["sire"]+" "+birds["D"]["dam"], "an id as it stands comes first")
}

// The day behind a place is none of its name.
func TestPlacesSinceADay(t *testing.T) {
	for cell, want := range map[string]string{"on loan to Ashby since 2020": "Ashby", "moved to Ashby 3.4.2019": "Ashby", "moved to Ashby (2019)": "Ashby", "moved to Aviary 3": "Aviary 3", "verlegt nach Ostheim seit Mai 2019": "Ostheim"} {
		assert.Equal(t, want, destination(cell), cell)
	}
}

// A sign beside an id or a name says the sex, and a ruled line is no bird.
func TestSignsBesideIDs(t *testing.T) {
	birds, res := read(t, "| Ring | Sire | Dam | Hatched |\n|---|---|---|---|\n| A1 ♂ | | | 2010 |\n| A2 ♀ | | | 2010 |\n| A3 ♀ | A1 | A2 | 2012 |\n", Mapping{})
	assert.Len(t, birds, 3)
	assert.Equal(t, "F A1 ♂", birds["A3 ♀"]["sex"]+" "+birds["A3 ♀"]["sire"])
	assert.Equal(t, "a ruled line", res.Report.LeftOut[0].Reason)
}

// A sheet that has bands and no ids, beside one that has both, is of the birds with
// those bands; a band of nobody is the id of a new bird. Common practice, no source.
func TestRowsByBand(t *testing.T) {
	birds := writtenFile(t, imported(t, "b.xlsx", inWorkbook(t, false,
		page{name: "Living", rows: [][]any{
			{"Studbook ID", "Ring", "Other rings", "Sex", "Sire", "Dam", "Hatched"},
			{"C1", "AX 11", "AX 1; AX 2", "m", nil, nil, "13.2.2001"}, {"C2", "AX 12", nil, "f", nil, nil, "14.2.2001"}, {"C3", "AX 13", nil, "f", "C1", "C2", "15.2.2004"}}},
		page{name: "Dead", rows: [][]any{
			{"Ring", "Name", "Hatched", "Died"}, {"ax-2", "Ash", "13.2.2001", "16.3.2009"}, {"AX 77", "Fern", "17.2.2002", "18.3.2008"}}}),
		Mapping{}), "studbook.csv")
	assert.Len(t, birds, 4)
	assert.Equal(t, "Ash", birds["C1"]["name"])
	assert.Equal(t, "2009-03-16", birds["C1"]["death_date"], "by another band, written otherwise")
	assert.Equal(t, "2008-03-18", birds["AX 77"]["death_date"])
}
