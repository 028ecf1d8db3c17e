package studbook

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/gocarina/gocsv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the README's table of files anew")

// filled returns a record with something in every field.
func filled[T Record](t *testing.T) T {
	var record T
	v := reflect.ValueOf(&record).Elem()
	for i := range v.NumField() {
		name := v.Type().Field(i).Name
		var value any
		switch v.Field(i).Interface().(type) {
		case string:
			value = name + ` of "a, b"`
		case int:
			value = i + 1
		case float64:
			value = 0.125 * float64(i)
		case bool:
			value = true
		case Sex:
			value = Male
		case Origin:
			value = OriginCaptive
		case Block:
			value = BlocksMoving
		case Subject:
			value = RulesPart
		case Answer:
			value = Waiting
		case []string:
			value = []string{name, "B3"}
		case Date:
			value = mustDate(t, fmt.Sprintf("[201%d-05..2020~]", i%10))
		case Parentage:
			value = Parentage{Candidates: []Candidate{{name, 0.7}, {"B3", 0.25}}}
		case []time.Month:
			value = []time.Month{6, 7}
		default:
			t.Fatalf("say here what may stand in a field like %s", name)
		}
		v.Field(i).Set(reflect.ValueOf(value))
	}
	return record
}

// roundTrip writes a full record, with what cannot be filled beside another field, and
// reads it again.
func roundTrip[T Record](t *testing.T, but ...func(*T)) {
	f := tableOf[T]()
	t.Run(f.base, func(t *testing.T) {
		full := filled[T](t)
		for _, change := range but {
			change(&full)
		}
		*f.line(&full) = 2
		var b bytes.Buffer
		require.NoError(t, Write(&b, []T{full}))
		r := &reader{ctx: t.Context(), colony: &Colony{}}
		grid, _, broken := parseCSV("it", b.String())
		require.Empty(t, broken)
		table := r.match(grid, f.describe())
		r.checkWidths(table, f.describe().Columns)
		got, err := readRows(r, f, table, func(spot, *T) bool { return true }, func(_ spot, record *T) bool {
			// What no cell says, but the checks of a row.
			switch x := any(record).(type) {
			case *Bird:
				x.Recorded = true
			case *Institution:
				x.HasLatitude, x.HasLongitude = true, true
			}
			return true
		})
		require.NoError(t, err)
		require.Empty(t, r.findings)
		assert.Equal(t, []T{full}, got, "every field of a record has a column that it is read from and written to")

		// gocsv is another reader of the same file.
		maps, err := gocsv.CSVToMaps(strings.NewReader(b.String()))
		require.NoError(t, err)
		require.Len(t, maps, 1)
		for i, name := range Header[T]() {
			assert.Equal(t, Cells(full)[i], maps[0][name], name)
		}
	})
}

func TestEveryFieldComesBack(t *testing.T) {
	roundTrip[Bird](t)
	roundTrip[Move](t)
	roundTrip[Bond](t)
	roundTrip(t, func(c *Clutch) { c.Replaced = false }) // chicks and dummies share a column
	roundTrip(t, func(c *Clutch) { c.Hatched = -1 })
	roundTrip[Hold](t)
	roundTrip[Institution](t)
	roundTrip[FounderKinship](t)
	roundTrip[Request](t)
	roundTrip[Ruling](t)
	roundTrip[Change](t)
}

