package exchange

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Lines over birds say what became of those beneath, and which sex they are.
func TestSectionsOfFatesAndSexes(t *testing.T) {
	birds, res := read(t, "Ring;Sex;Sire;Dam;Hatched\nLiving birds;;;;\nA1;m;;;2010\nC1;m;A1;A2;2012\n\nDead birds;;;;\n2015;;;;\nA2;f;;;2010\nVerkauft;;;;\nC2;f;A1;A2;2013\nAviary;;;;\nC3;f;A1;A2;2013\n", Mapping{})
	assert.NotEmpty(t, birds["A2"]["death_date"], "a year between is no other group")
	assert.Equal(t, Fates{Living: 3, DiedUnknownDay: 1, Left: 1}, res.Report.Fates)
	assert.Contains(t, told(res)["fate_of_section"], "line 6")

	birds, _ = read(t, "Ring;Sire;Dam;Hatched;Died\nCocks;;;;\nA1;;;2010;\nC1;A1;A2;2012;\nHens;;;;\nA2;;;2010;2015-01-02\nC2;A1;A2;2013;\n", Mapping{})
	assert.Equal(t, "M F", birds["C1"]["sex"]+" "+birds["C2"]["sex"])
	assert.Equal(t, "2015-01-02", birds["A2"]["death_date"])

	// What nothing reads is told, but not where the birds have places of their own.
	const places = "Ring;Sex;Sire;Dam;Hatched;Site\nHarrow;;;;;\nA1;m;;;2010;H\nQuarry;;;;;\nA2;f;;;2010;Q\n"
	_, res = read(t, "Ring;Sex;Sire;Dam;Hatched\nHarrow;;;;\nA1;m;;;2010\nQuarry;;;;\nA2;f;;;2010\nC1;m;A1;A2;2012\n", Mapping{})
	assert.Contains(t, told(res)["sections_not_read"], "2 lines over groups")
	_, res = read(t, places, Mapping{})
	assert.NotContains(t, decided(res), "sections_not_read")
	_, res = read(t, "Ring;Sex;Sire;Dam;Hatched\nMoss;;;;\nElm;;;;\nC1;m;Moss;Elm;2012\n", Mapping{})
	assert.NotContains(t, decided(res), "sections_not_read", "these are birds")
}

// Sheets may be places, which is told; by their names they may be something else.
func TestSheetsOfPlaces(t *testing.T) {
	head := []any{"Ring", "Sex", "Sire", "Dam", "Hatched"}
	two := func(one, other string) *Result {
		return imported(t, "b.xlsx", inWorkbook(t, false,
			page{name: one, rows: [][]any{head, {"A1", "m", nil, nil, "2010"}, {"A2", "f", nil, nil, "2010"}}},
			page{name: other, rows: [][]any{head, {"C1", "m", "A1", "A2", "2012"}}}), Mapping{})
	}
	assert.Contains(t, told(two("Harrow", "Quarry"))["sheets_not_read_as_places"], `sheets "Harrow", "Quarry"`)
	assert.NotContains(t, decided(two("2010", "2012")), "sheets_not_read_as_places")
	assert.NotContains(t, decided(two("Birds", "Dead")), "sheets_not_read_as_places")
}
