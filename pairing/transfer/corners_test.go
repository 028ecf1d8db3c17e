package transfer

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// found asks for a transfer that there is a case for.
func found(t *testing.T, f folder, q Question) *Case {
	t.Helper()
	c, err := find(t, f.programme(t), q)
	require.NoError(t, err)
	return c
}

// TestWhatFilesDoNotTell: each gap of the files that a request rests on is said.
func TestWhatFilesDoNotTell(t *testing.T) {
	f := hand()
	f["institutions.csv"] = "code,name\nA,Alder Park\n"
	unlisted := found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(unlisted.Unknown), "not_listed >B")

	f["institutions.csv"] = "code,latitude,longitude,country,quarantine_days\nA,50,0,XA,\nB,51,0,XB,\nC,,,XA,30\n"
	bare := found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(bare.Unknown), "space_unknown F1 >B")
	assert.Contains(t, all(bare.Unknown), "quarantine_unknown >B 30")
	assert.Contains(t, all(bare.Unknown), "permit_unknown >B")
	assert.Contains(t, all(found(t, f, Question{Bird: "F1", To: "C"}).Unknown), "distance_unknown >C")

	delete(f, "institutions.csv")
	none := found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(none.Unknown), "no_institutions")

	f = hand()
	f["studbook.csv"] += "MD,M,wild,wild,,,B,wild\nME,M,wild,wild,[2014..2019],,B,wild\n"
	assert.Contains(t, all(found(t, f, Question{Bird: "F1", Partner: "MD"}).Unknown), "mover_age_unknown MD")
	assert.Contains(t, all(found(t, f, Question{Bird: "F1", Partner: "ME"}).Unknown), "mover_age_vague ME")
}

// TestWhenNothingIsSaidOfTheYear: without months of laying and moult it is said that
// none are known, and a place that never opens leaves no day.
func TestWhenNothingIsSaidOfTheYear(t *testing.T) {
	f := hand()
	f["programme.toml"] = "[breeding_age]\nfemale = [2, 25]\nmale = [2, 25]\n"
	c := found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(c.Cautions), "no_laying_months F1")
	assert.Contains(t, all(c.Cautions), "no_moult_months F1")

	f = hand()
	f["institutions.csv"] = "code,spaces_f,spaces_m,closed_months\nA,2,1,\nB,1,1,1;2;3;4;5;6;7;8;9;10;11;12\n"
	c = found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(c.Cautions), "no_day F1 30")
	answer, journey := c.AnswerBy()
	assert.Zero(t, answer, "no day to travel, so none to answer by")
	assert.Zero(t, journey)

	f["institutions.csv"] = "code,country,spaces_f,spaces_m,permit_weeks\nA,XA,2,1,40\nB,XB,1,1,40\n"
	late := found(t, f, Question{Bird: "F1", To: "B"})
	assert.Contains(t, all(late.Cautions), "after_season F1")
	answer, journey = late.AnswerBy()
	assert.Equal(t, late.Timing[0].Latest, journey)
	assert.Equal(t, journey-7*40, answer, "a permit takes longer than all else")
}

// TestBirdsOfACase: where nothing moves the case is about the bird alone.
func TestBirdsOfACase(t *testing.T) {
	p := hand().programme(t)
	c, err := find(t, p, Question{Bird: "SIS1"})
	require.NoError(t, err)
	require.Nil(t, c.Best)
	assert.Equal(t, []int{index(t, p, "SIS1")}, c.Birds())
	c, err = find(t, p, Question{Bird: "F1"})
	require.NoError(t, err)
	assert.Equal(t, []int{index(t, p, "F1"), index(t, p, "MB")}, c.Birds())
}

// TestRequestsOnDeclinedMoves: a move that was declined is no option, and says so; a
// place without a mate names the one at home.
func TestRequestsOnDeclinedMoves(t *testing.T) {
	f := hand()
	f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n2026-09-01,move,F1,B,declined,the committee,,full\n"
	_, err := find(t, f.programme(t), Question{Bird: "F1", To: "B"})
	var no *NoCaseError
	require.ErrorAs(t, err, &no)
	assert.Equal(t, NotNow, no.Code)
	assert.Equal(t, []string{"declined F1 >B"}, all(no.Because))

	_, err = find(t, hand().programme(t), Question{Bird: "SIS1", Partner: "MB", From: "C"})
	require.ErrorAs(t, err, &no)
	assert.Equal(t, MateElsewhere, no.Code)
}