// TestColonyComesBack writes the tables of a whole colony and reads them again.
func TestColonyComesBack(t *testing.T) {
	want, err := Read(t.Context(), os.DirFS("../../examples/harrow-fell"), "studbook.csv", Options{})
	require.NoError(t, err)
	raw, err := os.ReadFile("../../examples/harrow-fell/programme.toml")
	require.NoError(t, err)
	files := folder("programme.toml", string(raw))
	add := func(name string, write func(b *bytes.Buffer) error) {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		files[name] = folder(name, b.String())[name]
	}
	add("studbook.csv", func(b *bytes.Buffer) error { return Write(b, want.Birds) })
	add("moves.csv", func(b *bytes.Buffer) error { return Write(b, want.Moves) })
	add("bonds.csv", func(b *bytes.Buffer) error { return Write(b, want.Bonds) })
	add("clutches.csv", func(b *bytes.Buffer) error { return Write(b, want.Clutches) })
	add("holds.csv", func(b *bytes.Buffer) error { return Write(b, want.Holds) })
	add("institutions.csv", func(b *bytes.Buffer) error { return Write(b, want.Institutions) })
	add("founder_kinship.csv", func(b *bytes.Buffer) error { return Write(b, want.FounderKinship) })
	add("requests.csv", func(b *bytes.Buffer) error { return Write(b, want.Requests) })
	add("decisions.csv", func(b *bytes.Buffer) error { return Write(b, want.Rulings) })
	add("genotypes.csv", func(b *bytes.Buffer) error { return want.WriteGenotypes(b) })
	got, err := Read(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	for _, c := range []*Colony{want, got} {
		c.Warnings = nil // they name lines
		for i := range c.Birds {
			c.Birds[i].Line = 0
		}
		for i := range c.Moves {
			c.Moves[i].Line = 0
		}
		for i := range c.Bonds {
			c.Bonds[i].Line = 0
		}
		for i := range c.Clutches {
			c.Clutches[i].Line = 0
		}
		for i := range c.Holds {
			c.Holds[i].Line = 0
		}
		for i := range c.Institutions {
			c.Institutions[i].Line = 0
		}
		for i := range c.FounderKinship {
			c.FounderKinship[i].Line = 0
		}
		for i := range c.Requests {
			c.Requests[i].Line = 0
		}
		for i := range c.Rulings {
			c.Rulings[i].Line = 0
		}
		for i := range c.Genotypes {
			c.Genotypes[i].Line = 0
		}
	}
	assert.Equal(t, want, got)
}

func TestWriteWithout(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, []Bird{{ID: "A", Sex: Female, Sire: Parentage{Wild: true}, Recorded: true}, {ID: "X", Sex: Male}}, "location", "origin"))
	assert.Equal(t, "id,name,band,sex,sire,dam,hatch_date,death_date,notes\nA,,,F,wild,,,,\n", b.String(), "and no row for a parent that had none")
}

