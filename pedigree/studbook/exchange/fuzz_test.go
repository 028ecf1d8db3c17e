package exchange

import (
	"errors"
	"testing"
	"testing/fstest"

	"pairwright/pedigree/studbook"
)

// Any bytes give a report that adds up, or findings.
func FuzzImport(f *testing.F) {
	rows := [][]any{{"Ring", "Name", "Sex", "Sire", "Dam", "Hatched", "Died", "Left", "Reason"}, {"A1", "Ash", "m", nil, nil, "ca. 2001"}, {"A2", "Birch", "w", nil, "wild", "1.2.03"}, {"A3", nil, "0.0.1", "Ash", "A2 (0,7) / A1", "BET 2004 AND 2005", "?", "3/4/2010", "sold"}}
	f.Add(inText(f, ",", nil, rows))
	f.Add(inText(f, ";", nil, rows))
	f.Add(inWorkbook(f, false, page{name: "Dead", rows: rows, merged: []string{"A1:B1", "A3:A4"}}))
	f.Add(inODS(f, page{name: "Birds", rows: rows}))
	f.Add([]byte("1 1 0 0 1 -9\n1 2 0 0 2 -9\n1 3 1 2 0 -9\n"))
	f.Add([]byte("0 HEAD\n1 GEDC\n2 VERS 5.5.1\n0 @I1@ INDI\n1 FAMC @F1@\n2 PEDI birth\n1 DEAT Y\n0 @F1@ FAM\n1 HUSB @I1@\n1 MARR\n"))
	f.Add([]byte("Date;Bird;Event;With\n1.2.2003;A;hatched;B x C\n;B;paired;C\n;B;laid;\n"))
	f.Add([]byte("Nest\tFemale\tMale\tFrom\tTo\n5\tA\tB\t2001\t\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		for _, m := range []Mapping{{}, {Dates: "dmy"}} {
			res, err := Import(t.Context(), fstest.MapFS{"f": {Data: raw}}, "f", Options{Mapping: m, Today: asOf, FileDay: asOf})
			var faults *studbook.Faults
			if errors.As(err, &faults) {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			addsUp(t, res)
			if (res.Files == nil) != res.Report.Stopped() {
				t.Fatal("written and stopped at once")
			}
			if _, err := ReadMapping([]byte(res.Report.Mapping)); res.Files != nil && err != nil {
				t.Fatal(err, res.Report.Mapping)
			}
		}
	})
}
