package transfer

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// hand is a small programme worked by hand: F1 and M9 live at A; at B and C
// there are free males, at C a place for nobody.
func hand() folder {
	return folder{
		"studbook.csv": `id,sex,sire,dam,hatch_date,death_date,location,origin
F1,F,wild,wild,2018-05-01,,A,wild
M9,M,wild,wild,2018-05-01,,A,wild
F9,F,wild,wild,2018-05-01,,A,wild
MB,M,wild,wild,2018-05-01,,B,wild
MC,M,wild,wild,2018-05-01,,C,wild
SON,M,M9,F1,2020-05-01,,B,captive
DEAD,M,wild,wild,2010-05-01,2020-05-01,B,wild
LEFT,M,wild,wild,2018-05-01,,,wild
OLD,F,wild,wild,1990-05-01,,A,wild
UNK,U,wild,wild,2018-05-01,,A,wild
LOST,M,wild,wild,2018-05-01,,,wild
CHICK,F,M9,F9,2026-05-01,,A,captive
SIS1,F,M9,F9,2019-05-01,,A,captive
SIS2,F,M9,F9,2020-05-01,,A,captive
SIS3,F,M9,F9,2021-05-01,,A,captive
ILL,F,wild,wild,2018-05-01,,A,wild
HEIR,F,NONAME,wild,2012-05-01,2020-01-01,A,captive
LAME,F,wild,wild,2018-05-01,,A,wild
`,
		"bonds.csv": "female,male,since\nF9,M9,2022-01-01\n",
		"moves.csv": "id,date,from,to\nLEFT,2024-02-03,B,\n",
		"holds.csv": "id,since,until,reason,blocks\nILL,2026-09-01,,egg binding,breeding\nLAME,2026-09-01,,a broken toe,moving\n",
		"institutions.csv": `code,name,latitude,longitude,spaces_f,spaces_m,quarantine_days,contact
A,Alder Park,50,0,2,0,30,
B,Birch Park,51,0,1,1,30,keeper@birch.example
C,Cedar Park,52,0,0,0,,
D,Dogwood Park,52,1,,,,
`,
		"programme.toml": "[breeding_age]\nfemale = [2, 25]\nmale = [2, 25]\n[months]\nlaying = [4, 5, 6]\nmoult = [8, 9]\n",
	}
}

func TestClearAnswers(t *testing.T) {
	for _, c := range []struct {
		name string
		q    Question
		want pairing.Code
		who  string // the birds, in order
	}{
		{"dead", Question{Bird: "DEAD"}, pairing.Dead, "DEAD"},
		{"left the programme", Question{Bird: "LEFT"}, pairing.Gone, "LEFT"},
		{"no row of its own", Question{Bird: "NONAME"}, NoRow, "NONAME"},
		{"nobody there", Question{Bird: "F1", To: "D"}, NobodyThere, "F1"},
		{"partner left", Question{Bird: "F1", Partner: "LEFT"}, MateRuledOut, "F1 LEFT"},
		{"location unknown", Question{Bird: "LOST"}, LocationUnknown, "LOST"},
		{"hold on moving", Question{Bird: "LAME", To: "B"}, NotNow, "LAME"},
		{"already there", Question{Bird: "F1", To: "A"}, SamePlace, "F1"},
		{"partner itself", Question{Bird: "F1", Partner: "F1"}, OwnMate, "F1"},
		{"partner at home", Question{Bird: "F1", Partner: "M9"}, SamePlace, "F1 M9"},
		{"partner too close", Question{Bird: "F1", Partner: "SON"}, MateRuledOut, "F1 SON"},
		{"partner dead", Question{Bird: "F1", Partner: "DEAD"}, MateRuledOut, "F1 DEAD"},
		{"partner elsewhere", Question{Bird: "F1", Partner: "MB", To: "C"}, MateElsewhere, "F1 MB"},
		{"partner lost", Question{Bird: "F1", Partner: "LOST"}, LocationUnknown, "F1 LOST"},
		{"no mate there", Question{Bird: "MB", To: "C"}, NoMate, "MB"},
		{"no exchange", Question{Bird: "F1", To: "B", From: "C"}, NoExchange, "F1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := find(t, hand().programme(t), c.q)
			var no *NoCaseError
			require.ErrorAs(t, err, &no)
			assert.Equal(t, c.want, no.Code)
			var who []string
			for _, b := range no.Birds {
				who = append(who, b.ID)
			}
			assert.Equal(t, c.who, strings.Join(who, " "))
		})
	}
	for _, q := range []Question{{Bird: "f1"}, {Bird: "F1", To: "Z"}, {Bird: "F1", From: "b"}, {Bird: "F1", Partner: "Q"}} {
		_, err := find(t, hand().programme(t), q)
		var unknown *pairing.NotFoundError
		assert.ErrorAs(t, err, &unknown, "%v", q)
	}
}

