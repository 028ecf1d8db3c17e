package journal

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// now is the day on which the tests write.
func now() time.Time { return time.Date(2026, time.November, 27, 9, 30, 0, 0, time.UTC) }

// colony is a small folder: two pairs, one with a clutch.
var colony = map[string]string{
	"studbook.csv": "id,name,sex,sire,dam,hatch_date,death_date,location,notes,keeper\n" +
		"A01,Ash,M,,,2018-05-01,,HOME,,ann\nA02,Bryony,F,,,2018-05-02,,HOME,,ann\nA03,Cole,M,,,2019-05-01,,HOME,,bob\nA04,Dove,F,,,2019-06-01,,HOME,,\nA05,,F,,,2020-06-01,,HOME,,\n",
	"bonds.csv":      "female,male,since,until,nest,ended_by\nA02,A01,2021-03-01,,7,\nA04,A03,2022-03-01,,8,\n",
	"clutches.csv":   "female,male,laid,eggs,fertile,hatched,fledged\nA02,A01,2026-10-20,2,,,\n",
	"moves.csv":      "id,date,from,to,reason\nA05,2024-01-01,AWAY,HOME,\n",
	"programme.toml": "home = \"HOME\"\ncurrent_to = 2026-11-01 # the last day\n",
}

// write puts files into a new folder and opens it.
func write(t testing.TB, files map[string]string) (*Folder, string) {
	t.Helper()
	dir := memory(t)
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return Open(filepath.Join(dir, "studbook.csv"), Options{Now: now}), dir
}

// memory returns a new folder in memory, where the system has that: the tests
// wait for a disk a thousand times.
func memory(t testing.TB) string {
	dir, err := os.MkdirTemp("/dev/shm", "journal")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(dir)) })
	return dir
}

// read returns the files of a folder by name, without what the journal keeps.
func read(t testing.TB, fsys fs.FS) map[string]string {
	t.Helper()
	files := make(map[string]string)
	list, err := fs.ReadDir(fsys, ".")
	require.NoError(t, err)
	for _, x := range list {
		if x.Name() == Earlier || x.Name() == changes || strings.HasPrefix(x.Name(), ".") {
			continue
		}
		raw, err := fs.ReadFile(fsys, x.Name())
		if errors.Is(err, fs.ErrNotExist) { // of a change that was not finished
			continue
		}
		require.NoError(t, err)
		files[x.Name()] = string(raw)
	}
	return files
}

// event makes an event of its kind and fields in turn.
func event(kind string, values ...string) Event {
	e := Event{Kind: kind, Values: map[string]string{}}
	for k := 0; k < len(values); k += 2 {
		e.Values[values[k]] = values[k+1]
	}
	return e
}

// commit writes an event, which must be possible.
func commit(t testing.TB, f *Folder, e Event) *Proposal {
	t.Helper()
	p, err := f.Commit(t.Context(), e, "")
	require.NoError(t, err)
	require.False(t, p.Refused(), "%v: %v", e, p.Findings)
	return p
}

// rows are the rows of a proposal in short: file, line, before and after.
func rows(p *Proposal) []string {
	var all []string
	for _, x := range p.Edits {
		all = append(all, fmt.Sprintf("%s:%d %s -> %s", x.File, x.Line, x.Before, x.After))
	}
	return all
}

