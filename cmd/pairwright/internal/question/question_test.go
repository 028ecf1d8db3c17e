package question

import (
	"bytes"
	"context"
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestSettingsAreRead compares the keys and values of an address with the
// question that they fill in.
func TestSettingsAreRead(t *testing.T) {
	limit, one, two, three := 0.1, 1, 2, 3
	for _, c := range []struct {
		of      *Question
		address string
		want    ask
	}{
		{matesQuestion, "", &mates{within: "network", top: 10}},
		{matesQuestion, "bird=C1&within=home&top=3&limit-inbreeding=0.1", &mates{within: "home", top: 3, limit: &limit}},
		{matesQuestion, "break-bonds=true&within=", &mates{within: "network", breaks: true, top: 10}},
		{planQuestion, "", &plan{scope: "home"}},
		{planQuestion, "scope=programme&chicks=3&per-pair=2&moves=1", &plan{scope: "programme", chicks: &three, perPair: &two, moves: &one}},
		{planQuestion, "release=A&release=B&ignore-spaces=1", &plan{scope: "home", release: []string{"A", "B"}, ignoreSpaces: true}},
		{planQuestion, "free-bonds=true", &plan{scope: "home", free: true}},
		{transferQuestion, "bird=A&to=X&from=Y&partner=B", &transfer{to: "X", from: "Y", partner: "B", scope: "home", top: 10}},
		{transferQuestion, "requests=true", &transfer{requests: true, scope: "home", top: 10}},
		{transferQuestion, "list=true&scope=programme&top=4", &transfer{list: true, scope: "programme", top: 4}},
		{reviewQuestion, "since=2024-02&runs=2", &review{since: studbook.DayOf(2024, 2, 29), runs: &two}},
		{forecastQuestion, "", &outlook{scope: "programme", runs: 100}},
		{forecastQuestion, "scope=home&years=3&runs=2&policy=bonds&policy=random&goal=0.1&fewest=2&founders=1/5y&catastrophes=2/30&severity=0.1", &outlook{
			scope: "home", years: &three, runs: 2, policies: []string{"bonds", "random"}, goal: &limit, fewest: &two, founders: every{1, 5}, disasters: every{2, 30}, severity: &limit}},
		{forecastQuestion, "season=early", &outlook{scope: "programme", runs: 100, season: "early"}},
		{forecastQuestion, "need=places", &outlook{scope: "programme", runs: 100, need: "places"}},
		{birdsQuestion, "all=true", &birds{all: true}},
		{birdQuestion, "bird=A", bird{}},
		{kinQuestion, "a=A&b=B", kin{}},
		{parentsQuestion, "", &parents{}},
		{parentsQuestion, "bird=A", &parents{}},
		{checkQuestion, "", check{}},
		{colonyQuestion, "", colony{}},
	} {
		t.Run(c.of.Name+"?"+c.address, func(t *testing.T) {
			values, err := url.ParseQuery(c.address)
			require.NoError(t, err)
			asked, err := c.of.Parse(values)
			require.NoError(t, err)
			assert.Equal(t, c.want, asked.ask)
		})
	}
}

// TestCommonSettings does the same for those that questions share.
func TestCommonSettings(t *testing.T) {
	asked, err := matesQuestion.Parse(url.Values{"bird": {"A"}, "as-of": {"2020"}, "seed": {"7"}, "format": {"json"}})
	require.NoError(t, err)
	assert.Equal(t, []string{"A"}, asked.Birds)
	assert.Equal(t, Common{Studbook: "studbook.csv", AsOf: studbook.DayOf(2020, 12, 31), Format: "json", Seed: 7}, asked.Common)
}

// TestWrongUsage: what cannot be meant is refused in words that say what to
// give instead.
func TestWrongUsage(t *testing.T) {
	for _, c := range []struct {
		of           *Question
		address, say string
	}{
		{matesQuestion, "within=reach", "within reach: use home or network"},
		{matesQuestion, "bird=A&top=0", "top 0: ask for at least 1"},
		{matesQuestion, "bird=A&top=many", "top many: give a whole number"},
		{matesQuestion, "bird=A&top=99999999999999999999", "the number is too large"},
		{matesQuestion, "bird=A&top=3&top=4", "top is given 2 times"},
		{matesQuestion, "top=3", "top is for the mates of one bird"},
		{matesQuestion, "limit-inbreeding=2", "give F as a number from 0 to 1"},
		{matesQuestion, "limit-inbreeding=NaN", "give F as a number from 0 to 1"},
		{matesQuestion, "break-bonds=perhaps", "use true or false"},
		{matesQuestion, "wingspan=3", `mates has no setting "wingspan"`},
		{matesQuestion, "format=xlsx", "format xlsx: use text, json, csv, md or html"},
		{matesQuestion, "seed=-1", "give a whole number that is not below 0"},
		{forecastQuestion, "years=0", "years 0: ask for at least 1"},
		{forecastQuestion, "years=1001", "1001 years are too many to look ahead: ask for at most 1000"},
		{forecastQuestion, "runs=1", "runs 1: ask for at least 2"},
		{forecastQuestion, "policy=best", "policy best: use decision, dynamic-mean-kinship,"},
		{forecastQuestion, "goal=90", "give the goal as a gene diversity from 0 to 1"},
		{forecastQuestion, "goal=0", "a goal of 0 says nothing"},
		{forecastQuestion, "founders=5y", "write it as 1/5y"},
		{forecastQuestion, "catastrophes=3/2y", "there is at most one in a year"},
		{forecastQuestion, "severity=0.5", "say how often they come"},
		{forecastQuestion, "colony=HAF", "ask for the scope home"},
		{forecastQuestion, "need=chicks&policy=bonds&policy=random", "a need is told for one policy"},
		{forecastQuestion, "need=chicks&format=csv", "a need has no rows"},
		{forecastQuestion, "need=chicks&scope=home", "leave out --scope home and --fewest"},
		{forecastQuestion, "need=chicks&fewest=3", "leave out --scope home and --fewest"},
		{transferQuestion, "list=true&seed=2", "seed is for the draws"},
		{transferQuestion, "requests=true&seed=2", "seed is for the draws"},
		{forecastQuestion, "season=a&need=chicks", "leave out --need, or --with, --change and --season"},
		{forecastQuestion, "season=a&change=leave,A", "leave out all but one"},
		{forecastQuestion, "season=..%2Fa", "without its folder"},
		{forecastQuestion, "need=founders&founders=1/5y", "leave out --founders"},
		{planQuestion, "chicks=-1", "chicks -1: it cannot be below 0"},
		{planQuestion, "per-pair=0", "per-pair 0: ask for at least 1"},
		{planQuestion, "per-pair=101", "per-pair 101: no pair hatches so many"},
		{planQuestion, "chicks=2000000000", "chicks 2000000000: ask for at most 100000"},
		{planQuestion, "scope=flock", "use home or programme"},
		{planQuestion, "letters=DIR", "plan has no setting \"letters\""},
		{planQuestion, "own=/etc/passwd", "plan has no setting \"own\""},
		{planQuestion, "scope=programme&colony=HAF&format=csv", "leave out the colony for every pair"},
		{transferQuestion, "", "name one bird"},
		{transferQuestion, "bird=A&list=true", "leave out A"},
		{transferQuestion, "list=true&to=HAF", "leave out --to"},
		{transferQuestion, "requests=true&list=true", "leave out --list"},
		{transferQuestion, "requests=true&colony=HAF", "--requests answers all requests that are on file: leave out --colony"},
		{transferQuestion, "bird=A&scope=programme", "scope and top are for --list"},
		{transferQuestion, "bird=A&format=csv", "a request has no rows"},
		{transferQuestion, "list=true&scope=programme&colony=HAF", "leave out the colony, or the scope"},
		{reviewQuestion, "since=3/4/2011", "write 2011-04-03"},
		{reviewQuestion, "format=csv", "format csv: use text, json, md, html or xlsx"},
		{birdQuestion, "", "bird needs 1 bird, not 0; it is used as: pairwright bird ID"},
		{kinQuestion, "a=A", "kin needs 2 birds, not 1; it is used as: pairwright kin A B"},
		{parentsQuestion, "bird=A&colony=H", `parents has no setting "colony"`},
		{kinQuestion, "a=A&b=B&seed=2", `kin has no setting "seed"`},
		{checkQuestion, "colony=HAF", `check has no setting "colony"`},

		// A date that is longer than a year is no day to answer for.
		{birdsQuestion, "as-of=201X", "as-of 201X: it spans more than a year"},
		{birdsQuestion, "as-of=[2018..2019]", "it spans more than a year"},
		{birdsQuestion, "as-of=unknown", "give a date such as 2026-09-30"},
		{reviewQuestion, "since=201X", "since 201X: it spans more than a year"},

		// Files of this machine are no business of an address.
		{birdsQuestion, "studbook=/etc/passwd", `birds has no setting "studbook"`},
		{birdsQuestion, "out=x", `birds has no setting "out"`},
		{transferQuestion, "bird=A&attach=x", `transfer has no setting "attach"`},
	} {
		t.Run(c.of.Name+"?"+c.address, func(t *testing.T) {
			values, err := url.ParseQuery(c.address)
			require.NoError(t, err)
			_, err = c.of.Parse(values)
			var usage *UsageError
			require.ErrorAs(t, err, &usage)
			assert.ErrorContains(t, err, c.say)
		})
	}
}

// TestDatesStandForTheirLastDay: a month and a year, leap or not.
func TestDatesStandForTheirLastDay(t *testing.T) {
	for text, want := range map[string]studbook.Day{
		"2019-05-12":            studbook.DayOf(2019, 5, 12),
		"2019-02":               studbook.DayOf(2019, 2, 28),
		"2020":                  studbook.DayOf(2020, 12, 31),
		"2019~":                 studbook.DayOf(2019, 12, 31),
		"[2019-03..2019-05-02]": studbook.DayOf(2019, 5, 2),
	} {
		asked, err := birdsQuestion.Parse(url.Values{"as-of": {text}})
		require.NoError(t, err, text)
		assert.Equal(t, want, asked.AsOf, text)
	}
}

// TestDeclarations: every setting says what it is, under a key of its own, and
// no two questions declare one key for different kinds.
func TestDeclarations(t *testing.T) {
	kinds := map[string]ValueKind{}
	for _, q := range All {
		assert.NotEmpty(t, q.Short)
		assert.NotEmpty(t, q.Long)
		keys := map[string]bool{}
		for _, key := range q.Birds {
			keys[key] = true
		}
		for _, s := range q.Ask().Settings() {
			what := q.Name + " " + s.Key
			assert.False(t, keys[s.Key], what+" is declared twice")
			keys[s.Key] = true
			assert.NotEmpty(t, s.Help, what)
			assert.Equal(t, s.kind == YesNo, s.Takes == "", what+" says what it takes")
			assert.False(t, s.Given(), what+" is given by its default")
			if kind, known := kinds[s.Key]; known {
				assert.Equal(t, kind, s.kind, what)
			}
			kinds[s.Key] = s.kind
		}
	}
}

// readExample reads the example colony for a question.
func readExample(t *testing.T, a *Asked) *Folder {
	t.Helper()
	a.Studbook = filepath.Join("..", "..", "..", "..", "examples", "harrow-fell", "studbook.csv")
	f, err := a.Read(t.Context())
	require.NoError(t, err)
	return f
}

// TestEveryAnswerInEveryFormat answers each question once and writes the one
// answer in all of its formats. JSON that is an object begins with its schema
// and its warnings.
func TestEveryAnswerInEveryFormat(t *testing.T) {
	studbooktest.WithoutRace(t)
	for _, c := range []struct {
		of      *Question
		address string
		array   bool
	}{
		{matesQuestion, "bird=C0734&top=2", false},
		{matesQuestion, "", true},
		{planQuestion, "", false},
		{transferQuestion, "bird=C0734", false},
		{transferQuestion, "list=true", false},
		{reviewQuestion, "", false},
		{forecastQuestion, "runs=2&years=5", false},
		{forecastQuestion, "runs=2&years=5&scope=home&policy=bonds&founders=1/2y&catastrophes=1/4y&severity=0.3", false},
		{forecastQuestion, "runs=4&years=5&need=founders&policy=bonds&goal=0.97", false},
		{birdsQuestion, "colony=HAF", true},
		{birdQuestion, "bird=C0734", false},
		{kinQuestion, "a=C0419&b=C0841", false},
		{checkQuestion, "", false},
	} {
		t.Run(c.of.Name+"?"+c.address, func(t *testing.T) {
			values, err := url.ParseQuery(c.address)
			require.NoError(t, err)
			asked, err := c.of.Parse(values)
			require.NoError(t, err)
			x, err := asked.Answer(context.Background(), readExample(t, asked))
			require.NoError(t, err)
			for _, format := range c.of.Formats() {
				if format == "csv" && x.rows == nil {
					continue // a request, which has no rows
				}
				var b bytes.Buffer
				require.NoError(t, x.Write(&b, format), format)
				assert.NotEmpty(t, b.Bytes(), format)
				if format != "json" {
					continue
				}
				if c.array {
					assert.True(t, strings.HasPrefix(b.String(), "["))
					assert.False(t, x.CarriesWarnings(format))
					continue
				}
				var head struct {
					Schema   string
					Warnings []string
				}
				require.NoError(t, json.Unmarshal(b.Bytes(), &head))
				assert.Regexp(t, `^pairwright/[a-z]+ [0-9]+$`, head.Schema)
				assert.Equal(t, append([]string{}, x.Warnings...), head.Warnings)
				assert.True(t, strings.HasPrefix(b.String(), "{\n  \"schema\": \"pairwright/"+c.of.Name))
			}
		})
	}
}

// TestNoWarningsAreNoNull: a folder of which nothing is to be said.
func TestNoWarningsAreNoNull(t *testing.T) {
	studbookOf := func(rows string) *Asked {
		name := filepath.Join(t.TempDir(), "studbook.csv")
		require.NoError(t, os.WriteFile(name, []byte("id,sex,sire,dam,hatch_date,location,origin\n"+rows), 0o600))
		asked, err := kinQuestion.Parse(url.Values{"a": {"A"}, "b": {"B"}, "as-of": {"2011-01-01"}})
		require.NoError(t, err)
		asked.Studbook = name
		return asked
	}
	asked := studbookOf("A,F,,,2010-05-01,HOME,captive\nB,F,,,2010-05-01,HOME,captive\n")
	f, err := asked.Read(t.Context())
	require.NoError(t, err)
	x, err := asked.Answer(t.Context(), f)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, x.Write(&b, "json"))
	assert.Contains(t, b.String(), "\"warnings\": [],\n")

	// Faults stop every question but the one that lists them.
	asked = studbookOf("A,F,wild,wild,2010-05-01,HOME,wild\nA,F,wild,wild,2010-05-01,HOME,wild\n")
	f, err = asked.Read(t.Context())
	require.NoError(t, err)
	_, err = asked.Answer(t.Context(), f)
	var faults *studbook.Faults
	assert.ErrorAs(t, err, &faults)
	x, err = checkQuestion.Ask().Answer(t.Context(), f)
	require.NoError(t, err)
	assert.True(t, x.AtFault)
}

// A forecast that is stopped answers from the runs that are done and says on how
// many it rests.
func TestForecastStopped(t *testing.T) {
	asked, err := forecastQuestion.Parse(url.Values{"years": {"5"}, "policy": {"bonds"}, "runs": {"500"}})
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	asked.Progress = func(done, of int) {
		assert.Equal(t, 500, of)
		if done == 7 {
			stop()
		}
	}
	x, err := asked.Answer(ctx, readExample(t, asked))
	require.NoError(t, err)
	assert.Equal(t, []string{"the runs were stopped: the forecast rests on 7 of 500"}, x.Own)
	var b bytes.Buffer
	require.NoError(t, x.Write(&b, "text"))
	assert.Contains(t, b.String(), "Stopped early: all figures rest on 7 of 500 runs.")
	b.Reset()
	require.NoError(t, x.Write(&b, "json"))
	assert.Contains(t, b.String(), `"runs": 7,`)
}