// TestAYoungBirdOnHold: the move of a young bird says what holds it back, and when it
// must be there.
func TestAYoungBirdOnHold(t *testing.T) {
	f := hand()
	f["studbook.csv"] += "Y,F,wild,wild,2025-05-01,,C,wild\n"
	f["institutions.csv"] = "code,spaces_f,spaces_m\nA,2,1\nB,2,1\nC,0,0\n"
	f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n2026-09-01,move,Y,A,agreed,the committee,,\n"
	free := found(t, f, Question{Bird: "Y"})
	require.NotNil(t, free.Best)
	assert.Equal(t, "A", free.Best.Moves[0].To)
	assert.True(t, free.Needed)
	f = f.with("holds.csv", "Y,2026-09-01,,ringing,moving")
	held := found(t, f, Question{Bird: "Y"})
	assert.Equal(t, []string{"held_from_move Y"}, all(held.Best.Held))
	assert.Contains(t, all(held.Cautions), "held_from_move Y")
	assert.Zero(t, held.Timing[0].Earliest)
	answer, journey := held.AnswerBy()
	assert.Equal(t, held.Young.When-30, journey, "30 days of quarantine before the season in which it may breed")
	assert.Equal(t, journey-pairing.PreparationDays, answer)
}

// TestWhatCostsLess: of two options that gain the same, what the birds have to bear is
// named.
func TestWhatCostsLess(t *testing.T) {
	p := hand().programme(t)
	f1, mb := index(t, p, "F1"), index(t, p, "MB")
	one := func(m Move, broken ...studbook.Bond) *Option {
		return &Option{Moves: []Move{m}, Pairs: []Pair{{Female: f1, Male: mb}}, Broken: broken}
	}
	near := Move{Bird: f1, From: "A", To: "B", Distance: 100, Placed: true, Spaces: 1}
	unplaced := near
	unplaced.Placed = false
	travelled := near
	travelled.Before = 2
	for _, c := range []struct {
		a, b    *Option
		want    string
		against bool
	}{
		{one(unplaced), one(near), "distance_unknown", true},
		{one(near), one(unplaced), "distance_known", false},
		{one(near, studbook.Bond{Female: "F9", Male: "M9"}), one(near), "breaks_bonds F9 M9", true},
		{one(travelled), one(near), "moved_more", true},
		{one(near), one(travelled), "moved_less", false},
		{one(near), one(near, studbook.Bond{Female: "F9", Male: "M9"}), "keeps_bonds", false},
	} {
		r, against, ok := weigh(p, c.a, c.b)
		assert.True(t, ok)
		assert.Equal(t, c.against, against)
		assert.Equal(t, c.want, said(r))
	}
	_, _, ok := weigh(p, one(near), one(near))
	assert.False(t, ok, "the same costs the same")
}

// TestPartsOfAReleasedPair: a pair that people agreed to part is asked for where it
// lives, and at a place to which birds are to come for the first time.
func TestPartsOfAReleasedPair(t *testing.T) {
	f := hand()
	f["decisions.csv"] = "date,what,birds,to,decision,by,until,reason\n2026-08-01,part,F9;M9,,agreed,the committee,,they fight\n2026-08-01,move,M9,D,agreed,the committee,,\n"
	p := f.programme(t)
	d := decide(t, p)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true})
	require.NoError(t, err)
	parts, err := ByInstitution(t.Context(), p, plan)
	require.NoError(t, err)
	of := map[string]InstitutionPlan{}
	for _, x := range parts {
		of[x.Code] = x
	}
	require.Len(t, of["A"].ToPart, 1)
	assert.Equal(t, index(t, p, "F9"), of["A"].ToPart[0].Female)
	require.Len(t, of["D"].In, 1, "where nobody lives yet")
	assert.Equal(t, index(t, p, "M9"), of["D"].In[0].Mover())
}