func TestQuestionsNarrowTheChoice(t *testing.T) {
	p := hand().programme(t)
	for _, c := range []struct {
		name, want string
		q          Question
	}{
		// All three unrelated founders are equally good for F1: MB is nearer
		// than MC, and A has no place for a male.
		{"best of all", "send F1>B", Question{Bird: "F1"}},
		{"to", "send F1>C", Question{Bird: "F1", To: "C"}},
		{"from", "bring MB>A", Question{Bird: "F1", From: "B"}},
		{"from its own home", "send F1>B", Question{Bird: "F1", From: "A"}},
		{"from there to here", "send MB>A", Question{Bird: "MB", From: "B", To: "A"}},
		{"partner", "send F1>C", Question{Bird: "F1", Partner: "MC"}},
		{"partner to come", "bring MC>A", Question{Bird: "F1", Partner: "MC", From: "C"}},
		{"a bonded bird if asked for", "bring MB>A", Question{Bird: "F9", From: "B"}},
		{"a bonded partner if asked for", "send MB>A", Question{Bird: "MB", Partner: "F9", To: "A"}},
		{"a held bird's mate can come", "bring MB>A", Question{Bird: "LAME", From: "B"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := find(t, p, c.q)
			require.NoError(t, err)
			m := got.Best.Moves[0]
			assert.Equal(t, c.want, fmt.Sprintf("%s %s>%s", got.Best.Way, p.Book.Birds[m.Bird].ID, m.To))
		})
	}
}

func TestWhatTheCaseSays(t *testing.T) {
	p := hand().programme(t)
	find := func(q Question) *Case {
		t.Helper()
		c, err := find(t, p, q)
		require.NoError(t, err)
		return c
	}
	far := find(Question{Bird: "F1", To: "C"})
	assert.Equal(t, "no_space F1 >C", said(far.Cautions[0]))
	assert.Contains(t, all(far.Unknown), "quarantine_unknown >C 30")
	c := find(Question{Bird: "F9", Partner: "MB"})
	assert.Contains(t, all(c.Cautions), "bond_ends F9 M9")
	assert.Contains(t, all(c.Cautions), "promised_elsewhere MB F1")
	require.Len(t, c.Best.Broken, 1)

	ways := map[Way][]pairing.Reason{}
	for _, a := range find(Question{Bird: "LAME", From: "B"}).Alternatives {
		ways[a.Way] = a.Why
	}
	assert.Equal(t, []string{"not_possible", "held_from_move LAME"}, all(ways[Send]))

	// What the decision has is said of a question that wants something else, and
	// stands first among the alternatives.
	assert.False(t, far.Needed)
	require.NotNil(t, far.Ranking.Bond)
	assert.Equal(t, &pairing.PlannedMove{Bird: index(t, p, "F1"), From: "A", To: "B"}, far.Ranking.Bond.Move)
	assert.True(t, far.Alternatives[0].Decided)
	assert.Equal(t, []string{"not_asked"}, all(far.Alternatives[0].Why))
}