// every is one event of each kind with the rows that it becomes in the colony,
// worked out by hand.
var every = []struct {
	event Event
	rows  []string
}{
	{event("hatch", "dam", "A02", "date", "2026-11-20"), []string{
		"studbook.csv:7  -> A06,,U,A01,A02,2026-11-20,,HOME,,",
		"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,,1,",
		"programme.toml:2 current_to = 2026-11-01 # the last day -> current_to = 2026-11-20 # the last day"}},
	{event("death", "bird", "Dove", "date", "2026-10-05", "note", `thin, "wet"`), []string{
		`studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dove,F,,,2019-06-01,2026-10-05,HOME,"thin, ""wet""",`,
		"bonds.csv:3 A04,A03,2022-03-01,,8, -> A04,A03,2022-03-01,2026-10-05,8,death"}},
	{event("death", "bird", "A05", "date", "unknown"), []string{"studbook.csv:6 A05,,F,,,2020-06-01,,HOME,, -> A05,,F,,,2020-06-01,unknown,HOME,,"}},
	{event("clutch", "female", "A03", "laid", "2026-10-25", "eggs", "2"), []string{"clutches.csv:3  -> A04,A03,2026-10-25,2,,,"}},
	{event("candling", "female", "A02", "fertile", "1"), []string{"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,1,,"}},
	{event("candling", "female", "A02", "fertile", "1", "date", "2026-11-05"), []string{
		"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,1,,",
		"programme.toml:2 current_to = 2026-11-01 # the last day -> current_to = 2026-11-05 # the last day"}},
	{event("replacement", "female", "A01"), []string{"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,,replaced,"}},
	{event("loss", "female", "A01"), []string{"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,,0,"}},
	{event("loss", "female", "A02", "fertile", "1"), []string{"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,1,0,"}},
	{event("fledging", "female", "A02", "fledged", "0"), []string{"clutches.csv:2 A02,A01,2026-10-20,2,,, -> A02,A01,2026-10-20,2,,,0"}},
	{event("parting", "bird", "A03", "date", "2026-10"), []string{"bonds.csv:3 A04,A03,2022-03-01,,8, -> A04,A03,2022-03-01,2026-10,8,parted"}},
	{event("move", "bird", "A04", "to", "AWAY", "date", "2026-10-30"), []string{
		"studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dove,F,,,2019-06-01,,AWAY,,",
		"moves.csv:3  -> A04,2026-10-30,HOME,AWAY,",
		"bonds.csv:3 A04,A03,2022-03-01,,8, -> A04,A03,2022-03-01,2026-10-30,8,moved"}},
	{event("move", "bird", "A04", "mate", "A03", "to", "AWAY", "date", "2026-10-30"), []string{
		"studbook.csv:4 A03,Cole,M,,,2019-05-01,,HOME,,bob -> A03,Cole,M,,,2019-05-01,,AWAY,,bob",
		"studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dove,F,,,2019-06-01,,AWAY,,",
		"moves.csv:3  -> A04,2026-10-30,HOME,AWAY,", "moves.csv:4  -> A03,2026-10-30,HOME,AWAY,"}},
	{event("arrival", "date", "2026-10-30", "sex", "m", "name", "Elm"), []string{
		"studbook.csv:7  -> A06,Elm,M,,,,,HOME,,", "moves.csv:3  -> A06,2026-10-30,,HOME,"}},
	{event("departure", "bird", "A05", "date", "2026-10-30", "reason", "sold"), []string{
		"studbook.csv:6 A05,,F,,,2020-06-01,,HOME,, -> A05,,F,,,2020-06-01,,,,", "moves.csv:3  -> A05,2026-10-30,HOME,,sold"}},
	{event("hold", "bird", "A01", "reason", "lame", "since", "2026-10-30", "blocks", "Moving"), []string{"holds.csv:2  -> A01,2026-10-30,,lame,moving,"}},
	{event("sex", "bird", "A04", "sex", "U"), []string{"studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dove,U,,,2019-06-01,,HOME,,"}},
	{event("kinship", "bird", "Ash", "other", "A02", "kinship", "0.125"), []string{"founder_kinship.csv:2  -> A01,A02,0.125"}},
	{event("request", "bird", "Dove", "to", "AWAY", "partner", "A03", "date", "2026-10-30"), []string{"requests.csv:2  -> A04,AWAY,A03,,2026-10-30,"}},
	{event("decision", "bird", "A04", "decision", "Agreed", "to", "AWAY", "partner", "Cole", "date", "2026-10-30"), []string{"decisions.csv:2  -> 2026-10-30,move,A04; A03,AWAY,agreed,,,"}},
	{event("decision", "bird", "A01", "decision", "declined", "what", "part", "partner", "A02", "date", "2026-10-30"), []string{"decisions.csv:2  -> 2026-10-30,part,A01; A02,,declined,,,"}},
	{event("correction", "bird", "A04", "name", "Dovey", "hatch_date", "2019-06"), []string{"studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dovey,F,,,2019-06,,HOME,,"}},
	{event("correction", "bird", "Cole", "name", "-", "notes", "lame, left"), []string{`studbook.csv:4 A03,Cole,M,,,2019-05-01,,HOME,,bob -> A03,,M,,,2019-05-01,,HOME,"lame, left",bob`}},
	{event("parent", "bird", "A05", "sire", "Ash", "dam", "A02=0.5; A04=0.5"), []string{"studbook.csv:6 A05,,F,,,2020-06-01,,HOME,, -> A05,,F,A01,A02=0.5; A04=0.5,2020-06-01,,HOME,,"}},
}

// TestEveryKind: the rows are those that a person would write by hand, the
// folder read afterwards is that folder, and undo gives every byte back.
func TestEveryKind(t *testing.T) {
	seen := map[string]bool{"release": true, "band": true, "bond": true} // below
	for _, x := range every {
		seen[x.event.Kind] = true
		f, dir := write(t, colony)
		p, err := f.Draft(t.Context(), x.event)
		require.NoError(t, err)
		require.False(t, p.Refused(), "%v: %v", x.event, p.Findings)
		assert.Equal(t, x.rows, rows(p), x.event)
		assert.Equal(t, colony, read(t, os.DirFS(dir)), "a draft writes nothing")
		_, err = os.Stat(filepath.Join(dir, Earlier))
		assert.ErrorIs(t, err, fs.ErrNotExist)

		done, err := f.Commit(t.Context(), x.event, p.Seal)
		require.NoError(t, err)
		assert.Equal(t, 1, done.Number)
		assert.Equal(t, p.Edits, done.Edits)
		assert.Equal(t, byHand(t, colony, x.rows), read(t, os.DirFS(dir)), x.event)

		back := commit(t, f, Event{Kind: Undo})
		assert.Equal(t, colony, read(t, os.DirFS(dir)), x.event)
		assert.Len(t, back.Edits, len(x.rows))
	}
	for _, k := range Kinds {
		assert.True(t, seen[k.Name], "%s is not tried", k.Name)
	}
}

// byHand writes rows into files as a person with an editor would.
func byHand(t *testing.T, files map[string]string, rows []string) map[string]string {
	out := make(map[string]string)
	for name, text := range files {
		out[name] = text
	}
	for _, row := range rows {
		at, row, _ := strings.Cut(row, " ")
		name, _, _ := strings.Cut(at, ":")
		before, after, ok := strings.Cut(row, "-> ")
		require.True(t, ok)
		before = strings.TrimSuffix(before, " ")
		if out[name] == "" {
			out[name] = map[string]string{ // of files that are new
				"holds.csv": "id,since,until,reason,blocks,note\n", "requests.csv": "bird,to,partner,asked_by,date,notes\n", "founder_kinship.csv": "id1,id2,kinship\n", "decisions.csv": "date,what,birds,to,decision,by,until,reason\n",
			}[name]
		}
		if before == "" {
			out[name] += after + "\n"
			continue
		}
		require.Equal(t, 1, strings.Count(out[name], before+"\n"))
		out[name] = strings.Replace(out[name], before+"\n", after+"\n", 1)
	}
	return out
}

