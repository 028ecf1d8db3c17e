package studbook

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// sound is a folder without a finding that stops anything, to put a file into.
var sound = map[string]string{
	"studbook.csv":        "id,name,sex,sire,dam,hatch_date,death_date,location\nA,,M,,,2010,,H\nB,,F,wild,,2011,2019,H\nC,x,F,A,B,2015-06,,H\nD,,M,A=0.7; E=0.2,B,2016~,,J\nE,,M,,,2009,,H\n",
	"moves.csv":           "id,date,from,to,reason\nD,2018,H,J,\n",
	"bonds.csv":           "female,male,since,until,nest,ended_by\nC,A,2018,2019-05,7,parted\n",
	"clutches.csv":        "female,male,laid,eggs,fertile,hatched,fledged\nB,A,2015-05-01,2,2,1,1\n",
	"holds.csv":           "id,since,until,reason,blocks,note\nC,2020,,lame,moving,\n",
	"institutions.csv":    "code,name,country,latitude,longitude,spaces_f,spaces_m,quarantine_days,closed_months\nH,Home,GB,50.5,-2,1,2,30,\nJ,J,,,,,,,6;7\n",
	"founder_kinship.csv": "id1,id2,kinship\nA,B,0.125\n",
	"requests.csv":        "bird,to,partner,asked_by,date,notes\nA,J,,them,2021-01-02,\n",
	"changes.csv":         "change,when,what,file,before,after\n1,2021-02-03 10:00:00 +0000,a move,moves.csv,,\"D,2018,H,J,\"\n",
	"decisions.csv":       "date,what,birds,to,decision,by,until,reason\n2021-02-03,move,A,J,waiting,us,,\n",
	"genotypes.csv":       "id,P1,P2_1,P2_2,lab\nA,152/156,9,11,x\nB,152/152,11,12,x\nC,156/152,9,12,x\nD,,11,0,y\n",
	"programme.toml":      "home = \"H\"\ncurrent_to = 2022-01-01\n[goal]\ngene_diversity = 0.9\n",
}