// A bird that cannot breed has its state for an answer, and so has one that stays
// with its mate; none of them is asked for.
func TestNoMoveIsNeeded(t *testing.T) {
	p := hand().programme(t)
	for bird, want := range map[string]string{
		"OLD": "too_old OLD", "UNK": "sex_unknown UNK", "ILL": "on_hold ILL", "CHICK": "too_young CHICK", "F9": "",
		"SIS1": "no_gain SIS1", "MC": "no_room LAME >A",
	} {
		for _, to := range []string{"", "B"} {
			if to != "" && p.State(index(t, p, bird)).State.MayBreed() {
				continue
			}
			c, err := find(t, p, Question{Bird: bird, To: to})
			require.NoError(t, err)
			assert.False(t, c.Needed)
			assert.Nil(t, c.Best)
			if want == "" {
				assert.Equal(t, pairing.BondKept, c.Ranking.Bond.Kind)
				continue
			}
			assert.Equal(t, want, said(c.Ranking.Alone))
		}
	}
}

func index(t *testing.T, p *pairing.Programme, id string) int {
	t.Helper()
	b, err := p.Bird(id)
	require.NoError(t, err)
	return b
}

// said is a reason in a line: its code, birds, where to, count.
func said(r pairing.Reason) string {
	s := string(r.Code)
	for _, b := range r.Birds {
		s += " " + b.ID
	}
	if r.To != "" {
		s += " >" + r.To
	}
	if r.Count > 0 {
		s += fmt.Sprint(" ", r.Count)
	}
	return s
}

func all(reasons []pairing.Reason) []string {
	var out []string
	for _, r := range reasons {
		out = append(out, said(r))
	}
	return out
}

// TestPlacesInSwaps: a swap needs a place for a bird whose sex
// differs from that of the bird that leaves, and none for one of the same.
func TestPlacesInSwaps(t *testing.T) {
	n := &network{p: hand().programme(t)}
	of := func(mover, stayer string) leg {
		a, _ := n.p.Book.Index(mover)
		b, _ := n.p.Book.Index(stayer)
		return leg{mover: a, stayer: b, from: n.p.Book.Birds[a].Location, to: n.p.Book.Birds[b].Location}
	}
	assert.Equal(t, []string{"no_space F1 >C"}, all(n.shortages([]leg{of("F1", "MC")})))
	assert.Equal(t, []string{"no_space MB >A"}, all(n.shortages([]leg{of("MB", "F1"), of("F9", "SON")})))
	assert.Empty(t, n.shortages([]leg{of("MB", "F1"), of("M9", "SON")}), "a male leaves as a male comes")
	assert.Empty(t, n.shortages([]leg{of("F1", "MB")}))
	assert.Len(t, n.shortages([]leg{of("F1", "MB"), of("F9", "SON")}), 1, "one place for two")
}

// TestRings: moves that go round are a swap or a ring, whichever bird is asked
// about; the others are none.
func TestRings(t *testing.T) {
	f := hand()
	f["studbook.csv"] += "FC,F,wild,wild,2018-05-01,,C,wild\nFB,F,wild,wild,2018-05-01,,B,wild\nMA,M,wild,wild,2018-05-01,,A,wild\n"
	p := f.programme(t)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	n := &network{p: p, d: d}
	move := func(mover, stayer string) *Option {
		return n.option(Send, n.leg(index(t, p, mover), index(t, p, stayer), pairing.Candidate{Choice: pairing.Choice{NetGain: 1}}))
	}
	birds := func(o *Option) (ids []string) {
		for _, m := range o.Moves {
			ids = append(ids, p.Book.Birds[m.Bird].ID)
		}
		return ids
	}
	assert.Empty(t, n.rings([]*Option{move("F1", "MB"), move("FC", "SON")}))
	rings := n.rings([]*Option{move("F1", "MB"), move("FB", "MC"), move("FC", "MA"), move("SON", "LAME")})
	require.Len(t, rings, 1, "A to B and back")
	assert.Equal(t, []string{"F1", "SON"}, birds(rings[0]))
	assert.Equal(t, 2.0, rings[0].NetGain)
	rings = n.rings([]*Option{move("F1", "MB"), move("FB", "MC"), move("FC", "MA")})
	require.Len(t, rings, 1, "A to B to C to A")
	assert.Equal(t, Chain, rings[0].Way)
	assert.Equal(t, []string{"FB", "FC", "F1"}, birds(rings[0].from(1)))
	assert.Equal(t, index(t, p, "MC"), rings[0].from(1).mateOf(index(t, p, "FB")))
}