// TestSeveral: one after the other, then taken back one after the other.
func TestSeveral(t *testing.T) {
	f, dir := write(t, colony)
	states := []map[string]string{read(t, os.DirFS(dir))}
	for _, e := range []Event{
		event("hold", "bird", "A05", "reason", "lame"), event("release", "bird", "A05"),
		event("parting", "bird", "A01"), event("bond", "female", "A01", "male", "A05", "nest", "9"),
		event("hatch", "dam", "A02", "sire", "unknown", "date", "yesterday"), event("death", "bird", "A06"),
	} {
		commit(t, f, e)
		states = append(states, read(t, os.DirFS(dir)))
	}
	assert.Contains(t, states[4]["bonds.csv"], "\nA05,A01,2026-11-27,,9,\n", "female first, whoever was named first")
	for k := len(states) - 2; k >= 0; k-- {
		p := commit(t, f, Event{Kind: Undo})
		assert.Equal(t, k+1, p.Undoes.Number)
		assert.Equal(t, states[k], read(t, os.DirFS(dir)))
	}
	p, err := f.Commit(t.Context(), Event{Kind: Undo}, "")
	require.NoError(t, err)
	assert.True(t, p.Refused(), "nothing is left to take back")

	raw, err := os.ReadFile(filepath.Join(dir, changes))
	require.NoError(t, err)
	lines, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"1", "2026-11-27 09:30:00 +0000", "hold A05 lame", "holds.csv", "", "A05,2026-11-27,,lame,,"}, lines[1])
	last := lines[len(lines)-1]
	assert.Equal(t, []string{"12", "undo of 1, hold A05 lame", "current_to = 2026-11-01 # the last day"}, []string{last[0], last[2], last[5]})
	all, err := f.Changes()
	require.NoError(t, err)
	assert.Len(t, all, 12)
	assert.True(t, all[11].Undone)
	assert.False(t, all[0].Undone)
}

// TestReplacedEggs: eggs that were replaced are so once, none of them hatches, and those
// of which one hatched were not.
func TestReplacedEggs(t *testing.T) {
	f, _ := write(t, colony)
	commit(t, f, event("replacement", "female", "A02"))
	for _, refused := range []Event{event("replacement", "female", "A02"), event("replacement", "female", "A05")} {
		p, err := f.Draft(t.Context(), refused)
		require.NoError(t, err)
		assert.True(t, p.Refused(), refused)
	}
	p, err := f.Draft(t.Context(), event("hatch", "dam", "A02", "date", "2026-11-20", "sire", "A01"))
	require.NoError(t, err)
	require.NotEmpty(t, p.Findings)
	assert.Equal(t, codeNoClutch, p.Findings[0].Code, "a chick came of no clutch on record")
	f, _ = write(t, colony)
	commit(t, f, event("hatch", "dam", "A02", "date", "2026-11-20"))
	p, err = f.Draft(t.Context(), event("replacement", "female", "A02"))
	require.NoError(t, err)
	assert.True(t, p.Refused())
}

// TestToldInAnyCase: ids, names and codes are found in capitals and small letters, an id
// before a name, and nothing where two birds are meant.
func TestToldInAnyCase(t *testing.T) {
	f, _ := write(t, colony)
	told := event("move", "bird", "a04", "to", "away", "date", "2026-11-20")
	p, err := f.Draft(t.Context(), told)
	require.NoError(t, err)
	assert.Equal(t, []string{
		"studbook.csv:5 A04,Dove,F,,,2019-06-01,,HOME,, -> A04,Dove,F,,,2019-06-01,,away,,",
		"moves.csv:3  -> A04,2026-11-20,HOME,away,",
		"bonds.csv:3 A04,A03,2022-03-01,,8, -> A04,A03,2022-03-01,2026-11-20,8,moved",
		"programme.toml:2 current_to = 2026-11-01 # the last day -> current_to = 2026-11-20 # the last day"}, rows(p), "no bird lives at AWAY, so its code is not known")
	assert.Equal(t, []Named{{"bird", "A04", "Dove", "F", "2019-06-01", "HOME", "A03"}}, p.About)
	assert.Equal(t, [][2]string{{"A04", "A03"}}, p.Ended)
	assert.Equal(t, "A04", p.Event.Values["bird"])
	assert.Equal(t, "a04", told.Values["bird"], "what was told stays as it is")

	p, err = f.Draft(t.Context(), event("move", "bird", "dove", "to", "home", "date", "2026-11-20"))
	require.NoError(t, err)
	require.True(t, p.Refused())
	assert.Contains(t, p.Findings[0].Message, "is there already")

	twice := maps.Clone(colony)
	twice["studbook.csv"] += "a06,a05,F,,,2020-06-01,,HOME,,\na07,,M,,,2020-06-01,,HOME,,\nA07,,F,,,2020-06-01,,HOME,,\n"
	f, _ = write(t, twice)
	for who, want := range map[string]string{"a05": "A05", "a07": "a07", "A07": "A07", "A06": "a06", "DOVE": "A04"} {
		p, err := f.Draft(t.Context(), event("hold", "bird", who, "reason", "limp"))
		require.NoError(t, err)
		require.Len(t, p.About, 1, who)
		assert.Equal(t, want, p.About[0].ID, who)
	}
	twice["studbook.csv"] = strings.Replace(twice["studbook.csv"], "a06,a05", "a06,ASH", 1)
	f, _ = write(t, twice)
	p, err = f.Draft(t.Context(), event("hold", "bird", "ash", "reason", "limp"))
	require.NoError(t, err)
	assert.True(t, p.Refused(), "two birds have the name")
}

