package pairing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestWhatWasAgreedInVain: an agreement that has lapsed, whose day has gone by or that cannot
// be carried out is told of at both its places, until it comes about or somebody says
// another word; what is agreed on and in time is not.
func TestWhatWasAgreedInVain(t *testing.T) {
	const months = "home = \"A\"\nquarantine_days = 30\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\npairing = [2, 3]\nlaying = [4, 5, 6]\n"
	for _, c := range []struct {
		name, day string
		rows      []string
		change    func(files map[string]string)
		want      string // code and day
	}{
		{"in time", "2026-12-01", []string{"move,F3; M1,A,agreed"}, nil, ""},
		{"the last day to leave", "2027-01-02", []string{"move,F3; M1,A,agreed"}, nil, ""},
		{"the day after it", "2027-01-03", []string{"move,F3; M1,A,agreed"}, nil, "missed_day 2027-01-02"},
		{"without a mate", "2027-01-03", []string{"move,F3,A,agreed"}, nil, "missed_day 2027-01-02"},
		{"the last day that it holds", "2027-10-04", []string{"bond,F1; M1,,agreed"}, nil, ""},
		{"lapsed", "2027-10-05", []string{"bond,F1; M1,,agreed"}, nil, "lapsed 2027-10-04"},
		{"lapsed long ago", "2028-10-10", []string{"bond,F1; M1,,agreed"}, nil, ""},
		{"declined since", "2027-10-05", []string{"bond,F1; M1,,agreed", "bond,M1; F1,,declined"}, nil, ""},
		{"done", "2027-10-05", []string{"bond,F1; M1,,agreed"}, func(f map[string]string) { f["bonds.csv"] = "female,male,since\nF1,M1,2027-02-01\n" }, ""},
		{"gone there", "2027-01-03", []string{"move,F3,A,agreed"}, func(f map[string]string) {
			f["moves.csv"] = "id,date,from,to\nF3,2026-11-01,B,A\n"
			f["studbook.csv"] = strings.Replace(f["studbook.csv"], "F3,F,wild,wild,2015-05-01,,B", "F3,F,wild,wild,2015-05-01,,A", 1)
		}, ""},
		{"its mate is dead", "2026-12-01", []string{"move,F3; M1,A,agreed"}, func(f map[string]string) {
			f["studbook.csv"] = strings.Replace(f["studbook.csv"], "M1,M,wild,wild,2015-05-01,", "M1,M,wild,wild,2015-05-01,2026-11-11", 1)
		}, "dead 2026-11-11"},
		{"the place is full", "2026-12-01", []string{"move,F3; M1,A,agreed"}, func(f map[string]string) { f["institutions.csv"] = "code,spaces_f,spaces_m\nA,0,0\nB,,\n" }, "place_full "},
		{"only a waiting word", "2027-10-05", []string{"move,F3,A,waiting"}, nil, ""},
	} {
		files := map[string]string{"studbook.csv": "id,sex,sire,dam,hatch_date,death_date,location,origin\n", "programme.toml": months}
		for _, id := range []string{"F1 A", "M1 A", "F2 A", "M2 A", "F3 B", "M3 B"} {
			files["studbook.csv"] += id[:2] + "," + id[:1] + ",wild,wild,2015-05-01,," + id[3:] + ",wild\n"
		}
		if c.change != nil {
			c.change(files)
		}
		var all []string
		for name, text := range files {
			all = append(all, name, text)
		}
		var rows []string
		for k, row := range c.rows {
			rows = append(rows, "2026-10-0"+string(rune('5'+k))+","+row+",,,")
		}
		p := programmeOn(t, c.day, append(all, decisions(rows...)...)...)
		got := ""
		for _, x := range decide(t, p).Unkept() {
			got = string(x.Why.Code) + " " + x.Why.Date.Text
			if x.Why.Date.Known() && x.Why.Date.Text == "" {
				got += x.Why.Date.First.String()
			}
			if c.rows[0][:4] == "move" {
				assert.Equal(t, []string{"A", "B"}, x.Places(p), c.name)
			}
		}
		assert.Equal(t, c.want, got, c.name)
	}
}
