package studbook

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// folder makes a colony folder of file names and their contents by turns.
func folder(files ...string) fstest.MapFS {
	fsys := fstest.MapFS{}
	for i := 0; i < len(files); i += 2 {
		fsys[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return fsys
}

func TestReadPlainFolder(t *testing.T) {
	c, err := Read(t.Context(), folder(
		"birds/studbook.csv", "id,name,band,sex,sire,dam,hatch_date,death_date,location,origin,notes\n"+
			"A,Ash,7-12,M,,,2010-05-01,,HOME,wild,\"two\nlines\"\n"+
			"B,,,female,wild,unknown,2011,2020-03-04,HOME,Wild,\n"+
			"C,,,f,A,B,2015-06-07,,AWAY,captive,\n"+
			"D,,,?,A=0.7; X=0.2,B,2016-06-07,,HOME,,\n",
		"birds/moves.csv", "id,date,from,to,reason\nC,2018-01-01,HOME,AWAY,to breed\n",
		"birds/bonds.csv", "female,male,since,until,nest,ended_by\nB,A,2013-01-01,2014,N1,keeper\n",
		"birds/clutches.csv", "female,male,laid,eggs,fertile,hatched,fledged\nB,A,2015-04-30,2,1,1,\n",
		"birds/holds.csv", "id,since,until,reason,blocks,note\nC,2018,,moult,moving,soon over\nC,2019,,old,,\n",
		"birds/institutions.csv", "code,name,country,latitude,longitude,spaces_f,spaces_m,quarantine_days,permit_weeks,closed_months,contact,notes\nHOME,Here,Invented,\"50,25\",-3.5,2,,30,6,6; 12,,\nAWAY,There,,,,,,,,,,\n",
		"birds/founder_kinship.csv", "id1,id2,kinship\nA,X,0.25\n",
		"birds/programme.toml", "home = \"HOME\"\n",
		"moves.csv", "not,of,this,folder\n",
	), "birds/studbook.csv", Options{Today: today})
	require.NoError(t, err)

	assert.Equal(t, "studbook.csv", c.Source)
	assert.Equal(t, []string{"studbook.csv", "moves.csv", "bonds.csv", "clutches.csv", "holds.csv", "institutions.csv", "founder_kinship.csv", "programme.toml"}, c.Files)
	assert.True(t, c.HasLocation)
	assert.True(t, c.HasOrigin)
	require.Len(t, c.Birds, 5)
	assert.Equal(t, Bird{
		ID: "A", Name: "Ash", Band: "7-12", Sex: Male, Hatch: mustDate(t, "2010-05-01"),
		Location: "HOME", Origin: OriginWild, Notes: "two\nlines", Recorded: true, Line: 2,
	}, c.Birds[0])
	assert.Equal(t, Bird{
		ID: "B", Sex: Female, Sire: Parentage{Wild: true}, Hatch: mustDate(t, "2011"), Death: mustDate(t, "2020-03-04"),
		Location: "HOME", Origin: OriginWild, Recorded: true, Line: 4,
	}, c.Birds[1])
	assert.Equal(t, OriginUnstated, c.Birds[3].Origin)
	assert.Equal(t, Unsexed, c.Birds[3].Sex)
	assert.Equal(t, []Candidate{{"A", 0.7}, {"X", 0.2}}, c.Birds[3].Sire.Candidates)
	assert.Equal(t, Bird{ID: "X", Sex: Male}, c.Birds[4], "a parent without a row")

	assert.Equal(t, []Move{{ID: "C", Date: mustDate(t, "2018-01-01"), From: "HOME", To: "AWAY", Reason: "to breed", Line: 2}}, c.Moves)
	assert.Equal(t, []Bond{{Female: "B", Male: "A", Since: mustDate(t, "2013-01-01"), Until: mustDate(t, "2014"), Nest: "N1", EndedBy: "keeper", Line: 2}}, c.Bonds)
	assert.Equal(t, []Clutch{{Female: "B", Male: "A", Laid: mustDate(t, "2015-04-30"), Eggs: 2, Fertile: 1, Hatched: 1, Fledged: -1, Line: 2}}, c.Clutches)
	assert.Equal(t, []Hold{
		{ID: "C", Since: mustDate(t, "2018"), Reason: "moult", Blocks: BlocksMoving, Note: "soon over", Line: 2},
		{ID: "C", Since: mustDate(t, "2019"), Reason: "old", Blocks: BlocksBoth, Line: 3},
	}, c.Holds)
	assert.Equal(t, []Institution{
		{Code: "HOME", Name: "Here", Latitude: 50.25, Longitude: -3.5, HasLatitude: true, HasLongitude: true, SpacesF: 2, SpacesM: -1, QuarantineDays: 30, PermitWeeks: 6, Country: "Invented", ClosedMonths: []time.Month{6, 12}, Line: 2},
		{Code: "AWAY", Name: "There", SpacesF: -1, SpacesM: -1, QuarantineDays: -1, PermitWeeks: -1, Line: 3},
	}, c.Institutions)
	assert.Equal(t, []FounderKinship{{ID1: "A", ID2: "X", Kinship: 0.25, Line: 2}}, c.FounderKinship)
	assert.Equal(t, "HOME", c.Settings.Home)

	require.Len(t, c.Warnings, 1)
	assert.Equal(t, codeParentWithoutRow, c.Warnings[0].Code)
	assert.Equal(t, []string{
		"studbook.csv: the weights of the possible parents of D add up to less than 1; the rest is taken as an unknown parent",
		"2 birds came into the programme on no recorded day (a move with a blank from): counted as living from the hatch, and for survival from the first chick or other record",
	}, c.Notes)
}

// TestNotesInAnyOrder: a note names birds by id, not in the order of their rows.
func TestNotesInAnyOrder(t *testing.T) {
	const head, parents = "id,sex,sire,dam,hatch_date,location,origin\n", "A,M,,,2010,H,\nB,F,,,2010,H,\n"
	c, d := "C,M,A=0.7,B,2013,H,\n", "D,M,A=0.6,B,2013,H,\n"
	for _, rows := range []string{c + d, d + c} {
		colony, err := Read(t.Context(), folder("studbook.csv", head+parents+rows), "studbook.csv", Options{})
		require.NoError(t, err)
		assert.Equal(t, "studbook.csv: the weights of the possible parents of C, D add up to less than 1; the rest is taken as an unknown parent", colony.Notes[0])
	}
}

func mustDate(t testing.TB, s string) Date {
	d, err := ParseDate(s)
	require.NoError(t, err)
	return d
}

func TestReadStudbookAlone(t *testing.T) {
	c, err := Read(t.Context(), folder("mine.csv", "id,sex,sire,dam,hatch_date\nA,M,,,2010\n"), "mine.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, "mine.csv", c.Source)
	assert.Equal(t, []string{"mine.csv"}, c.Files)
	assert.Empty(t, c.Warnings)
	assert.Equal(t, []string{
		"mine.csv has no location column: all birds are taken to live at one place",
		"mine.csv has no origin column: its founders are taken to be wild",
		"1 bird came into the programme on no recorded day and left no other sign of when: counted as living from the hatch, and left out of survival",
	}, c.Notes)
}

func TestReadAbsentFile(t *testing.T) {
	_, err := Read(t.Context(), folder(), "studbook.csv", Options{})
	require.ErrorIs(t, err, fs.ErrNotExist)
	assert.ErrorContains(t, err, "there is no file studbook.csv")
}

func TestReadStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := Read(ctx, folder("studbook.csv", "id,sex,sire,dam,hatch_date\nA,M,,,2010\n"), "studbook.csv", Options{})
	assert.ErrorIs(t, err, context.Canceled)
}

// The bytes are what spreadsheets write: byte order marks and code units as in
// the Unicode Standard, section 23.8; letters as in the code chart of
// Windows-1252.
func TestEncodings(t *testing.T) {
	const text = "id,name,sex,sire,dam,hatch_date\r\nA,Müsli,M,,,2010\r\n"
	wide := func(order binary.AppendByteOrder, mark bool) string {
		var b []byte
		if mark {
			b = order.AppendUint16(b, 0xFEFF)
		}
		for _, u := range utf16.Encode([]rune(text)) {
			b = order.AppendUint16(b, u)
		}
		return string(b)
	}
	tests := []struct{ name, content, note string }{
		{"UTF-8", text, ""},
		{"UTF-8 with a mark", "\xEF\xBB\xBF" + text, ""},
		{"UTF-16 LE", wide(binary.LittleEndian, true), "UTF-16 (little endian)"},
		{"UTF-16 BE", wide(binary.BigEndian, true), "UTF-16 (big endian)"},
		{"UTF-16 LE without a mark", wide(binary.LittleEndian, false), "UTF-16 (little endian, without a byte order mark)"},
		{"UTF-16 BE without a mark", wide(binary.BigEndian, false), "UTF-16 (big endian, without a byte order mark)"},
		{"Latin-1", strings.Replace(text, "ü", "\xFC", 1), "Windows-1252 (Latin-1), because it is not valid UTF-8"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Read(t.Context(), folder("studbook.csv", tt.content), "studbook.csv", Options{})
			require.NoError(t, err)
			require.Len(t, c.Birds, 1)
			assert.Equal(t, "A", c.Birds[0].ID)
			assert.Equal(t, "Müsli", c.Birds[0].Name)
			if tt.note == "" {
				assert.NotContains(t, strings.Join(c.Notes, "\n"), "is read as")
			} else {
				assert.Contains(t, c.Notes, "studbook.csv is read as "+tt.note)
			}
		})
	}
	t.Run("quotation marks of Windows-1252", func(t *testing.T) {
		c, err := Read(t.Context(), folder("studbook.csv", "id,name,sex,sire,dam,hatch_date\nA,\x93Pip\x94,M,,,2010\n"), "studbook.csv", Options{})
		require.NoError(t, err)
		assert.Equal(t, "“Pip”", c.Birds[0].Name)
	})
}

// One letter of Latin-1 among others of UTF-8 costs itself alone.
func TestDamagedUTF8(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "id,name,sex,sire,dam,hatch_date\nA,Müsli,M,,,2010\nB,Gr\xFCn,M,,,2010\nC,Blüte,F,,,2010\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, "Müsli", c.Birds[0].Name)
	assert.Equal(t, "Gr\uFFFDn", c.Birds[1].Name)
	assert.Contains(t, c.Notes, "studbook.csv is read as UTF-8, but some of its characters are damaged")
	require.Len(t, c.Warnings, 1)
	assert.Equal(t, "damaged_character", c.Warnings[0].Code)
	assert.Equal(t, 3, c.Warnings[0].Line)
}

func TestDelimitersAndLineEnds(t *testing.T) {
	tests := []struct{ name, content, note string }{
		{"comma", "id,name,sex,sire,dam,hatch_date\nA,\"one; two\",M,,,2010\n\n# B,,F,,,2010\n", ""},
		{"semicolon", "id;name;sex;sire;dam;hatch_date\nA;\"one; two\";M;;;2010\n", "semicolons"},
		{"semicolon and commas in the header", "id;\"name, or what, it, is, called\";name;sex;sire;dam;hatch_date\nA;;\"one; two\";M;;;2010\n", "semicolons"},
		{"tab", "id\tname\tsex\tsire\tdam\thatch_date\nA\tone; two\tM\t\t\t2010\n", "tabs"},
		{"a line that names the delimiter", "sep=;\r\nid;name;sex;sire;dam;hatch_date\r\nA;\"one; two\";M;;;2010\r\n", "semicolons"},
		{"remarks first", "# from, a, spreadsheet, program, with, commas, in, it\n\nid;name;sex;sire;dam;hatch_date\nA;\"one; two\";M;;;2010\n", "semicolons"},
		{"carriage returns alone", "id,name,sex,sire,dam,hatch_date\rA,one; two,M,,,2010\r", ""},
		{"blank columns and rows of a spreadsheet", "id,name,sex,sire,dam,hatch_date,,\nA,one; two,M,,,2010,,\n,,,,,,,\n", ""},
		{"spaces about cells", " id , name,sex , sire,dam, hatch_date\n A , \"one; two\", M,,,2010 \n", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Read(t.Context(), folder("studbook.csv", tt.content), "studbook.csv", Options{})
			require.NoError(t, err)
			require.Len(t, c.Birds, 1)
			assert.Equal(t, "A", c.Birds[0].ID)
			assert.Equal(t, "one; two", c.Birds[0].Name)
			assert.Equal(t, mustDate(t, "2010"), c.Birds[0].Hatch)
			notes := strings.Join(c.Notes, "\n")
			if tt.note == "" {
				assert.NotContains(t, notes, "between its columns")
			} else {
				assert.Contains(t, notes, "studbook.csv has "+tt.note+" between its columns")
			}
		})
	}
}