// inMemory is a folder with these files.
func inMemory(texts map[string]string) fstest.MapFS {
	files := fstest.MapFS{}
	for name, text := range texts {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

// FuzzFolder puts any bytes in the place of one file of a sound folder. The same
// bytes give the same, findings or a colony; a colony that is written and read again
// is the same; and a workbook with the same cells gives the same findings, or the
// same colony.
func FuzzFolder(f *testing.F) {
	names := slices.Sorted(maps.Keys(sound))
	for n, name := range names {
		f.Add(uint8(n), []byte(sound[name]))
		f.Add(uint8(n), []byte(strings.ReplaceAll(sound[name], ",", ";")+"#\n\n\"A\";\"x \"\"y\"\"\"\n"))
	}
	f.Add(uint8(slices.Index(names, "bonds.csv")), []byte("male,female,until\nA,C,unknown\n?,C,2018-02-30\n=A,'C,2018\n"))
	f.Add(uint8(slices.Index(names, "clutches.csv")), []byte("female,male,laid,eggs\nB,A,2015,1e3\nB,A,2015,-0\nB,A,2015,2.0\nB,A,2015,٣\n"))
	f.Add(uint8(slices.Index(names, "institutions.csv")), []byte("code,latitude,longitude,spaces_f,closed_months\nH,91,NaN,+2,13\nh,1e1,0x10,,1-3\n"))
	f.Add(uint8(slices.Index(names, "founder_kinship.csv")), []byte("id1,id2,kinship\nA,B,Inf\nA,A,0.5\nB,A,0,125\n"))
	f.Add(uint8(slices.Index(names, "genotypes.csv")), []byte("id,m1,m2,s,,n,n,t\nA,152156,AG,0,1,1,2,11\nB,000000,NN,2,2,0,0,12\nC,152/,GG,1,1,2,?,22\n"))
	f.Add(uint8(slices.Index(names, "programme.toml")), []byte("home = 'H'\nlimits.inbreeding = inf\nmonths.laying = [4, 13]\n[breeding_age]\nfemale = [9, 2]\n[columns]\nsire = 'dam'\n"))
	f.Fuzz(inSoundFolder)
}

// TestAnyFolder changes the files of a sound folder by chance: what FuzzFolder seeks
// for as long as it is let is sought here for a moment.
func TestAnyFolder(t *testing.T) {
	_, err := Read(t.Context(), inMemory(sound), "studbook.csv", Options{Today: today})
	require.NoError(t, err, "in an unsound folder the other files would prove nothing")
	rnd := rand.New(rand.NewPCG(5, 6))
	pieces := []string{"", "A", "B", "C", "D", "Z9", "H", "wild", "unknown", "NaN", "1e9", "-1", "2.0", "2018-02-30", "2030", "[2018..2019]", "A=0.5; B=0.5", "'x", "=1", "é", ",", ";", "\"", "\n", "#", "M", "x y", " "}
	names := slices.Sorted(maps.Keys(sound))
	for range 300 {
		n := rnd.IntN(len(names))
		text := sound[names[n]]
		for range 1 + rnd.IntN(3) {
			between := []string{",", "\n"}[rnd.IntN(2)]
			parts := strings.Split(text, between)
			at, piece := rnd.IntN(len(parts)), pieces[rnd.IntN(len(pieces))]
			switch rnd.IntN(4) {
			case 0:
				parts[at] = piece
			case 1:
				parts = slices.Insert(parts, at, piece)
			case 2:
				parts = append(parts, parts[at])
			default:
				k := rnd.IntN(len(parts[at]) + 1)
				parts[at] = parts[at][:k] + piece + parts[at][k:]
			}
			text = strings.Join(parts, between)
		}
		if inSoundFolder(t, uint8(n), []byte(text)); t.Failed() {
			t.Fatalf("%s: %q", names[n], text)
		}
	}
}

// inSoundFolder reads a sound folder with one file replaced.
func inSoundFolder(t *testing.T, n uint8, raw []byte) {
	names := slices.Sorted(maps.Keys(sound))
	name := names[int(n)%len(names)]
	files := inMemory(sound)
	files[name] = &fstest.MapFile{Data: raw}
	c, err := Read(t.Context(), files, "studbook.csv", Options{Today: today})
	again, err2 := Read(t.Context(), files, "studbook.csv", Options{Today: today})
	assert.Equal(t, findingsOf(t, c, err), findingsOf(t, again, err2), "the same bytes, the same findings")
	if err == nil {
		assert.Equal(t, withoutLines(c), withoutLines(again))
		comesBack(t, c, files["programme.toml"].Data)
	}
	if book, ok := asWorkbook(t, files, name); ok {
		b, bookErr := Read(t.Context(), book, "colony.xlsx", Options{Today: today})
		assert.Equal(t, err == nil, bookErr == nil, "a workbook of the same cells: %v; %v", err, bookErr)
		if err == nil && bookErr == nil {
			assert.Equal(t, withoutLines(c), withoutLines(b), "a workbook of the same cells")
		}
	}
}

// FuzzBeside puts a file of any name into a sound folder: whatever is not called as a
// file of ours changes nothing, and one that seems to be meant is named.
func FuzzBeside(f *testing.F) {
	for _, name := range []string{"Holds.csv", "hold.csv", "Bonds 2026.csv", "moves.CSV", "moves.csv.bak", "programme.TOML", "my studbook.xlsx", "notes.txt", "clutch.ods", ".moves.csv", "founder kinship.tsv", "CON.csv", "h\u200bolds.csv", "hölds.csv"} {
		f.Add(name, []byte("id,since,reason\nA,2020,lame\n"))
	}
	f.Fuzz(func(t *testing.T, name string, raw []byte) {
		if !fs.ValidPath(name) || strings.Contains(name, "/") || name == "." {
			t.Skip()
		}
		files := inMemory(sound)
		delete(files, "holds.csv")
		delete(files, "bonds.csv")
		want, err := Read(t.Context(), files, "studbook.csv", Options{Today: today})
		require.NoError(t, err)
		if _, ours := sound[name]; ours {
			t.Skip()
		}
		files[name] = &fstest.MapFile{Data: raw}
		got, err := Read(t.Context(), files, "studbook.csv", Options{Today: today})
		require.NoError(t, err)
		assert.Equal(t, withoutLines(want), withoutLines(got), "a file of another name is not read")
		for _, base := range []string{"holds", "bonds"} {
			if strings.HasSuffix(name, ".csv") && strings.EqualFold(strings.TrimSpace(strings.TrimSuffix(name, ".csv")), base) {
				assert.Contains(t, got.Unread, Unread{name, base + ".csv"})
			}
		}
		assert.Equal(t, len(got.Unread), len(got.Warnings)-len(want.Warnings), "what is not read is told, once")
	})
}

// withoutLines returns the records of a colony without the lines that they are in.
func withoutLines(c *Colony) []any {
	return []any{c.Settings, unlined(c.Birds), unlined(c.Moves), unlined(c.Bonds), unlined(c.Clutches), unlined(c.Holds),
		unlined(c.Institutions), unlined(c.FounderKinship), unlined(c.Requests), unlined(c.Rulings), c.GenotypeRows()}
}

func unlined[T Record](records []T) []T {
	f := tableOf[T]()
	all := slices.Clone(records)
	for k := range all {
		*f.line(&all[k]) = 0
	}
	return all
}

// comesBack writes a colony and reads it again.
func comesBack(t *testing.T, c *Colony, settings []byte) {
	files := fstest.MapFS{"programme.toml": {Data: settings}}
	put(t, files, "studbook.csv", c.Birds)
	put(t, files, "moves.csv", c.Moves)
	put(t, files, "bonds.csv", c.Bonds)
	put(t, files, "clutches.csv", c.Clutches)
	put(t, files, "holds.csv", c.Holds)
	put(t, files, "institutions.csv", c.Institutions)
	put(t, files, "founder_kinship.csv", c.FounderKinship)
	put(t, files, "requests.csv", c.Requests)
	put(t, files, "decisions.csv", c.Rulings)
	var genotypes bytes.Buffer
	require.NoError(t, c.WriteGenotypes(&genotypes))
	files["genotypes.csv"] = &fstest.MapFile{Data: genotypes.Bytes()}
	if bytes.Contains(settings, []byte("columns")) {
		return // what is written has our own
	}
	back, err := Read(t.Context(), files, "studbook.csv", Options{Today: today})
	if !assert.NoError(t, err, "what was written is read again") {
		return
	}
	assert.Equal(t, withoutLines(c), withoutLines(back))
}

func put[T Record](t *testing.T, files fstest.MapFS, name string, records []T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, records))
	files[name] = &fstest.MapFile{Data: b.Bytes()}
}

