package report

import (
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// TestImportFlag: what is open and what was likely is told with the flag, or the line
// of a mapping, that decides it.
func TestImportFlag(t *testing.T) {
	const birds = "id;sex;sire;dam;hatched\n"
	for _, x := range []struct {
		code, text, want string
		said             exchange.Mapping
	}{
		{"fates_not_read", "id;sex;sire;dam;hatched;Zz\nA;M;;;2001-01-01;\nB;F;;;2001-02-02;sold\nC;M;A;B;2004-03-03;died 2010\n",
			`--column status=Zz; or, where a word in it says nothing of life and death, [import.words.fate] "sold" = "alive"`, exchange.Mapping{}},
		{"fate_in_notes", "id;sex;sire;dam;hatched;status;notes\nA;M;;;2001;alive;\nB;F;;;2001;alive;found dead\nC;M;A;B;2004;alive;\nE;M;A;B;2005;alive;\n",
			`[import.words.fate] "found dead" = "alive", or its date or status in the file`, exchange.Mapping{}},
		{"dates_not_read", "id;sex;sire;dam;Zz\nA;M;;;2001-01-01\nB;F;;;2001-02-02\nC;M;A;B;2004-03-03\n", "--column hatch_date=Zz, or as death_date, departure_date or arrival_date", exchange.Mapping{}},
		{"sex_not_read", "id;Zz;sire;dam;hatched\nA;m;;;2001\nB;f;;;2001\nC;m;A;B;2004\n", "--column sex=Zz", exchange.Mapping{}},
		{"parents_without_bond", birds + "A;m;;;2012\nB;f;;;2012\nE;m;A;B;2018\n", "--bonds parents", exchange.Mapping{}},
		{"parents_without_bond", birds + "A;m;;;2012\nB;f;;;2012\nE;m;A;B;2018\n", "record parting, in the new folder, for a pair that is none", exchange.Mapping{Bonds: exchange.BondsOfParents}},
		{"sire_and_dam", birds + "A;M;;;2001\nB;F;;;2001\nC;M;LOT 7;B;2003\nE;F;A;LOT 7;2003\n", `--unknown "LOT 7", or --wild "LOT 7" for birds from the wild`, exchange.Mapping{}},
		{"parent_without_row", birds + "A;M;;;2001\nB;F;;;2001\nC;M;LOT 7;B;2003\n", `--unknown "LOT 7", if it is no bird`, exchange.Mapping{}},
		{"date_order", birds + "A;M;;;03/04/2001\nB;M;;;05/05/2001\n", "--dates dmy or mdy", exchange.Mapping{}},
		{"date_orders_disagree", birds + "A;M;;;13/04/2001\nB;M;;;04/13/2001\n", "--dates dmy, mdy or ymd", exchange.Mapping{}},
		{"sex_unproved", birds + "A;1;;;2001\nB;2;;;2001\n", `[import.words.sex] "1" = "F", "M" or "U"`, exchange.Mapping{}},
		{"sex_proved", birds + "A;1;;;2001\nB;2;;;2001\nC;1;A;B;2003\n", `[import.words.sex] "1" = "F" or "U"`, exchange.Mapping{}},
		{"alike_ids", birds + "C12;M;;;2001\nB1;F;;;2001\nc12;;;;2001\n", `[import.words.id] "c12" = "C12" (one bird) or "c12" (two birds); --alike one or two for all`, exchange.Mapping{}},
		{"other_parents", "id;name;sex;sire;dam;sire by colour\nA;Ash;M;;;\nB;Elm;F;;;\nG;Asp;M;;;\nC;Oak;M;A;B;A\nD;Fir;F;C;B;G\n", `--column "sire=sire by colour"`, exchange.Mapping{}},
		{"column_twice", "id;sex;sire;father;dam\nA;M;;;\nB;M;A;Z;\n", "--column sire=sire or --column sire=father", exchange.Mapping{}},
		{"column_missing", "id;sex;dam\nA;M;\nB;M;A\n", "--column sire=NAME", exchange.Mapping{}},
		{"no_such_column", "id;sex;sire;dam\nA;M;;\n", "--column band=NAME", exchange.Mapping{Columns: map[string]string{"band": "Ring"}}},
		{"no_such_sheet", birds + "A;M;;;2001\n", "--sheet NAME", exchange.Mapping{Sheets: []string{"Hall"}}},
		{"parents_unlike_ids", "id;sex;sire;dam\nA;M;good;\nB;M;bad;\nC;M;ugly;\n", "--column sire=sire", exchange.Mapping{}},
		{"rows_disagree", birds + "A;M;;;2001\nB;M;;;2001\nE;F;;;2001\nC;M;A;E;2003\nC;M;B;E;2003\n", `--leave-out "table:5" or "table:6"; for two birds --apart "table:6"`, exchange.Mapping{}},
		{"rows_differ", "id;sex;sire;dam;hatched;name\nA;M;;;2001;Ash\nA;M;;;2001;Asp\n", `--leave-out "table:3"`, exchange.Mapping{}},
		{"spreadsheet_error", birds + "A;M;;;2001\nB;F;#REF!;;2003\n", `--leave-out "table:3"`, exchange.Mapping{}},
		{"spreadsheet_error", birds + "A;M;;;2001\nB;F;#N/A;;2003\n", "", exchange.Mapping{}},
		{"departure_reason_unknown", "id;sex;sire;dam;hatched;left;reason\nA;M;;;2001;2004-01-01;fox\n", `[import.words.fate] "fox" = "died", "moved" or "left"`, exchange.Mapping{}},
		{"event_unknown", "Date;Ring;Event;With\n13.4.2011;A1;hatched;\n13.4.2012;A1;gewuzzelt;\n", `[import.words.event] "gewuzzelt" = "hatched", "arrived", "sexed", "ringed", …`, exchange.Mapping{}},
		{"no_birds", "id;sex;sire;dam\n", "", exchange.Mapping{}},
	} {
		t.Run(x.code, func(t *testing.T) {
			opt := exchange.Options{Mapping: x.said, Today: studbook.DayOf(2024, time.June, 30)}
			res, err := exchange.Import(t.Context(), fstest.MapFS{"table.csv": {Data: []byte(x.text)}}, "table.csv", opt)
			require.NoError(t, err)
			var codes []string
			for _, d := range append(res.Report.Stops, res.Report.Decisions...) {
				if codes = append(codes, d.Code); d.Code == x.code {
					assert.Equal(t, x.want, ImportFlag(&d))
					return
				}
			}
			assert.Contains(t, codes, x.code)
		})
	}
}

// TestSheetsUnread: a sheet with cells of which nothing was read is told in the first lines,
// and not one that is empty or that was left out because others were named.
func TestSheetsUnread(t *testing.T) {
	lead := func(sheets ...exchange.SheetRead) string {
		return ImportDocument(&exchange.Report{Birds: 13, Sheets: append(sheets, exchange.SheetRead{Name: "Vögel", As: "birds", Rows: 13, Optional: true})}, nil, "").Lead
	}
	assert.Contains(t, lead(exchange.SheetRead{Name: "Gelege", As: exchange.SheetLeftOut, Rows: 12}), "Nothing was read of the sheet “Gelege” (12 rows): ")
	assert.Contains(t, lead(exchange.SheetRead{Name: "Gelege", As: exchange.SheetLeftOut, Rows: 12}, exchange.SheetRead{Name: "Notes", As: exchange.SheetLeftOut, Rows: 2}), "of the sheets “Gelege” and “Notes” (14 rows): ")
	for _, s := range []exchange.SheetRead{{Name: "Tabelle3", As: exchange.SheetLeftOut}, {Name: "Old", As: exchange.SheetLeftOut, Rows: 5, Optional: true}} {
		assert.NotContains(t, lead(s), "Nothing was read of")
	}
}