func TestHeaderNames(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", "Keeper,HATCH DATE,Death-Date,sire,Dam,SEX,iD,Weight g\nJo,2010,2012,,,F,A,31\n"), "studbook.csv", Options{})
	require.NoError(t, err)
	assert.Equal(t, "A", c.Birds[0].ID)
	assert.Equal(t, mustDate(t, "2012"), c.Birds[0].Death)
	assert.Contains(t, c.Notes, `studbook.csv: columns kept aside: "Keeper", "Weight g"`)
}

func TestColumnMapping(t *testing.T) {
	const rows = "Ring No,Sex,Father,Mother,Born,Sire\nA,M,,,2010,x\nB,F,,,2010,x\nC,M,A,B,2015,x\n"
	t.Run("options over settings", func(t *testing.T) {
		c, err := Read(t.Context(), folder("studbook.csv", rows,
			"programme.toml", "[columns]\nid = \"ring no\"\nsire = \"Mother\"\ndam = \"Mother\"\nhatch_date = \"Born\"\n",
		), "studbook.csv", Options{Columns: map[string]string{"sire": "Father"}})
		require.NoError(t, err)
		sire, _ := c.Birds[2].Sire.Known()
		dam, _ := c.Birds[2].Dam.Known()
		assert.Equal(t, "A", sire, "and not from the column of our own name, which is mapped away")
		assert.Equal(t, "B", dam)
		assert.Contains(t, c.Notes, `studbook.csv: columns kept aside: "Sire"`)
		assert.Empty(t, c.Warnings)
	})
	t.Run("says how", func(t *testing.T) {
		_, err := Read(t.Context(), folder("studbook.csv", rows), "studbook.csv", Options{})
		var faults *Faults
		require.ErrorAs(t, err, &faults)
		assert.Equal(t, `studbook.csv:1: error: id: the column is missing; the file has "Ring No", "Sex", "Father", "Mother", "Born", "Sire" `+
			`(name the column id, or write its name as id = "NAME" under [columns] in programme.toml)`, faults.Findings[0].String())
	})
	t.Run("unknown to us", func(t *testing.T) {
		_, err := Read(t.Context(), folder("studbook.csv", rows), "studbook.csv", Options{Columns: map[string]string{"mother": "Mother"}})
		assert.ErrorContains(t, err, "pairwright has no column of this name to map")
	})
	t.Run("one column twice", func(t *testing.T) {
		_, err := Read(t.Context(), folder("studbook.csv", rows), "studbook.csv", Options{Columns: map[string]string{"sire": "Mother", "dam": "mother"}})
		assert.ErrorContains(t, err, "the same column is mapped to dam too")
	})
}