// asWorkbook puts the tables of a folder into one workbook of texts. It has none
// where the one file that is not sound is no plain table: its reading as text has
// rules of its own.
func asWorkbook(t *testing.T, files fstest.MapFS, name string) (fstest.MapFS, bool) {
	f := excelize.NewFile()
	defer f.Close()
	for each, file := range files {
		base, ok := strings.CutSuffix(each, ".csv")
		if !ok {
			continue
		}
		plain := utf8.Valid(file.Data) && !bytes.ContainsFunc(file.Data, func(r rune) bool {
			return r != '\n' && unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '#' || r == '"' || r == ';' || r == '\ufffd' || r == '\ufffe' || r == '\uffff'
		})
		rows, err := csv.NewReader(bytes.NewReader(file.Data)).ReadAll()
		if each == name && (!plain || err != nil || len(rows) == 0 || bytes.Contains(file.Data, []byte("\n\n")) || bytes.HasPrefix(file.Data, []byte("\n"))) {
			return nil, false
		}
		_, err = f.NewSheet(base)
		require.NoError(t, err)
		for i, row := range rows {
			require.NoError(t, f.SetSheetRow(base, fmt.Sprintf("A%d", i+1), &row))
		}
	}
	require.NoError(t, f.DeleteSheet("Sheet1"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return fstest.MapFS{"colony.xlsx": {Data: b.Bytes()}, "programme.toml": files["programme.toml"]}, true
}
