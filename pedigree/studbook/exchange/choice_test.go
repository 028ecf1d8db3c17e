package exchange

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatStopsCanBeAnswered: whatever stops an import has a choice, an answer to
// it settles that, and the mapping with it says the same when it is read again.
func TestWhatStopsCanBeAnswered(t *testing.T) {
	const parents = "A1;M;;;1.2.2001\nA2;F;;;13.2.2001\n"
	for _, x := range []struct{ code, text, answer string }{
		{"column_twice", "id;sex;sire;father;dam\nA1;M;;;\nA2;F;;;\nA3;F;A1;A2;A2\n", "sire"},
		{"column_missing", "id;sex;Keeps;dam;hatched\n" + parents + "A3;F;A1;A2;14.2.2003\n", "Keeps"},
		{"column_missing", "id;sex;dam;hatched\nA2;F;;13.2.2001\nA3;F;A2;14.2.2003\n", Nothing},
		{"parents_unlike_ids", "id;sex;sire;dam;hatched\n" + parents + "A3;F;tall;A2;14.2.2003\nA4;F;small;A2;14.2.2003\n", Nothing},
		{"sex_unlike_sexes", "id;sex;sire;dam\nA1;red;;\nA2;blue;;\nA3;green;A1;A2\nA4;grey;A1;A2\nA5;white;A1;A2\nA6;pink;A1;A2\n", Nothing},
		{"dates_unlike_dates", "id;sex;sire;dam;hatched\nA1;M;;;big\nA2;F;;;small\nA3;F;A1;A2;tall\n", Nothing},
		{"date_order", "id;sex;sire;dam;hatched\nA1;M;;;1.2.2001\nA2;F;;;1.3.2001\nA3;F;A1;A2;2.3.2003\n", "mdy"},
		{"date_orders_disagree", "id;sex;sire;dam;hatched\nA1;M;;;13.2.2001\nA2;F;;;2.13.2001\nA3;F;A1;A2;2.3.2003\n", "dmy"},
		{"sex_unproved", "id;sex;sire;dam\nA1;7;;\nA2;8;;\nA3;8;;\n", "F"},
		{"sex_contradicted", "id;sex;sire;dam\nA1;X;;\nA2;X;;\nA3;X;A1;A2\n", "U"},
		{"departure_reason_unknown", "id;sex;sire;dam;hatched;left;reason\nA1;M;;;1.2.2001;13.3.2004;xyzzy\nA2;F;;;13.2.2001;;\nA3;F;A1;A2;14.2.2003;;\n", "moved"},
		{"departure_without_reason", "id;sex;sire;dam;hatched;left\nA1;M;;;1.2.2001;13.3.2004\nA2;F;;;13.2.2001;\nA3;F;A1;A2;14.2.2003;\n", "left"},
		{"status_code_unknown", "id;sex;sire;dam;status\nA1;M;;;Q\nA2;F;;;Q\nA3;F;A1;A2;Q\n", "alive"},
		{"sire_and_dam", "id;sex;sire;dam\nA1;M;;\nA2;F;;\nA3;F;LOT 7;A2\nA4;F;A1;LOT 7\n", UnknownParent},
		{"alike_ids", "id;sex;sire;dam\nA1;M;;\na1;F;;\nB1;M;;\n", "A1"},
		{"alike_ids", "id;sex;sire;dam\nA1;M;;\na1;M;;\nB1;M;;\n", "a1"},
		{"rows_disagree", "id;sex;sire;dam\nA1;M;;\nA2;F;;\nA9;M;;\nA3;F;A1;A2\nA3;F;A9;A2\n", "table:6"},
		{"rows_disagree", "id;sex;sire;dam\nA1;M;;\nA2;F;;\nA9;M;;\nA3;F;A1;A2\nA3;M;A1;A2\n", "apart table:6"},
		{"fates_not_read", "id;sex;sire;dam;Zz\nA1;M;;;died\nA2;F;;;died\nA3;F;A1;A2;sold\n", "status"},
		{"sex_not_read", "id;Zz;sire;dam\nA1;m;;\nA2;f;;\nA3;f;A1;A2\n", "sex"},
		{"sex_not_read", "id;Zz;sire;dam\nA1;m;;\nA2;f;;\nA3;f;A1;A2\n", Nothing},
		{"fates_not_read", "id;sex;sire;dam;Zz\nA1;M;;;died\nA2;F;;;died\nA3;F;A1;A2;sold\n", Nothing},
	} {
		t.Run(x.code, func(t *testing.T) {
			res := tried(t, "table.csv", []byte(x.text), Mapping{})
			require.NotEmpty(t, res.Report.Stops)
			stop := res.Report.Stops[0]
			require.Equal(t, x.code, stop.Code)
			require.NotNil(t, stop.Choice)
			assert.Contains(t, answersOf(stop.Choice), x.answer)
			m, err := Mapping{}.Decide(*stop.Choice, x.answer)
			require.NoError(t, err)
			again := tried(t, "table.csv", []byte(x.text), m)
			for _, s := range again.Report.Stops {
				require.NotNil(t, s.Choice)
				assert.False(t, s.Choice.of() == stop.Choice.of(), "it is settled: %s", s.Text)
			}
			read, err := ReadMapping([]byte(m.Text()))
			require.NoError(t, err)
			assert.Equal(t, again.Report, tried(t, "table.csv", []byte(x.text), read).Report)
			require.Len(t, m.Decided(), 1)
			assert.Contains(t, []string{x.answer, stop.Choice.Word}, m.Decided()[0].Taken, "a heading is named as a column")
			assert.Equal(t, Mapping{}.Text(), m.Undecide(m.Decided()[0]).Text(), "it can be taken back")
		})
	}
}