// A broken line must not take others with it, whatever the marks do.
func TestReadingGoesOnAfterBrokenQuotes(t *testing.T) {
	const header = "id,name,sex,sire,dam,hatch_date\n"
	tests := []struct {
		name, rows string
		broken     []int
		birds      []string
	}{
		{"a mark inside", "A,b\"ad,M,,,\nB,,M,,,\n", []int{2}, []string{"B"}},
		{"text after a closing mark", "A,\"b\"ad,M,,,\nB,,M,,,\n", []int{2}, []string{"B"}},
		{"never closed", "A,\"bad,M,,,\nB,,M,,,\nC,,M,,,\n", []int{2}, []string{"B", "C"}},
		{"never closed, at the end", "A,,M,,,\nB,\"bad,M,,,", []int{3}, []string{"A"}},
		{"closed in a later line", "A,\"bad,M,,,\nB,,M,,,\nC,x\"y,M,,,\nD,,M,,,\n", []int{2, 4}, []string{"B", "D"}},
		{"a cell over two lines, then a broken one", "A,\"two\nlines\",M,,,\nB,\"bad,M,,,\nC,,M,,,\n", []int{4}, []string{"A", "C"}},
		{"all of them", "A,\"bad,M,,,\nB,b\"ad,M,,,\nC,\"bad,M,,,\n", []int{2, 3, 4}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g, _, broken := parseCSV("studbook.csv", header+tt.rows)
			var lines []int
			for _, b := range broken {
				lines = append(lines, b.line)
			}
			var birds []string
			for _, row := range g.all() {
				birds = append(birds, row[0])
			}
			assert.Equal(t, tt.broken, lines)
			assert.Equal(t, tt.birds, birds)
		})
	}
}