// TestBrood checks the distribution against its definition: its mean is the
// number expected, and its variance np(1−p).
func TestBrood(t *testing.T) {
	for _, c := range []struct {
		expected float64
		most, n  int
	}{{0, 2, 2}, {0.7, 2, 2}, {1.4, 2, 2}, {2, 2, 2}, {2.5, 2, 3}, {0.3, 1, 1}, {12.3, 4, 13}} {
		chance := Brood(c.expected, c.most)
		require.Len(t, chance, c.n+1)
		sum, mean, square := 0.0, 0.0, 0.0
		for k, p := range chance {
			sum += p
			mean += float64(k) * p
			square += float64(k*k) * p
		}
		assert.InDelta(t, 1, sum, 1e-12)
		assert.InDelta(t, c.expected, mean, 1e-12)
		assert.InDelta(t, c.expected*(1-c.expected/float64(c.n)), square-mean*mean, 1e-10)
	}
	assert.Equal(t, []float64{0.25, 0.5, 0.25}, Brood(1, 2))
}

// TestSeasonIsNoMeanChick checks that the figure after a season is the mean
// over brood sizes and not that of a mean brood: two unrelated birds alone with
// 0, 1 or 2 chicks (chances 1/4, 1/2, 1/4) have mean kinships 1/4, 5/18 and
// 9/32 (closed forms), 0.2712673... on average, but 5/18 with the mean brood.
func TestSeasonIsNoMeanChick(t *testing.T) {
	p := folder{"studbook.csv": "id,sex,sire,dam,hatch_date,location\nF,F,wild,wild,2018,A\nM,M,wild,wild,2018,A\n"}.programme(t)
	got := season(p, p.Living, []*Pair{{Female: 0, Male: 1, At: "A", Chicks: 1}})
	assert.InDelta(t, (1.0/4+2*5.0/18+9.0/32)/4, got.MeanKinship, 1e-15)
	assert.InDelta(t, 3, got.Size, 1e-15)
}

