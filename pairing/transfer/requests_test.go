package transfer

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
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
		"DEAD A: no, dead",
		"LOST A: no, location_unknown",
		"F9 B: no, bonded",
		"ILL B: no, on_hold",
		"OLD B: no, too_old",
		"LAME B: no, held_from_move",
		"MC A: no, not_worth",
		"SIS2 C: no, not_advised",
		"CHICK B: no, too_young",
		"SIS3 B: no, mate_elsewhere",
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
		"SIS1 B: agree, agreed group 1 first",
		"F1 B: agree if, agreed if other_request group 1",
	}, lines(desk(t, "SIS1,B,,,\nF1,B,,,\n", "2026-08-01,move,F1;MB,B,agreed,the committee,,\n2026-08-01,move,SIS1,B,agreed,the committee,,\n")), "two agreed moves and one place; with SIS1 there F1 gains nothing")
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
