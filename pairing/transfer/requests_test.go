package transfer

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// desk judges requests on the colony of hand, with what else is on file.
func desk(t *testing.T, requests, decisions string) *Desk {
	t.Helper()
	f := hand()
	f["requests.csv"] = "bird,to,partner,asked_by,date\n" + requests
	if decisions != "" {
		f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n" + decisions
	}
	return judged(t, f)
}

// judged judges the requests of a folder.
func judged(t *testing.T, f folder) *Desk {
	t.Helper()
	p := f.programme(t)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	out, err := Judge(t.Context(), p, d)
	require.NoError(t, err)
	return out
}

// answered writes a judged request in a line.
func answered(x *Judged) string {
	s := fmt.Sprintf("%s %s: %s, %s", x.Request.Bird, x.Request.To, x.Answer, x.Why[0].Code)
	for _, r := range x.Conditions {
		s += " if " + string(r.Code)
	}
	if x.Group > 0 {
		s += fmt.Sprintf(" group %d", x.Group)
	}
	if x.Preferred {
		s += " first"
	}
	return s
}

func lines(d *Desk) (out []string) {
	for k := range d.Requests {
		out = append(out, answered(&d.Requests[k]))
	}
	return out
}

// TestEveryAnswerToARequest asks for each case once, worked by hand. The decision
// has F1 go to MB at B, where there is one place for a female, and leaves the bond of
// F9 and M9.
func TestEveryAnswerToARequest(t *testing.T) {
	assert.Equal(t, []string{
		"F1 B: agree, decisions_move group 1 first",
		"SIS1 B: better this instead, mates_own group 1",
		"F1 A: no, same_place group 1",
		"F1 B: no, mate_ruled_out group 1",
		"MC A: agree if, worth_it if place_free group 2 first",
		"SIS3 B: no, mate_elsewhere group 2",
		"DEAD A: no, dead",
		"LOST A: no, location_unknown",
		"F9 B: no, bonded",
		"ILL B: no, on_hold",
		"OLD B: no, too_old",
		"LAME B: no, held_from_move",
		"SIS2 C: no, not_advised",
		"CHICK B: no, too_young",
	}, lines(desk(t, `DEAD,A,,,
LOST,A,,,
F1,A,,,
F1,B,SON,,
F1,B,MB,,
F9,B,,,
ILL,B,,,
OLD,B,,,
LAME,B,,,
MC,A,,,
SIS1,B,MB,,
SIS2,C,,,
CHICK,B,,,
SIS3,B,MC,,
`, "")), "her son, her own place and another bird for her mate exclude what the decision has for F1")
	assert.Empty(t, desk(t, "", "").Requests)
}

// TestRequestsAndDecisionsOfPeople: what was agreed is agreed to, what was declined is
// not, and two moves to one place exclude each other.
func TestRequestsAndDecisionsOfPeople(t *testing.T) {
	assert.Equal(t, []string{"F1 B: no, declined"}, lines(desk(t, "F1,B,MB,,\n", "2026-08-01,bond,F1;MB,,declined,the committee,,\n")))
	assert.Equal(t, []string{"F1 B: no, declined"}, lines(desk(t, "F1,B,,,\n", "2026-08-01,move,F1,B,declined,the committee,,\n")))
	assert.Equal(t, []string{
		"F1 B: agree, agreed group 1 first",
		"SIS1 B: agree if, agreed if other_request group 1",
	}, lines(desk(t, "SIS1,B,,,\nF1,B,,,\n", "2026-08-01,move,F1;MB,B,agreed,the committee,,\n2026-08-01,move,SIS1,B,agreed,the committee,,\n")), "two agreed moves and one place: first the bird that goes to a mate")
	assert.Equal(t, []string{
		"SIS1 B: agree, agreed group 1 first",
		"F1 B: better this instead, mates_own group 1",
	}, lines(desk(t, "F1,B,MB,,\nSIS1,B,MB,,\n", "2026-08-01,move,SIS1;MB,B,agreed,the committee,,\n")), "its mate is promised to another")
	waits := desk(t, "F1,B,,,\n", "2026-08-01,move,F1,B,waiting,the committee,,\n")
	assert.Equal(t, []string{"F1 B: agree, decisions_move"}, lines(waits))
	assert.NotNil(t, waits.Requests[0].Waiting)
}