func TestTiming(t *testing.T) {
	day := func(s string) studbook.Day {
		d, err := studbook.ParseDate(s)
		require.NoError(t, err)
		return d.First
	}
	for _, c := range []struct {
		name             string
		files            map[string]string
		asOf             string
		quarantine       int
		earliest, latest string
		avoid            pairing.Code
	}{
		// Worked by hand with a calendar.
		{"free", nil, "2026-10-10", 30, "2026-10-10", "2027-03-02", pairing.LayingMonth},
		{"in moult", nil, "2026-08-15", 30, "2026-10-01", "2027-03-02", pairing.MoultMonth},
		{"too late for this season", nil, "2026-03-10", 30, "2026-07-01", "2026-07-31", ""},
		{"just in time", nil, "2026-03-02", 30, "2026-03-02", "2026-03-02", ""},
		{"leap year", nil, "2028-02-20", 30, "2028-02-20", "2028-03-02", ""},
		{"no months", map[string]string{"programme.toml": ""}, "2026-05-10", 30, "2026-05-10", "", ""},
		{"always laying", map[string]string{"programme.toml": "[months]\nlaying = [1,2,3,4,5,6,7,8,9,10,11,12]\n"}, "2026-05-10", 30, "", "", pairing.LayingMonth},
		{"over the turn of the year", map[string]string{"programme.toml": "[months]\nlaying = [11, 12, 1]\n"}, "2026-12-10", 30, "2027-02-01", "2027-10-02", pairing.LayingMonth},
		{"long quarantine", nil, "2026-10-10", 170, "2026-10-10", "2026-10-13", ""},
		{"too long a quarantine", nil, "2026-10-10", 300, "", "", ""},
		{"hold with an end", map[string]string{"holds.csv": "id,since,until,reason,blocks\nF,2026-10-01,2026-11-20,mites,both\n"}, "2026-10-10", 30, "2026-11-20", "2027-03-02", pairing.OnHold},
		{"hold without end", map[string]string{"holds.csv": "id,since,until,reason,blocks\nF,2026-10-01,,mites,moving\n"}, "2026-10-10", 30, "", "", pairing.OnHold},
		{"hold on breeding alone", map[string]string{"holds.csv": "id,since,until,reason,blocks\nF,2026-10-01,,rest,breeding\n"}, "2026-10-10", 30, "2026-10-10", "2027-03-02", ""},
		{"late clutch", map[string]string{"clutches.csv": "female,male,laid,eggs,fertile,hatched,fledged\nF,M,2026-07-20,2,,,\n"}, "2026-10-10", 30, "2026-11-18", "2027-03-02", pairing.OnNest},
		{"late clutch that failed", map[string]string{"clutches.csv": "female,male,laid,eggs,fertile,hatched,fledged\nF,M,2026-07-20,2,1,0,\n"}, "2026-10-10", 30, "2026-10-10", "2027-03-02", ""},
		{"before pairs form", map[string]string{"programme.toml": "[months]\npairing = [2, 3]\nlaying = [4, 5, 6]\n"}, "2026-10-10", 30, "2026-10-10", "2027-01-02", pairing.PairingMonth},
		{"while pairs form", map[string]string{"programme.toml": "[months]\npairing = [2, 3]\nlaying = [4, 5, 6]\n"}, "2027-02-10", 30, "2027-07-01", "2028-01-02", pairing.PairingMonth},
		{"receiver closed", map[string]string{"institutions.csv": "code,name,closed_months\nA,Here,\nB,There,10;11\n"}, "2026-10-10", 30, "2026-12-01", "2027-03-02", pairing.EndClosed},
		{"sender closed", map[string]string{"institutions.csv": "code,name,closed_months\nA,Here,12\nB,There,\n"}, "2026-10-10", 30, "2026-10-10", "2026-11-30", pairing.EndClosed},
		{"across a border", map[string]string{"institutions.csv": "code,name,country,permit_weeks\nA,Here,Inland,4\nB,There,Outland,8\n"}, "2026-10-10", 30, "2026-12-05", "2027-03-02", pairing.Permit},
		{"within a country", map[string]string{"institutions.csv": "code,name,country,permit_weeks\nA,Here,Inland,4\nB,There,inland,8\n"}, "2026-10-10", 30, "2026-10-10", "2027-03-02", ""},
		{"late clutch that fledged", map[string]string{"clutches.csv": "female,male,laid,eggs,fertile,hatched,fledged\nF,M,2026-07-20,2,2,2,1\n"}, "2026-10-10", 30, "2026-10-10", "2027-03-02", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := folder{
				"studbook.csv":   "id,sex,sire,dam,hatch_date,location\nF,F,wild,wild,2018,A\nM,M,wild,wild,2018,A\n",
				"programme.toml": "[months]\nlaying = [4, 5, 6]\nmoult = [8, 9]\n",
			}
			for name, content := range c.files {
				f[name] = content
			}
			f["programme.toml"] = fmt.Sprintf("quarantine_days = %d\n", c.quarantine) + f["programme.toml"]
			p := f.programmeOn(t, day(c.asOf))
			got := p.Timing(0, "A", "B")
			assert.Equal(t, c.earliest, got.Earliest.String())
			assert.Equal(t, c.latest, got.Latest.String())
			if c.avoid != "" {
				assert.True(t, slices.ContainsFunc(got.Avoid, func(s pairing.Span) bool { return s.Why.Is(c.avoid) }), "%v", got.Avoid)
			}
		})
	}
}