// TestDoubtfulClutches: a second clutch within days of the first, and candling of one that
// cannot lie there any more, are told of and may be written.
func TestDoubtfulClutches(t *testing.T) {
	f, _ := write(t, colony)
	codes := func(e Event) (codes []string) {
		p, err := f.Draft(t.Context(), e)
		require.NoError(t, err)
		assert.False(t, p.Refused())
		for _, x := range p.Findings {
			codes = append(codes, x.Code)
		}
		return codes
	}
	assert.Equal(t, []string{"clutches_close"}, codes(event("clutch", "female", "A02", "laid", "2026-10-23")))
	assert.Empty(t, codes(event("clutch", "female", "A02", "laid", "2026-11-20")))
	assert.Empty(t, codes(event("candling", "female", "A02", "fertile", "1")))
	assert.Contains(t, codes(event("fledging", "female", "A02", "fledged", "0")), codeNoneHatched)
	assert.NotContains(t, codes(event("fledging", "female", "A02", "fledged", "1")), codeNoneHatched)
	assert.NotContains(t, codes(event("loss", "female", "A02")), codeNoneHatched)
	commit(t, f, event("hatch", "dam", "A02", "date", "2026-11-20"))
	assert.Equal(t, []string{codeLongAgo}, codes(event("candling", "female", "A02", "fertile", "1")))
	assert.Empty(t, codes(event("candling", "female", "A02", "fertile", "1", "laid", "2026-10-20")), "it is meant")
}

// TestRefused: what would make an error is told and not written.
func TestRefused(t *testing.T) {
	for _, x := range []struct {
		want  string
		event Event
	}{
		{"unknown_id bird", event("death", "bird", "A99")},
		{"not_told dam", event("hatch")},
		{"not_told sire", event("hatch", "dam", "A05")},
		{"not_yet date", event("death", "bird", "A01", "date", "2026-11-28")},
		{"bad_value date", event("death", "bird", "A01", "date", "27/11/2026")},
		{"bad_value fertile", event("candling", "female", "A02", "fertile", "one")},
		{"bad_value sex", event("sex", "bird", "A01", "sex", "cock")},
		{"on_record female", event("bond", "female", "A05", "male", "A01")},
		{"on_record laid", event("clutch", "female", "A02", "laid", "2026-10-20")},
		{"on_record to", event("move", "bird", "A01", "to", "HOME")},
		{"not_on_record bird", event("release", "bird", "A01")},
		{"not_on_record female", event("candling", "female", "A05", "fertile", "1")},
		{"nothing_new ", event("sex", "bird", "A01", "sex", "M")},
		{"bad_number kinship", event("kinship", "bird", "A01", "other", "A02", "kinship", "half")},
		{"unknown_id other", event("kinship", "bird", "A01", "other", "A09", "kinship", "0")},
		{"not_told name", event("correction", "bird", "A01")},
		{"not_told to", event("decision", "bird", "A01", "decision", "agreed")},
		{"not_told partner", event("decision", "bird", "A01", "decision", "agreed", "what", "bond")},
		{"bad_value decision", event("decision", "bird", "A01", "decision", "perhaps", "to", "AWAY")},
		{"bad_value hatch_date", event("correction", "bird", "A01", "hatch_date", "last week")},
		{"not_writable ", event("band", "bird", "A01", "band", "1")}, // the file has no such column
		{"cycle sire", event("parent", "bird", "A01", "sire", "A01")},
		{"parent_hatched_after_chick dam", event("parent", "bird", "A01", "dam", "A05")},
		{"duplicate_id id", event("hatch", "dam", "A02", "id", "A01")},
		{"death_before_hatch death_date", event("death", "bird", "A01", "date", "2017")},
		{"bad_value dam", event("hatch", "dam", "A01", "sire", "A03")},
		{"not_told male", event("clutch", "female", "A05")},
		{"unknown_id male", event("clutch", "female", "A05", "male", "A99")},
		{"unknown_id female", event("clutch", "female", "A99")},
		{"not_on_record bird", event("parting", "bird", "A05")},
		{"on_record id", event("arrival", "id", "A01")},
		{"not_told sire", event("parent", "bird", "A01")},
		{"not_told laid", event("clutch", "female", "A02", "laid", "unknown")},
		{"unknown_id partner", event("request", "bird", "A01", "to", "AWAY", "partner", "A99")},
		{"bad_value sire", event("parent", "bird", "A01", "sire", "A03=x; A04")},
	} {
		f, dir := write(t, colony)
		p, err := f.Commit(t.Context(), x.event, "")
		require.NoError(t, err)
		require.True(t, p.Refused(), x.event)
		assert.Zero(t, p.Number)
		var got []string
		for _, found := range p.Findings {
			if found.Severity == studbook.Error {
				got = append(got, found.Code+" "+found.Column)
			}
		}
		assert.Contains(t, got, x.want)
		assert.Equal(t, colony, read(t, os.DirFS(dir)))
	}
	// A move whose beginning nobody knows would say that the bird came from outside.
	for _, head := range []string{"id,sex,location\nA01,M,\nA02,F,HOME\n", "id,sex\nA01,M\nA02,F\n"} {
		f, _ := write(t, map[string]string{"studbook.csv": head})
		p, err := f.Draft(t.Context(), event("move", "bird", "A01", "to", "AWAY"))
		require.NoError(t, err)
		require.True(t, p.Refused())
		assert.Equal(t, "not_told", p.Findings[0].Code)
	}
	// Nothing says which institution is one's own, or where the bird that leaves has been.
	f, _ := write(t, map[string]string{"studbook.csv": "id,sex,location\nA01,M,\nA02,F,HOME\nA03,F,AWAY\n"})
	for want, e := range map[string]Event{"not_told to": event("arrival", "id", "A04"), "not_told bird": event("departure", "bird", "A01")} {
		p, err := f.Draft(t.Context(), e)
		require.NoError(t, err)
		require.True(t, p.Refused())
		assert.Equal(t, want, p.Findings[0].Code+" "+p.Findings[0].Column)
	}
	f, _ = write(t, map[string]string{"studbook.csv": "id,sex,location\nA01,M,\nA02,F,HOME\n"})
	assert.Equal(t, []string{"moves.csv:2  -> A01,2026-11-27,HOME,,"}, rows(commit(t, f, event("departure", "bird", "A01"))), "the one place that there is")
	f, _ = write(t, colony)
	commit(t, f, event("departure", "bird", "A05", "date", "2026-10-01"))
	p, err := f.Draft(t.Context(), event("bond", "female", "A05", "male", "A01"))
	require.NoError(t, err)
	require.NotEmpty(t, p.Findings)
	assert.Equal(t, "not_living", p.Findings[0].Code, "it left")
	commit(t, f, event("death", "bird", "A05", "date", "2026-11-01"))
	p, err = f.Draft(t.Context(), event("death", "bird", "A05"))
	require.NoError(t, err)
	require.NotEmpty(t, p.Findings)
	assert.Equal(t, "not_living", p.Findings[0].Code, "nobody dies twice")
	commit(t, f, event("arrival", "id", "Ash", "date", "2026-10-01")) // an id of its own, though it is the name of another
	_, err = f.Draft(t.Context(), event("party"))
	assert.ErrorContains(t, err, "party")
	_, err = f.Draft(t.Context(), event("sex", "colour", "red"))
	assert.ErrorContains(t, err, "colour")
}