// TestRequestsThatAreMet: a bird that has come since it was asked for is no question
// any more; one that lived there already is.
func TestRequestsThatAreMet(t *testing.T) {
	f := hand()
	f["moves.csv"] = "id,date,from,to\nSIS1,2026-08-15,C,A\n"
	f["requests.csv"] = "bird,to,partner,asked_by,date\nSIS1,A,,,2026-08-01\nSIS1,A,,,2026-08-20\nSIS2,A,,,2026-08-01\n"
	var answers []RequestAnswer
	for _, x := range judged(t, f).Requests {
		answers = append(answers, x.Answer)
	}
	assert.ElementsMatch(t, []RequestAnswer{Met, Refuse, Refuse}, answers)

	// What is met excludes nothing, and where nothing is granted there is nothing to choose.
	f = hand()
	f["moves.csv"] = "id,date,from,to\nSIS1,2026-08-15,C,A\n"
	f["requests.csv"] = "bird,to,partner,asked_by,date\nSIS1,A,,,2026-08-01\nSIS1,B,MB,,2026-08-01\n"
	assert.Equal(t, []string{"SIS1 A: met, same_place", "SIS1 B: better this instead, mates_own"}, lines(judged(t, f)))
	f["requests.csv"] += "F1,B,MB,,2026-08-01\n"
	assert.Equal(t, []string{
		"F1 B: agree, decisions_move group 1 first", "SIS1 B: better this instead, mates_own group 1", "SIS1 A: met, same_place",
	}, lines(judged(t, f)))
}

// TestConditionsOfRequests: a permit, a full place, a hold that ends.
func TestConditionsOfRequests(t *testing.T) {
	f := hand()
	f["institutions.csv"] = "code,name,country,spaces_f,spaces_m,permit_weeks\nA,A,XA,2,0,4\nB,B,XB,1,1,6\nC,C,XA,0,0,2\n"
	f["holds.csv"] = "id,since,until,reason,blocks\nILL,2026-09-01,,egg binding,breeding\nLAME,2026-09-01,,a broken toe,moving\nF1,2026-09-01,2026-12-01,ringing,moving\n"
	f["requests.csv"] = "bird,to\nF1,B\n"
	got := judged(t, f)
	assert.Equal(t, []string{"F1 B: agree if, decisions_move if permit if hold_over"}, lines(got))
	assert.Equal(t, 6, got.Requests[0].Conditions[0].Count)
}

// TestConditionsOfTheRoad: what must be over before a bird that may go can go.
func TestConditionsOfTheRoad(t *testing.T) {
	const head = "date,what,birds,to,decision,by,until,reason\n"
	for _, c := range []struct {
		name, file, rows, said, asked, want string
	}{
		{"held until further notice", "", "", "2026-09-20,move,LAME,B,agreed,,,", "LAME,B", "LAME B: agree if, agreed if held_from_move if place_free"},
		// MB's former mate died on the nest: he has a brood to rear and is free.
		{"a nest to end", "clutches.csv", "female,male,laid,eggs,hatched\nWIDOW,MB,2026-09-10,2,\n", "2026-09-20,move,LAME,C,waiting,,,", "MB,A", "MB A: agree if, decisions_move if off_the_nest"},
		{"no day in the year", "institutions.csv", "code,spaces_f,spaces_m,closed_months\nA,2,1,\nB,1,1,1;2;3;4;5;6;7;8;9;10;11;12\n", "2026-09-20,move,F1;MB,B,agreed,,,", "F1,B", "F1 B: agree if, agreed if no_day"},
		{"a permit of a year", "institutions.csv", "code,country,spaces_f,spaces_m,permit_weeks\nA,XA,2,1,40\nB,XB,1,1,40\n", "2026-09-20,move,F1;MB,B,agreed,,,", "F1,B", "F1 B: agree if, agreed if permit if after_season"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := hand()
			f["studbook.csv"] += "WIDOW,F,wild,wild,2018-05-01,2026-09-15,B,wild\n"
			f["institutions.csv"] = "code,spaces_f,spaces_m\nA,2,1\nB,0,1\n"
			f["decisions.csv"] = head + c.said + "\n"
			f["requests.csv"] = "bird,to\n" + c.asked + "\n"
			if c.file != "" {
				f[c.file] = c.rows
			}
			assert.Equal(t, []string{c.want}, lines(judged(t, f)))
		})
	}
}