func answersOf(c *Choice) []string {
	var out []string
	for _, o := range c.May {
		out = append(out, o.Answer)
	}
	return out
}

// TestAColumnIsGivenAnotherMeaning: whatever a heading was taken for, a person
// can say that it is something else, or nothing.
func TestAColumnIsGivenAnotherMeaning(t *testing.T) {
	const text = "id;name;sex;sire;dam;hatched\nA1;Ash;M;;;13.2.2001\nA2;Fern;F;;;14.2.2001\nA3;Oak;M;A1;A2;15.2.2003\n"
	for answer, want := range map[string]string{"band": "Ash", Nothing: ""} {
		_, res := read(t, text, Mapping{})
		for _, c := range res.Report.Columns {
			if c.Theirs != "name" {
				continue
			}
			require.Equal(t, "name", c.Choice.Taken)
			m, err := Mapping{}.Decide(*c.Choice, answer)
			require.NoError(t, err)
			birds, _ := read(t, text, m)
			assert.Equal(t, want, birds["A1"]["band"], answer)
			if answer != Nothing {
				assert.Empty(t, birds["A1"]["name"])
			}
			assert.Equal(t, "A2", birds["A3"]["dam"])
		}
	}
}

// TestMappingsThatMeanNothing: what is wrong in a mapping is said with its key.
func TestMappingsThatMeanNothing(t *testing.T) {
	for text, want := range map[string]string{
		"[columns]\nid = 3":                           "[columns] id: write the column's name in quotation marks",
		"[columns.\"A b\"]\nid = 3":                   `[columns."A b"] id: write the column's name in quotation marks`,
		"[columns]\nid = \" \"":                       "the column id is mapped to nothing",
		"[columns]\nbird = \"Vogel\"":                 `there is no column "bird" to map`,
		"[import]\nwithout = [\"id\"]":                `without "id": a file can do without sire and dam`,
		"[import]\ndates = \"dym\"":                   "write dmy, mdy or ymd",
		"[import]\nbonds = \"all\"":                   "write parents, or leave it out",
		"[import]\ncolour = \"red\"":                  "the mapping has no key import.colour",
		"[import.words.colour]\nred = \"M\"":          "[import.words] has the tables id, sex, fate and event",
		"[import.words.id]\nc12 = \" \"":              "write the id of the bird that it is",
		"[import.words.sex]\nhe = \"he\"":             "write one of F, M, U",
		"[import.words.event]\narose = \"something\"": "write one of hatched",
	} {
		_, err := ReadMapping([]byte(text))
		assert.ErrorContains(t, err, want, text)
	}
}

// TestMappingsOverEachOther: what is said later goes before, key by key, and lists grow.
func TestMappingsOverEachOther(t *testing.T) {
	under := Mapping{
		Columns: map[string]string{"id": "Ring", "sire": "Vater"}, SheetColumns: map[string]map[string]string{"A": {"sex": "Geschlecht"}},
		Sheets: []string{"A"}, Dates: "dmy", Encoding: "macintosh", Unknown: []string{"x"}, Words: map[string]map[string]string{"sex": {"1": "M", "2": "F"}},
	}
	over := Mapping{
		Columns: map[string]string{"id": "Nummer"}, SheetColumns: map[string]map[string]string{"A": {"dam": "Mutter"}, "B": {"sex": "s"}},
		Sheets: []string{"B"}, Encoding: "UTF-8", Alike: "two", Unknown: []string{"x", "y"}, Words: map[string]map[string]string{"sex": {"2": "U"}, "fate": {"z": "died"}},
	}
	both := over.Over(under)
	assert.Equal(t, Mapping{
		Columns: map[string]string{"id": "Nummer", "sire": "Vater"}, SheetColumns: map[string]map[string]string{"A": {"sex": "Geschlecht", "dam": "Mutter"}, "B": {"sex": "s"}},
		Sheets: []string{"B"}, Dates: "dmy", Encoding: "UTF-8", Alike: "two", Unknown: []string{"x", "y"}, Words: map[string]map[string]string{"sex": {"1": "M", "2": "U"}, "fate": {"z": "died"}},
	}, both)
	assert.Equal(t, Mapping{}.Over(under).Text(), under.Text())
	assert.Equal(t, "Ring", under.Columns["id"], "neither is changed")
}