// TestFaultyFolder: errors that are there already keep nobody from writing, new
// ones do.
func TestFaultyFolder(t *testing.T) {
	unknown := maps.Clone(colony)
	unknown["bonds.csv"] += "A05,A77,2023-03-01,,,\n" // of whom there is no row
	for want, e := range map[string]Event{
		"":              event("sex", "bird", "A05", "sex", "U"),
		"not_told male": event("clutch", "female", "A05"),
		"not_told sire": event("hatch", "dam", "A05", "date", "2026-11-20"),
	} {
		f, _ := write(t, unknown)
		p, err := f.Draft(t.Context(), e)
		require.NoError(t, err)
		var got string
		if p.Refused() {
			got = p.Findings[0].Code + " " + p.Findings[0].Column
		}
		assert.Equal(t, want, got, e)
	}
	files := maps.Clone(colony)
	files["studbook.csv"] += "A01,twice,M,,,2020,,HOME,,\n"
	f, _ := write(t, files)
	f.opt.Check = func(context.Context, *studbook.Colony) ([]studbook.Finding, error) {
		panic("there is no colony to be checked further")
	}
	p := commit(t, f, event("sex", "bird", "A05", "sex", "U"))
	assert.Empty(t, p.Findings)
	p, err := f.Draft(t.Context(), event("arrival", "id", "A 7;", "date", "2026-10-01"))
	require.NoError(t, err)
	require.Len(t, p.Findings, 1)
	assert.Equal(t, "bad_id", p.Findings[0].Code)
}

// TestOldFindingsAreNoNews: that a bird is too old to be alive was found before, and is told
// again with its age of the later day by check alone; of a bird that becomes so it is told.
func TestOldFindingsAreNoNews(t *testing.T) {
	files := maps.Clone(colony)
	files["programme.toml"] += "oldest_age = 8.5\n"
	f, _ := write(t, files)
	assert.Empty(t, commit(t, f, event("clutch", "female", "A04", "laid", "2026-11-05", "male", "A03")).Findings)
	files["programme.toml"] = strings.Replace(colony["programme.toml"], "2026-11-01", "2026-10-28", 1) + "oldest_age = 8.5\n"
	f, _ = write(t, files)
	p := commit(t, f, event("clutch", "female", "A04", "laid", "2026-11-05", "male", "A03"))
	require.Len(t, p.Findings, 2, "both of May 2018 come to that age on the way")
	assert.Equal(t, "older_than_record", p.Findings[0].Code)
}

// TestChangedMeanwhile: what was shown is written, or nothing.
func TestChangedMeanwhile(t *testing.T) {
	f, dir := write(t, colony)
	e := event("sex", "bird", "A05", "sex", "U")
	p, err := f.Draft(t.Context(), e)
	require.NoError(t, err)
	name := filepath.Join(dir, "studbook.csv")
	edited := strings.Replace(colony["studbook.csv"], "A05,,F", "A05,Eve,F", 1)
	require.NoError(t, os.WriteFile(name, []byte(edited), 0o644))
	again, err := f.Commit(t.Context(), e, p.Seal)
	assert.ErrorIs(t, err, ErrChanged)
	assert.Equal(t, edited, read(t, os.DirFS(dir))["studbook.csv"])
	_, err = f.Commit(t.Context(), e, again.Seal)
	require.NoError(t, err)
	assert.Contains(t, read(t, os.DirFS(dir))["studbook.csv"], "A05,Eve,U,")

	// A spreadsheet that saves after the last look, between two files.
	raced := false
	f.opt.Disk.Before = func(step, at string) error {
		if strings.HasSuffix(at, "0002-studbook.csv") && step == "rename" {
			raced = true
			return os.WriteFile(name, []byte(edited), 0o644)
		}
		return nil
	}
	_, err = f.Commit(t.Context(), event("death", "bird", "A04"), "")
	assert.ErrorIs(t, err, ErrChanged)
	assert.True(t, raced)
	f.opt.Disk.Before = nil
	files := read(t, os.DirFS(dir))
	assert.Equal(t, edited, files["studbook.csv"])
	assert.Equal(t, colony["bonds.csv"], files["bonds.csv"], "and nothing else was written")
}