// TestMovesThatAreNotWorthIt: a pair that gains less than a move must be worth is no
// reason to move, and a bird that waits for a young one is kept for it.
func TestMovesThatAreNotWorthIt(t *testing.T) {
	f := hand()
	f["programme.toml"] += "[moves]\nleast_gain = 0.9\n"
	f["requests.csv"] = "bird,to\nF1,B\n"
	got := judged(t, f)
	assert.Equal(t, []string{"F1 B: no, not_worth_this_move"}, lines(got))
	assert.Equal(t, 0.9, got.Requests[0].Why[0].Other)
	assert.InDelta(t, got.Requests[0].Asked.NetGain+0.9, got.Requests[0].Why[0].Value, 1e-15, "the move is charged")
	p := f.programme(t)
	c, err := Find(t.Context(), p, decide(t, p), Question{Bird: "F1", To: "B"})
	require.NoError(t, err)
	assert.Equal(t, "not_worth_this_move F1 MB", all(c.Cautions)[0], "a request for it says the same")
	c, err = Find(t.Context(), p, decide(t, p), Question{Bird: "F1"})
	require.NoError(t, err)
	assert.Equal(t, "not_worth MB >B", said(c.Ranking.Alone))
	require.NotEmpty(t, c.Alternatives)
	assert.Equal(t, []string{"not_worth_this_move F1 MB"}, all(c.Alternatives[0].Why))

	// No move leads before the season (a permit takes 40 weeks), and at home a male of a
	// line of his own comes of age for the one after.
	waits := folder{
		"studbook.csv": `id,sex,sire,dam,hatch_date,location
F,F,wild,wild,2020-05-01,A
M,M,bs,wild,2020-05-01,B
Y,M,wild,wild,2024-06-01,A
A1,F,as,ad,2018-05-01,A
A3,F,as,ad,2018-05-01,B
B1,M,bs,bd,2018-05-01,A
B3,M,bs,bd,2018-05-01,B
`,
		"bonds.csv":        "female,male,since\nA1,B1,2022\nA3,B3,2022\n",
		"institutions.csv": "code,country,quarantine_days,permit_weeks\nA,AA,30,40\nB,BB,30,40\n",
		"programme.toml":   "chicks_per_season = 2\n[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n",
		"requests.csv":     "bird,to\nF,B\nM,A\n",
	}
	p = waits.programmeOn(t, studbook.DayOf(2026, 3, 1))
	out, err := Judge(t.Context(), p, decide(t, p))
	require.NoError(t, err)
	assert.Equal(t, []string{"F B: no, waits_for", "M A: no, waits_for"}, lines(out))
	for _, q := range []Question{{Bird: "F", To: "B"}, {Bird: "M", To: "A"}, {Bird: "F", Partner: "M"}} {
		c, err := Find(t.Context(), p, decide(t, p), q)
		require.NoError(t, err)
		assert.Equal(t, "waits_for F Y >A 2027", all(c.Cautions)[0], "a request for it says the same")
		require.NotEmpty(t, c.Alternatives)
		assert.Equal(t, []string{"waits_for F Y >A 2027"}, all(c.Alternatives[0].Why))
	}
}

// TestRequestsAgreeWithTheDecision asks for every living bird of small programmes
// made up by chance, at every place and for some mates there: what the decision does
// is agreed to, what it has instead is what it has, and what is agreed to can be
// written as a request.
func TestRequestsAgreeWithTheDecision(t *testing.T) {
	seen := map[pairing.Code]int{}
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 11))
		f := randomFolder(rng)
		living := f.programme(t).Book.Living
		birds := f.programme(t).Book.Birds
		f["requests.csv"] = "bird,to,partner\n"
		for _, b := range living {
			for _, to := range towns {
				f = f.with("requests.csv", birds[b].ID+","+to+",")
				if mate := &birds[living[rng.IntN(len(living))]]; mate.Sex != birds[b].Sex {
					f = f.with("requests.csv", birds[b].ID+","+to+","+mate.ID)
				}
			}
		}
		p := f.programme(t)
		d := decide(t, p)
		young, err := d.Young(t.Context())
		require.NoError(t, err)
		judged, err := Judge(t.Context(), p, d)
		require.NoError(t, err)
		require.Len(t, judged.Requests, len(p.Book.Requests))
		for _, x := range judged.Requests {
			what := fmt.Sprintf("seed %d: %s for %s", seed, answered(&x), x.Request.Partner)
			require.NotEmpty(t, x.Why, what)
			why := x.Why[0].Code
			seen[why]++
			bond, paired := d.BondOf(x.Bird)
			own := paired && bond.Kind == pairing.BondNew && bond.Move != nil && bond.Move.Bird == x.Bird && bond.Move.To == x.Request.To &&
				(x.Partner < 0 || bond.Mate(x.Bird) == x.Partner)
			assert.Equal(t, own, why == DecisionsMove, what)
			assert.Equal(t, x.Answer == AgreeIf, len(x.Conditions) > 0, what)
			if why == PlaceTaken || why == WorthIt {
				assert.Equal(t, pairing.NoRoom, d.WhyAlone(x.Bird).Code, what)
			}
			switch x.Answer {
			case Agree, AgreeIf:
				c, err := Find(t.Context(), p, d, Question{Bird: x.Request.Bird, To: x.Request.To, Partner: x.Request.Partner})
				require.NoError(t, err, what)
				require.NotNil(t, c.Best, what)
				assert.Equal(t, x.Bird, c.Best.Moves[0].Bird, what)
				assert.Equal(t, x.Request.To, c.Best.Moves[0].To, what)
			case Rather:
				require.NotNil(t, x.Instead, what)
				if x.Instead.Female < 0 {
					assert.True(t, slices.ContainsFunc(young, func(y pairing.Young) bool { return y.Bird == x.Bird && y.To == x.Instead.At }), what)
					continue
				}
				mate, _ := d.MateOf(x.Instead.Female)
				assert.Equal(t, x.Instead.Male, mate, what)
			}
		}
	}
	for _, code := range []pairing.Code{DecisionsMove, ForLater, WorthIt, BirdsOwn, MatesOwn, PlaceTaken} {
		assert.Positive(t, seen[code], code)
	}
}