// TestEarlierMoves: what the birds of a request have been through until the
// day, by day; later moves have not been made.
func TestEarlierMoves(t *testing.T) {
	f := hand()
	f["moves.csv"] = "id,date,from,to\nF1,2025-03-01,C,A\nF1,2019-03,,C\nMB,2015-06-01,,B\nMB,2026-12-01,B,C\nOLD,2001,,A\n"
	c, err := find(t, f.programme(t), Question{Bird: "F1", Partner: "MB"})
	require.NoError(t, err)
	var dates []string
	for _, m := range c.Earlier {
		dates = append(dates, m.ID+" "+m.Date.Text)
	}
	assert.Equal(t, []string{"F1 2019-03", "F1 2025-03-01", "MB 2015-06-01"}, dates)
}

// A way across a border costs the birds more than one within a country.
func TestBordersAreACost(t *testing.T) {
	f := hand() // without her sisters, one of whom would get the other male
	f["holds.csv"] += "SIS1,2026-09-01,,kept apart,breeding\nSIS2,2026-09-01,,kept apart,breeding\nSIS3,2026-09-01,,kept apart,breeding\n"
	f["institutions.csv"] = "code,name,country,latitude,longitude,spaces_f,spaces_m,permit_weeks\nA,Alder,Inland,50,0,2,0,\nB,Birch,Outland,50.1,0,1,1,\nC,Cedar,Inland,52,0,1,1,\n"
	p := f.programme(t)
	c, err := find(t, p, Question{Bird: "F1"})
	require.NoError(t, err)
	require.Equal(t, "B", c.Best.Moves[0].To)
	k := slices.IndexFunc(c.Alternatives, func(a Alternative) bool { return a.Way == Send && a.Moves[0].To == "C" })
	require.GreaterOrEqual(t, k, 0)
	assert.Contains(t, all(c.Alternatives[k].For), "fewer_borders", "farther, and within the country")
	c, err = find(t, p, Question{Bird: "F1", To: "B"})
	require.NoError(t, err)
	assert.True(t, c.Best.Moves[0].Abroad)
	assert.Contains(t, all(c.Unknown), "permit_unknown >B")
}

// TestExtract: every ancestor that has a row is there, once, by id.
func TestExtract(t *testing.T) {
	f := hand().with("studbook.csv",
		"GC,F,NOROW,F9,2021-05-01,,A,captive", "GG,F,SON=0.6; MB=0.3,GC,2023-05-01,,A,captive")
	p := f.programme(t)
	c, err := find(t, p, Question{Bird: "GG", Partner: "MC"})
	require.NoError(t, err)
	ids := func(c *Case) (ids []string) {
		for _, b := range c.Extract(p).Birds {
			ids = append(ids, b.ID)
		}
		return ids
	}
	assert.Equal(t, []string{"F1", "F9", "GC", "GG", "M9", "MB", "SON"}, ids(c))
	c, err = find(t, p, Question{Bird: "GG", Partner: "MC", From: "C"})
	require.NoError(t, err)
	assert.Equal(t, []string{"F1", "F9", "GC", "GG", "M9", "MB", "MC", "SON"}, ids(c), "the mate that travels too")
}

// TestSameAnswerTwice: neither maps nor cores change the answer.
func TestSameAnswerTwice(t *testing.T) {
	p := example(t).programme(t)
	first, err := Moves(t.Context(), p, decide(t, p), "")
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	again, err := Moves(t.Context(), p, decide(t, p), "")
	require.NoError(t, err)
	assert.Equal(t, first, again)
}

func BenchmarkMoves(b *testing.B) {
	p := example(b).programme(b)
	for b.Loop() {
		if _, err := Moves(b.Context(), p, decide(b, p), ""); err != nil {
			b.Fatal(err)
		}
	}
}