// TestUndoAfterEditing: rows that are still there are put back, what a person
// wrote meanwhile stays; a row that is gone is told.
func TestUndoAfterEditing(t *testing.T) {
	f, dir := write(t, colony)
	commit(t, f, event("death", "bird", "A04", "date", "2026-10-05"))
	edit := func(name, from, to string) {
		raw, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.Contains(t, string(raw), from)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(strings.Replace(string(raw), from, to, 1)), 0o644))
	}
	edit("studbook.csv", "A05,,F", "A05,Eve,F")
	commit(t, f, Event{Kind: Undo})
	files := read(t, os.DirFS(dir))
	assert.Equal(t, strings.Replace(colony["studbook.csv"], "A05,,F", "A05,Eve,F", 1), files["studbook.csv"])
	assert.Equal(t, colony["bonds.csv"], files["bonds.csv"])

	commit(t, f, event("hatch", "dam", "A02", "date", "2026-10-31"))
	edit("clutches.csv", "2,,1,", "2,2,1,")
	before := read(t, os.DirFS(dir))
	p, err := f.Commit(t.Context(), Event{Kind: Undo}, "")
	require.NoError(t, err)
	require.Len(t, p.Findings, 1)
	assert.Equal(t, codeChangedHand, p.Findings[0].Code)
	assert.Equal(t, before, read(t, os.DirFS(dir)), "then nothing is taken back")
	edit("clutches.csv", "2,2,1,", "2,,1,")
	edit("studbook.csv", "A01,Ash,", "A01,Ashe,")
	commit(t, f, Event{Kind: Undo})
	assert.NotContains(t, read(t, os.DirFS(dir))["studbook.csv"], "A06", "a new row is taken out")
}

var errKilled = errors.New("killed")

// TestKilledAtEveryStep ends a change before each step that touches the disk.
// One who reads the folder then, and one who writes to it next, find it as it
// was or as it was to be, whole.
func TestKilledAtEveryStep(t *testing.T) {
	for _, e := range []Event{event("hatch", "dam", "A02", "date", "2026-11-20"), {Kind: Undo}, event("hold", "bird", "A01", "reason", "lame")} {
		start := func() (*Folder, string) {
			f, dir := write(t, colony)
			if e.Kind == Undo {
				commit(t, f, event("move", "bird", "A04", "to", "AWAY", "date", "2026-10-30"))
			}
			return f, dir
		}
		f, dir := start()
		before := read(t, os.DirFS(dir))
		commit(t, f, e)
		after := read(t, os.DirFS(dir))
		ends := map[bool]int{}
		for n := 0; ; n++ {
			f, dir := start()
			steps := 0
			f.opt.Disk.Before = func(string, string) error {
				if steps++; steps > n {
					return errKilled
				}
				return nil
			}
			_, err := f.Commit(t.Context(), e, "")
			done := err == nil
			if !done {
				require.ErrorIs(t, err, errKilled)
			}
			seen := read(t, View(os.DirFS(dir)))
			if !assert.True(t, equal(seen, before) || equal(seen, after), "killed at step %d, a reader sees %v", n, seen) {
				return
			}
			f = Open(filepath.Join(dir, "studbook.csv"), Options{Now: now})
			unlock, err := f.begin(t.Context())
			require.NoError(t, err, "the lock of the killed is gone")
			require.NoError(t, unlock())
			files := read(t, os.DirFS(dir))
			assert.Equal(t, seen, files, "killed at step %d", n)
			list, err := os.ReadDir(dir)
			require.NoError(t, err)
			for _, x := range list {
				assert.False(t, strings.HasPrefix(x.Name(), "."), "killed at step %d, %s stays behind", n, x.Name())
			}
			ends[equal(files, after)]++
			if !equal(files, after) {
				commit(t, f, e)
				assert.Equal(t, after, read(t, os.DirFS(dir)), "and it can be written again")
			}
			if done {
				break
			}
		}
		assert.Greater(t, ends[false], 10)
		assert.Greater(t, ends[true], 1, "also after the last file and before it is declared done")
	}
}

func equal(a, b map[string]string) bool { return fmt.Sprint(a) == fmt.Sprint(b) }

// TestFullDisk: an error that is no kill is cleaned up at once.
func TestFullDisk(t *testing.T) {
	f, dir := write(t, colony)
	full := errors.New("no space left")
	f.opt.Disk.Before = func(step, name string) error {
		if step == "write" && strings.Contains(filepath.Base(name), ".clutches.csv.") {
			return full
		}
		return nil
	}
	_, err := f.Commit(t.Context(), event("hatch", "dam", "A02", "date", "2026-11-20"), "")
	require.ErrorIs(t, err, full)
	assert.Equal(t, colony, read(t, os.DirFS(dir)))
	assert.NoFileExists(t, filepath.Join(dir, Earlier, pending))
}