// The order of the rows must not change what is read of a bird.
func TestOrderOfRowsChangesNoBird(t *testing.T) {
	text := bigStudbook(500, 7)
	head, body, _ := strings.Cut(text, "\n")
	rows := strings.Split(strings.TrimSpace(body), "\n")
	rows = append(rows, "X1,,,M,Q1,Q2,2011-01-01,,P1,,", "X2,,,M,Q2=0.5; Q3=0.5,Q4,2011-01-01,,P1,,") // parents without rows
	rows[len(rows)-1] = strings.Replace(rows[len(rows)-1], "Q2=0.5", "Q1=0.5", 1)
	read := func() map[string]Bird {
		c, err := Read(t.Context(), folder("studbook.csv", head+"\n"+strings.Join(rows, "\n")), "studbook.csv", Options{})
		require.NoError(t, err)
		birds := make(map[string]Bird)
		for _, b := range c.Birds {
			b.Line = 0
			birds[b.ID] = b
		}
		require.Len(t, birds, 500+2+4)
		return birds
	}
	want := read()
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 5 {
		rnd.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		assert.Equal(t, want, read())
	}
}

func FuzzRead(f *testing.F) {
	const head = "id,name,sex,sire,dam,hatch_date,death_date,location\n"
	f.Add([]byte(head+"A,,M,,,2010,,H\nB,,F,wild,,2011,2019,H\nC,,F,A,B,2015-06,,H\n"), []byte("id,date,from,to\nC,2018,H,J\n"), []byte("home = \"H\"\n"))
	f.Add([]byte(head+"A,,M,B,,2010,,H\nB,,F,A,,2011,2019,H\n"), []byte(""), []byte("[columns]\nsire = \"dam\"\n"))
	f.Add([]byte(head+"A,\"x,M,A=0.4;B=0.7,\x00,3/4/2010,,H\nA,b\"c\n"), []byte("id;date;to\n\xff;;\n"), []byte("goal = 3\n[[limits]]\n"))
	f.Add([]byte("\xff\xfei\x00d\x00,\x00"), []byte("sep=;\n"), []byte("limits.inbreeding = nan\n[goal]\nyears = 1e3"))
	f.Add([]byte("\xEF\xBB\xBFid\tsex\tsire\tdam\thatch_date\n?\tM\t?\tZ; Y\t[2010..2012]\nQ\tU\tQ2=0.5\tA\t201X\n"), []byte("#\n"), []byte("\xff"))
	f.Fuzz(func(t *testing.T, studbook, moves, settings []byte) {
		fsys := folder("studbook.csv", string(studbook), "moves.csv", string(moves), "programme.toml", string(settings))
		c, err := Read(t.Context(), fsys, "studbook.csv", Options{Today: today})
		again, err2 := Read(t.Context(), fsys, "studbook.csv", Options{Today: today})
		assert.Equal(t, findingsOf(t, c, err), findingsOf(t, again, err2), "the same bytes, the same findings")
		if err != nil {
			assert.Contains(t, fmt.Sprint(findingsOf(t, c, err)), "error: ")
			return
		}
		ids := make(map[string]bool)
		for _, b := range c.Birds {
			require.NotEmpty(t, b.ID)
			require.False(t, ids[b.ID], "id %q twice", b.ID)
			ids[b.ID] = true
			require.Contains(t, []Sex{Female, Male, Unsexed}, b.Sex)
			require.Equal(t, b.Recorded, b.Line > 0)
		}
		for _, day := range []Day{1, DayOf(2010, 6, 1), DayOf(2015, 1, 1), today} {
			s := c.At(day)
			for i, b := range s.Birds {
				for _, p := range []Parentage{b.Sire, b.Dam} {
					for _, cand := range p.Candidates {
						require.NotNil(t, s.Bird(cand.ID), "%q without its parent %q", b.ID, cand.ID)
					}
				}
				if i > 0 {
					require.Less(t, s.Birds[i-1].ID, b.ID)
				}
			}
		}
	})
}