// filesTable returns the files of a colony folder as a table in Markdown, as
// the README has it.
func filesTable() string {
	var b strings.Builder
	b.WriteString("| file | one row is | columns (needed ones in bold) |\n|---|---|---|\n")
	for _, f := range Files() {
		columns := make([]string, len(f.Columns))
		for i, c := range f.Columns {
			columns[i] = c.Name
			if c.Needed {
				columns[i] = "**" + c.Name + "**"
			}
			if len(c.Words) > 0 {
				columns[i] += " (`" + strings.Join(c.Words, "`, `") + "`)"
			}
		}
		if f.Further != "" {
			columns = append(columns, f.Further)
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", f.Name, f.Row, strings.Join(columns, ", "))
	}
	fmt.Fprintf(&b, "| `%s` | %s | every key has a default or can do without |\n", programmeFile, settingsMean)
	return b.String()
}

func TestReadmeHasTheTableOfFiles(t *testing.T) {
	const readme = "../../README.md"
	raw, err := os.ReadFile(readme)
	require.NoError(t, err)
	text := string(raw)
	begin := strings.Index(text, "| file | one row is |")
	require.GreaterOrEqual(t, begin, 0)
	end := begin + strings.Index(text[begin:], "\n\n") + 1
	if *update {
		require.NoError(t, os.WriteFile(readme, []byte(text[:begin]+filesTable()+text[end:]), 0o644))
		return
	}
	assert.Equal(t, filesTable(), text[begin:end], "go test ./pedigree/studbook -update writes it anew")
}

func TestHelpNamesEverything(t *testing.T) {
	help := FilesHelp()
	for _, f := range Files() {
		assert.Contains(t, help, f.Name+": one row is "+f.Row)
		for _, c := range f.Columns {
			assert.NotEmpty(t, c.Means, c.Name)
			assert.Contains(t, help, c.Name)
		}
	}
	assert.Contains(t, help, "* sex              female, male or not known (F, M, U)\n")
	assert.Contains(t, help, "  latitude         north is positive (-90 to 90 degrees)\n")
	for _, s := range AllSettings() {
		assert.NotEmpty(t, s.Means, s.Key)
		assert.Equal(t, s.Default == "", s.Source == "", "%s: a default has its source", s.Key)
		assert.Contains(t, SettingsHelp(), "as: "+s.Key+" = "+s.Example)
	}
}

// TestTemplate reads the template as it is, and with every key set that it has
// as a remark.
func TestTemplate(t *testing.T) {
	files := folder()
	for name, content := range Template() {
		files[name] = folder(name, string(content))[name]
	}
	assert.Len(t, files, len(Files())+1)
	c, err := Read(t.Context(), files, "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, []string{"warning studbook.csv:0 - no_birds"}, []string{brief(c.Warnings[0])})
	assert.Len(t, c.Files, len(files))
	bare, err := Read(t.Context(), folder("studbook.csv", "id,sex,sire,dam,hatch_date\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, bare.Settings, c.Settings, "remarks set nothing")

	text := strings.ReplaceAll(string(files["programme.toml"].Data), "\n#", "\n")
	var set []string
	for line := range strings.Lines(text) {
		if strings.Contains(line, " = ") || strings.HasPrefix(line, "[") {
			set = append(set, line)
		}
	}
	files["programme.toml"].Data = []byte(strings.Join(set, ""))
	c, err = Read(t.Context(), files, "studbook.csv", Options{Columns: map[string]string{"sire": "sire"}})
	require.NoError(t, err)
	assert.Empty(t, c.Settings.Defaulted)
	assert.Equal(t, "HOME", c.Settings.Home)
	assert.Equal(t, []time.Month{2, 3}, c.Settings.PairingMonths)
}

// The expected text is worked by hand from the Table Schema and Data Package
// specifications (Frictionless Data, version 1).
func TestDataPackage(t *testing.T) {
	p := DataPackage("founder_kinship.csv")
	raw, err := json.Marshal(p)
	require.NoError(t, err)
	assert.JSONEq(t, `{"name": "colony", "profile": "tabular-data-package", "resources": [{
		"name": "founder-kinship", "path": "founder_kinship.csv", "profile": "tabular-data-resource",
		"description": "one row is known kinship of two founders",
		"schema": {"missingValues": [""], "fields": [
			{"name": "id1", "type": "string", "description": "a founder", "constraints": {"required": true}},
			{"name": "id2", "type": "string", "description": "another, or the same for (1+F)/2", "constraints": {"required": true}},
			{"name": "kinship", "type": "number", "description": "their kinship, as from DNA", "constraints": {"required": true, "minimum": -1, "maximum": 1}}
		]}}]}`, string(raw))

	whole := DataPackage()
	require.Len(t, whole.Resources, len(Files()))
	birds := whole.Resources[0].Schema
	assert.Equal(t, []string{"id"}, birds.PrimaryKey)
	assert.Equal(t, &Constraints{Enum: []string{"F", "M", "U"}}, birds.Fields[3].Constraints)
	zero := 0.0
	assert.Equal(t, SchemaField{Name: "eggs", Type: "integer", Description: "eggs laid; eggs", Constraints: &Constraints{Minimum: &zero}}, whole.Resources[3].Schema.Fields[3])
}

// TestNumbersAreWrittenPlainly: every spreadsheet reads 0.0000001, not every one
// reads 1e-07.
func TestNumbersAreWrittenPlainly(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, []FounderKinship{{ID1: "A", ID2: "B", Kinship: 1e-7}}))
	assert.Contains(t, b.String(), "A,B,0.0000001\n")
	assert.Equal(t, "A=0.000003", Parentage{Candidates: []Candidate{{ID: "A", Weight: 3e-6}}}.String())
}