// TestKilledProcess kills a real process in the middle of writing.
func TestKilledProcess(t *testing.T) {
	if at := os.Getenv("JOURNAL_KILL_AT"); at != "" {
		n, err := strconv.Atoi(at)
		require.NoError(t, err)
		f := Open(os.Getenv("JOURNAL_FILE"), Options{Now: now, Disk: disk.Disk{Before: func(string, string) error {
			if n--; n < 0 {
				p, err := os.FindProcess(os.Getpid())
				if err == nil {
					err = p.Kill()
				}
				time.Sleep(time.Minute)
				return err
			}
			return nil
		}}})
		_, err = f.Commit(t.Context(), event("hatch", "dam", "A02", "date", "2026-11-20"), "")
		require.NoError(t, err)
		return
	}
	for _, at := range []int{3, 26, 30, 34} {
		f, dir := write(t, colony)
		cmd := exec.Command(os.Args[0], "-test.run", "^TestKilledProcess$")
		cmd.Env = append(os.Environ(), "JOURNAL_KILL_AT="+strconv.Itoa(at), "JOURNAL_FILE="+filepath.Join(dir, "studbook.csv"))
		assert.Error(t, cmd.Run(), "it is killed")
		assert.Equal(t, colony, read(t, View(os.DirFS(dir))))
		commit(t, f, event("sex", "bird", "A05", "sex", "U"))
		files := read(t, os.DirFS(dir))
		assert.Equal(t, strings.Replace(colony["studbook.csv"], "A05,,F", "A05,,U", 1), files["studbook.csv"])
		assert.Equal(t, colony["clutches.csv"], files["clutches.csv"])
	}
}

// TestWritersTogether: many write at once, nothing is lost.
func TestWritersTogether(t *testing.T) {
	_, dir := write(t, colony)
	const writers, each = 4, 3
	var all sync.WaitGroup
	for range writers {
		all.Go(func() {
			f := Open(filepath.Join(dir, "studbook.csv"), Options{Now: now, Wait: time.Minute})
			for range each {
				p, err := f.Commit(context.Background(), event("arrival", "date", "2026-10-01"), "")
				assert.NoError(t, err)
				assert.False(t, p.Refused())
			}
		})
	}
	readers := make(chan struct{})
	var reader sync.WaitGroup
	reader.Go(func() {
		for {
			select {
			case <-readers:
				return
			default:
			}
			err := Whole(os.DirFS(dir), func(fsys fs.FS) error {
				c, err := studbook.Read(context.Background(), fsys, "studbook.csv", studbook.Options{})
				if err == nil && len(c.Moves)-1 != len(c.Birds)-5 {
					err = fmt.Errorf("%d moves of %d birds", len(c.Moves), len(c.Birds))
				}
				return err
			})
			if !assert.NoError(t, err, "a reader sees whole changes alone") {
				return
			}
		}
	})
	all.Wait()
	close(readers)
	reader.Wait()
	c, err := studbook.Read(t.Context(), os.DirFS(dir), "studbook.csv", studbook.Options{})
	require.NoError(t, err)
	assert.Len(t, c.Birds, 5+writers*each)
	assert.Equal(t, "A17", c.Birds[len(c.Birds)-1].ID)

	unlock, err := disk.Lock(t.Context(), filepath.Join(dir, Earlier, lockFile), 0)
	require.NoError(t, err)
	f := Open(filepath.Join(dir, "studbook.csv"), Options{Now: now, Wait: time.Millisecond})
	_, err = f.Commit(t.Context(), event("arrival"), "")
	assert.ErrorIs(t, err, ErrBusy)
	require.NoError(t, unlock())
}

// TestForgetting: the last changes are kept, not all.
func TestForgetting(t *testing.T) {
	f, dir := write(t, colony)
	for n := range kept + 3 {
		commit(t, f, event("sex", "bird", "A05", "sex", []string{"U", "F"}[n%2]))
	}
	all, err := f.Changes()
	require.NoError(t, err)
	assert.Len(t, all, kept)
	list, err := filepath.Glob(filepath.Join(dir, Earlier, "0003*"))
	require.NoError(t, err)
	assert.Empty(t, list)
	list, err = filepath.Glob(filepath.Join(dir, Earlier, "0004*"))
	require.NoError(t, err)
	assert.Len(t, list, 3, "the account, the studbook, changes.csv")
}

// TestNextID: in the studbook's own scheme, whatever that is.
func TestNextID(t *testing.T) {
	for _, x := range []struct{ ids, want string }{
		{"C0001 C0002 C0841", "C0842"},
		{"1 2 3 9", "10"},
		{"A7 A99 A100", "A101"},
		{"2025-001:2025 2025-002:2025 2026-001:2026", "2026-002"},
		{"2025-01:2025 2025-02:2025", "2026-01"},
		{"25/07:2025 25/08:2025", "26/01"},
		{"X1 X2 Y7 Y8 Y9", "Y10"},
		{"B-17a B-18a", ""},
		{"Ash Bryony", ""},
	} {
		text := "id,sex,sire,dam,hatch_date\n"
		for id := range strings.FieldsSeq(x.ids) {
			id, year, _ := strings.Cut(id, ":")
			text += id + ",U,,," + year + "\n"
		}
		f, _ := write(t, map[string]string{"studbook.csv": text})
		p, err := f.Draft(t.Context(), event("arrival", "to", "HOME"))
		require.NoError(t, err)
		if x.want == "" {
			assert.True(t, p.Refused(), x.ids)
			continue
		}
		require.False(t, p.Refused(), "%s: %v", x.ids, p.Findings)
		assert.True(t, strings.HasPrefix(p.Edits[0].After, x.want+","), "%s: %s", x.ids, p.Edits[0].After)
	}
}

// TestReplace: files that are written whole are one change too, with its rows
// told and all of it taken back.
func TestRowsChanged(t *testing.T) {
	was, is := "id,notes\r\nA,\"of\r\ntwo lines\"\r\nB,\r\nC,gone\r\n", "id,notes\nA,\"of\r\nthree\nlines\"\nB,\nD,it is 2\" long\n"
	assert.Equal(t, []studbook.Edit{
		{File: "studbook.csv", Line: 2, Before: "A,\"of\r\ntwo lines\"", After: "A,\"of\r\nthree\nlines\""},
		{File: "studbook.csv", Line: 6, After: "D,it is 2\" long"},
		{File: "studbook.csv", Before: "C,gone"},
	}, rowsChanged("studbook.csv", was, is))
}