// Files that end in the middle of anything give findings, never a panic.
func TestTruncatedFolder(t *testing.T) {
	text := []byte(bigStudbook(12, 3))
	for n := range text {
		c, err := Read(t.Context(), folder("studbook.csv", string(bytes.Clone(text[:n]))), "studbook.csv", Options{})
		findingsOf(t, c, err)
	}
}

// TestCutAsEncodingCSV: texts without quotation marks are cut as encoding/csv cuts
// them, which is the oracle.
func TestCutAsEncodingCSV(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 18))
	for range 5000 {
		text := make([]byte, rnd.IntN(40))
		for k := range text {
			text[k] = "ab,;\t#\r\n  \xa0"[rnd.IntN(11)]
		}
		if !bytes.Contains(text, []byte("\n")) {
			text = append(text, '\n')
		}
		for _, delimiter := range ",;\t" {
			got, want := &grid{text: string(text), delimiter: string(delimiter)}, &grid{}
			got.cut(0, len(text), 3)
			r := csv.NewReader(bytes.NewReader(text))
			r.Comma, r.Comment, r.FieldsPerRecord, r.TrimLeadingSpace = delimiter, '#', -1, delimiter != '\t'
			for {
				cells, err := r.Read()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				line, _ := r.FieldPos(0)
				want.keep(cells, 2+line)
			}
			require.Equal(t, want.header, got.header, "%q", text)
			require.Equal(t, want.headerLine, got.headerLine, "%q", text)
			require.Len(t, got.rows, len(want.rows), "%q", text)
			for k := range want.rows {
				require.Equal(t, want.row(k), got.row(k), "%q", text)
				require.Equal(t, want.rows[k].line, got.rows[k].line, "%q", text)
				require.Equal(t, want.rows[k].width, got.rows[k].width, "%q", text)
				for j, cell := range want.row(k) {
					require.Equal(t, cell, (&table{grid: got}).cell(k, j), "%q", text)
				}
			}
		}
	}
}