// TestAsMuchAnew: where a pair that needs no move is said to gain as much as the
// decision's that does, agreeing on it takes next to nothing from the best sum of all
// pairs, with another bird on the move (an oracle: the decision taken anew).
func TestAsMuchAnew(t *testing.T) {
	f := folder(studbooktest.ExampleFolder(t))
	p := f.programmeOn(t, studbook.DayOf(2026, 9, 30))
	d := decide(t, p)
	c, err := Find(t.Context(), p, d, Question{Bird: "C0902"})
	require.NoError(t, err)
	k := slices.IndexFunc(c.Alternatives, func(a Alternative) bool { return a.Why[0].Code == AsMuchAnew })
	require.GreaterOrEqual(t, k, 0)
	mate, gain := c.Alternatives[k].Pairs[0].Figures, c.Best.Pairs[0].Figures.NetGain
	require.Equal(t, "C0736", p.Book.Birds[mate.Bird].ID)
	require.Empty(t, c.Alternatives[k].Moves)
	f["decisions.csv"] += "2026-09-29,bond,C0736;C0902,,agreed,,,\n"
	anew := decide(t, f.programmeOn(t, studbook.DayOf(2026, 9, 30)))
	charged := func(d *pairing.Decision) float64 { return d.Sum - d.LeastGain*float64(d.Moves) }
	assert.InDelta(t, charged(d), charged(anew), pairing.Alike*gain)
	assert.Equal(t, d.Moves, anew.Moves, "another bird moves")
}

// TestOptionsAreWeighedByOneMeasure: what is said of an alternative is what its net gain
// is beside that of the proposal once a move is taken off either, the decision's own pair
// among them, and alternatives stand in that order, near ones by cost to the birds.
func TestOptionsAreWeighedByOneMeasure(t *testing.T) {
	p := folder(studbooktest.ExampleFolder(t)).programmeOn(t, studbook.DayOf(2026, 9, 30))
	d := decide(t, p)
	gain := func(c *Case, o *Option) float64 {
		x := &o.Pairs[0]
		apart := p.Book.Birds[x.Female].Location != p.Book.Birds[x.Male].Location
		if mate, _ := d.MateOf(x.Female); mate == x.Male && apart {
			return x.Figures.NetGain - d.LeastGain
		}
		return x.Figures.NetGain
	}
	list, err := Moves(t.Context(), p, d, "")
	require.NoError(t, err)
	less, as, dearer := 0, 0, 0
	for k := range list.Moves {
		c, err := Find(t.Context(), p, d, Question{Bird: p.Book.Birds[list.Moves[k].Pairs[0].Female].ID})
		require.NoError(t, err)
		best, last := gain(c, c.Best), math.Inf(1)
		for _, a := range c.Alternatives {
			share := gain(c, a.Option) / best
			switch why := a.Why[0]; why.Code {
			case LessGain:
				less++
				assert.InDelta(t, share, why.Value, 1e-9)
			case GainsAsMuch, AsMuchAnew:
				as++
				assert.InDelta(t, 1, share, pairing.Alike)
			}
			if a.Way == Send || a.Way == Bring {
				was := func(o *Option) int { return len(p.Book.MovesOf(p.Book.Birds[o.Moves[0].Bird].ID)) }
				if a.mateOf(c.Bird) == c.Mate && was(a.Option) > was(c.Best) {
					dearer++
					assert.Equal(t, "gains_as_much; moved_more", strings.Join(all(a.Why), "; "), "it has moved more often")
				}
			}
			if len(a.Moves) <= 1 && a.hindrance() == 0 {
				assert.True(t, share <= last || pairing.AsGood(share, last))
				last = share
			}
		}
	}
	assert.Greater(t, less, 3)
	assert.Greater(t, as, 3)
	assert.Positive(t, dearer)
}