func TestReplace(t *testing.T) {
	f, dir := write(t, colony)
	next := map[string][]byte{
		"studbook.csv": []byte(strings.Replace(colony["studbook.csv"], "A02,Bryony", "A02,Briony", 1) + "A06,,U,,,2026,,HOME,,\n"),
		"moves.csv":    []byte("id,date,from,to,reason\n"),
		"mapping.toml": []byte("# new\n"),
		"bonds.csv":    []byte(colony["bonds.csv"]),
	}
	change := func(fs.FS) (map[string][]byte, error) { return next, nil }
	e := Event{Kind: Import, Values: map[string]string{"file": "new.csv"}}
	n, err := f.Replace(t.Context(), e, change)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	files := read(t, os.DirFS(dir))
	for name, content := range next {
		assert.Equal(t, string(content), files[name])
	}
	all, err := f.Changes()
	require.NoError(t, err)
	assert.Equal(t, []string{
		"moves.csv:0 A05,2024-01-01,AWAY,HOME, -> ",
		"studbook.csv:3 A02,Bryony,F,,,2018-05-02,,HOME,,ann -> A02,Briony,F,,,2018-05-02,,HOME,,ann",
		"studbook.csv:7  -> A06,,U,,,2026,,HOME,,",
	}, rows(&Proposal{Edits: all[0].Edits}))
	n, err = f.Replace(t.Context(), e, change)
	require.NoError(t, err)
	assert.Zero(t, n, "nothing differs")

	edited := []byte("# mine\n")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mapping.toml"), edited, 0o644))
	p, err := f.Commit(t.Context(), Event{Kind: Undo}, "")
	require.NoError(t, err)
	require.True(t, p.Refused(), "a file that has no rows and was edited since")
	assert.Equal(t, "mapping.toml", p.Findings[0].File)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mapping.toml"), next["mapping.toml"], 0o644))
	commit(t, f, Event{Kind: Undo})
	assert.Equal(t, colony, read(t, os.DirFS(dir)))

	// What stood in another encoding is told in this one.
	next = map[string][]byte{"studbook.csv": next["studbook.csv"]}
	western := strings.Replace(string(next["studbook.csv"]), "Briony", "Zo\xe9", 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "studbook.csv"), []byte(western), 0o644))
	_, err = f.Replace(t.Context(), e, change)
	require.NoError(t, err)
	all, err = f.Changes()
	require.NoError(t, err)
	assert.Equal(t, []string{"studbook.csv:3 A02,Zoé,F,,,2018-05-02,,HOME,,ann -> A02,Briony,F,,,2018-05-02,,HOME,,ann"}, rows(&Proposal{Edits: all[0].Edits}))
}

// TestCheckFurther: what a caller's own check finds is told with the rest, but for what it
// found before, and an error of it is refused as others are.
func TestCheckFurther(t *testing.T) {
	f, dir := write(t, colony)
	commit(t, f, event("parting", "bird", "A01"))
	severity := studbook.Warning
	f.opt.Check = func(_ context.Context, c *studbook.Colony) (found []studbook.Finding, err error) {
		for _, b := range c.Bonds {
			found = append(found, studbook.Finding{Severity: severity, File: "bonds.csv", Line: b.Line, Code: "a_bond", Value: b.Female})
		}
		return found, nil
	}
	bond := event("bond", "female", "A05", "male", "A01")
	p, err := f.Draft(t.Context(), bond)
	require.NoError(t, err)
	var told []string
	for _, x := range p.Findings {
		if x.Code == "a_bond" {
			told = append(told, x.Value)
		}
	}
	assert.Equal(t, []string{"A05"}, told)
	severity = studbook.Error
	before := read(t, os.DirFS(dir))
	p, err = f.Commit(t.Context(), bond, "")
	require.NoError(t, err)
	assert.True(t, p.Refused())
	assert.Equal(t, before, read(t, os.DirFS(dir)))
}

// TestAnyEvent: whatever is told of whatever kind, in a sound folder or a faulty one, it is
// drafted or refused.
func TestAnyEvent(t *testing.T) {
	faulty := maps.Clone(colony)
	faulty["bonds.csv"] += "A05,A77,2023-03-01,,,\nA05,,,x,,\n"
	faulty["clutches.csv"] += "A77,A01,2026-10-20,2,,,\nA05,A77,,,,,\n"
	faulty["studbook.csv"] += "A01,twice,M,,,2020,,HOME,,\n,,,,,,,,,\n"
	values := []string{"", "", "A01", "A05", "a02", "A77", "A99", "Bryony", "twice", "unknown", "today", "2026-10-20", "2026", "2030", "x", "-", "-1", "2", "M", "F", "move", "agreed", "HOME", "AWAY", "A02=0.5; A04"}
	r := rand.New(rand.NewPCG(1, 2))
	for _, files := range []map[string]string{colony, faulty, {"studbook.csv": "id\nA01\n"}} {
		f, _ := write(t, files)
		for range 400 {
			k := Kinds[r.IntN(len(Kinds))]
			e := Event{Kind: k.Name, Values: map[string]string{}}
			for _, field := range k.Fields {
				e.Values[field.Name] = values[r.IntN(len(values))]
			}
			p, err := f.Draft(t.Context(), e)
			require.NoError(t, err, e)
			require.True(t, p.Refused() || p.Seal != "", e)
		}
	}
}