// TestFullPlaces: two pairs that gain the same and one place for a female. What goes
// without a place is told of the place, not of its gain, as the season's plan tells it.
func TestFullPlaces(t *testing.T) {
	f := folder{
		"studbook.csv": `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018-05-01,A,wild
F2,F,wild,wild,2018-05-01,A,wild
M1,M,wild,wild,2018-05-01,B,wild
M2,M,wild,wild,2018-05-01,B,wild
S,M,wild,wild,2014-05-01,A,wild
D,F,wild,wild,2014-05-01,A,wild
X1,F,S,D,2019-05-01,A,captive
X2,F,S,D,2019-05-01,A,captive
X3,M,S,D,2019-05-01,A,captive
X4,M,S,D,2019-05-01,A,captive
`,
		"bonds.csv":        "female,male,since\nD,S,2018-01-01\n",
		"institutions.csv": "code,name,latitude,longitude,spaces_f,spaces_m\nA,Place A,50,0,0,0\nB,Place B,50,1,1,0\n",
		"programme.toml":   "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [4, 5]\n",
		"requests.csv":     "bird,to,partner\nF1,B,\nF2,B,\nF2,B,M2\nM2,A,F2\n",
	}
	out := judged(t, f)
	assert.ElementsMatch(t, []string{
		"F1 B: agree, decisions_move",
		"F2 B: better this instead, place_taken group 1",
		"F2 B: better this instead, place_taken group 1",
		"M2 A: agree if, worth_it if place_free group 1 first",
	}, lines(out))
	p := f.programme(t)
	f2, err := p.Bird("F2")
	require.NoError(t, err)
	d := decide(t, p)
	assert.Equal(t, pairing.NoRoom, d.WhyAlone(f2).Code)
	c, err := Find(t.Context(), p, d, Question{Bird: "F2"})
	require.NoError(t, err)
	require.NotEmpty(t, c.Alternatives)
	assert.Equal(t, PlacesTaken, c.Alternatives[0].Why[0].Code)
	c, err = Find(t.Context(), p, d, Question{Bird: "F2", To: "B"})
	require.NoError(t, err)
	assert.Equal(t, PlacesTaken, c.Cautions[0].Code)
}

// TestARequestOnFileIsTheReceivers: a case for a move knows who asked for it, by the mate
// where several did, and that people are still to decide.
func TestARequestOnFileIsTheReceivers(t *testing.T) {
	c := studbooktest.Example(t)
	p, err := pairing.New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	found, err := Find(t.Context(), p, d, Question{Bird: "C0842"})
	require.NoError(t, err)
	require.NotNil(t, found.Request)
	assert.Equal(t, "JED", found.Request.To)
	require.NotNil(t, found.Waiting)
	assert.Equal(t, "the permit is asked for first", found.Waiting.Ruling.Reason)
	found, err = Find(t.Context(), p, d, Question{Bird: "C0902"})
	require.NoError(t, err)
	assert.Equal(t, "she is alone", found.Request.Notes)
	assert.Nil(t, found.Waiting)
}