// A pair that the decision has of two birds of a request is told once, not of each of the two.
func TestPromisedToEachOther(t *testing.T) {
	p := folder(studbooktest.ExampleFolder(t)).programmeOn(t, studbook.DayOf(2026, 9, 30))
	c, err := Find(t.Context(), p, decide(t, p), Question{Bird: "C0390", To: "QUM", From: "QUM", Seed: 1})
	require.NoError(t, err)
	var promised []string
	for _, r := range c.Cautions {
		if r.Code == PromisedElsewhere {
			promised = append(promised, r.Birds[0].ID+" "+r.Birds[1].ID)
		}
	}
	assert.Equal(t, []string{"C0736 C0893", "C0782 C0772"}, promised)
}

// TestAgreeByIsTheSameDay: the list says by when a move is to be agreed on as its
// request does; what people have agreed on needs no day.
func TestAgreeByIsTheSameDay(t *testing.T) {
	f := hand()
	f["institutions.csv"] = "code,country,spaces_f,spaces_m,permit_weeks\nA,XA,2,1,4\nB,XB,1,1,6\nC,XC,0,0,\n"
	listed := func() map[string]*Listed {
		p := f.programme(t)
		list, err := Moves(t.Context(), p, decide(t, p), "")
		require.NoError(t, err)
		out := map[string]*Listed{}
		for k := range list.Moves {
			m := &list.Moves[k]
			out[p.Book.Birds[m.Mover()].ID] = m
		}
		return out
	}
	all := listed()
	require.NotEmpty(t, all)
	for id, m := range all {
		c := found(t, f, Question{Bird: id, To: m.Moves[0].To})
		answer, journey := c.AnswerBy()
		assert.Equal(t, answer, m.AgreeBy(), id)
		assert.Equal(t, journey, m.LeaveBy(), id)
		assert.Equal(t, m.LeaveBy()-studbook.Day(max(28, 7*m.Moves[0].PermitWeeks)), m.AgreeBy(), id)
	}
	f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n2026-09-20,move,F1;MB,B,agreed,the committee,,\n"
	agreed := listed()["F1"]
	require.NotNil(t, agreed)
	assert.True(t, agreed.Agreed)
	assert.Zero(t, agreed.AgreeBy())
}

// TestAPairThatRestsAtFirst: a request for a bird whose new pair hatches nothing in its
// first season, as the plan of the place has it, says so.
func TestAPairThatRestsAtFirst(t *testing.T) {
	c := studbooktest.Example(t)
	p, err := pairing.New(t.Context(), c.At(studbook.DayOf(2026, 9, 30)))
	require.NoError(t, err)
	d := decide(t, p)
	list, err := Moves(t.Context(), p, d, "")
	require.NoError(t, err)
	require.NotEmpty(t, list.Moves)
	told := 0
	for k := range list.Moves {
		x := &list.Moves[k].Pairs[0]
		found, err := Find(t.Context(), p, d, Question{Bird: p.Book.Birds[list.Moves[k].Mover()].ID})
		require.NoError(t, err)
		chicks, _ := p.ChicksNeeded(x.At, false)
		plan, err := d.Plan(t.Context(), pairing.PlanOptions{Place: x.At, Chicks: chicks})
		require.NoError(t, err)
		pair := slices.IndexFunc(plan.Pairs, func(y pairing.PlannedPair) bool { return y.Female == x.Female && y.Male == x.Male })
		require.GreaterOrEqual(t, pair, 0)
		says := slices.ContainsFunc(found.Cautions, func(r pairing.Reason) bool { return r.Is(RestsFirst) && r.Count == 2027 })
		assert.Equal(t, plan.Pairs[pair].Role == pairing.Rest, says)
		none, err := d.Plan(t.Context(), pairing.PlanOptions{Place: x.At, Chicks: 0})
		require.NoError(t, err)
		if none.Rests(x.Female, x.Male) {
			told++
		}
	}
	assert.Positive(t, told, "where no chick is wanted every pair rests")
}
