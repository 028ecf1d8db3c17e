package pairing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook/studbooktest"
)

// sixBirds are two of each sex at A, and one at B.
var sixBirds = []string{
	"studbook.csv", "id,sex,sire,dam,hatch_date,location,origin\n" +
		"F1,F,wild,wild,2015-05-01,A,wild\nM1,M,wild,wild,2015-05-01,A,wild\n" +
		"F2,F,wild,wild,2015-05-01,A,wild\nM2,M,wild,wild,2015-05-01,A,wild\nF3,F,wild,wild,2015-05-01,B,wild\nM3,M,wild,wild,2015-05-01,B,wild\n",
	"programme.toml", settings,
}

// heard decides with decisions on file and returns them by their reason.
func heard(t *testing.T, files []string, rows ...string) (*pairing.Decision, map[string]pairing.Ruling) {
	t.Helper()
	return heardOn(t, today, files, rows...)
}

// heardOn does so on another day.
func heardOn(t *testing.T, day string, files []string, rows ...string) (*pairing.Decision, map[string]pairing.Ruling) {
	t.Helper()
	d := decide(t, programmeOn(t, day, append(append([]string{}, files...), decisions(rows...)...)...))
	out := map[string]pairing.Ruling{}
	for _, w := range d.Rulings() {
		out[w.Ruling.Reason] = w
	}
	return d, out
}

// TestTheLastWordHolds: of two words on the same birds that cannot both be done the
// later holds, whatever each of them is about.
func TestTheLastWordHolds(t *testing.T) {
	bonded := append([]string{"bonds.csv", "female,male,since\nF1,M1,2022-01-01\n"}, sixBirds...)
	for _, c := range []struct {
		name           string
		files          []string
		first, later   string
		pairs, departs bool // F1 and M3 become a pair; F1 leaves A
	}{
		{"no bond after a move to it", sixBirds, "move,F1; M3,B,agreed", "bond,F1; M3,,declined", false, false},
		{"no move after a bond", sixBirds, "bond,F1; M3,B,agreed", "move,F1,B,declined", false, false},
		{"no move after one to a mate", sixBirds, "move,F1; M3,B,agreed", "move,F1,B,declined", false, false},
		{"no move to a mate after a bond", sixBirds, "bond,F1; M3,B,agreed", "move,F1; M3,B,declined", false, false},
		{"the other may move", sixBirds, "bond,F1; M3,,agreed", "move,F1,B,declined", true, false},
	} {
		first, later := "2026-01-02,"+c.first+",,,first", "2026-01-03,"+c.later+",,,later"
		t.Run(c.name, func(t *testing.T) {
			d, w := heard(t, c.files, first, later)
			x, paired := d.BondOf(0)
			assert.Equal(t, c.pairs, paired && x.Male == 5 && x.Word != nil)
			for _, m := range d.AllMoves() {
				assert.Equal(t, c.departs, m.Bird == 0, "%v", m)
			}
			if c.pairs {
				assert.Equal(t, pairing.RulingFixed, w["first"].Standing)
			} else {
				assert.Equal(t, pairing.RulingStopped, w["first"].Standing)
				assert.Equal(t, pairing.Overruled, w["first"].Why.Code)
			}
		})
		t.Run(c.name+", and then all the same", func(t *testing.T) {
			d, w := heard(t, c.files, "2026-01-04,"+c.first+",,,first", later)
			x, _ := d.BondOf(0)
			assert.True(t, x.Male == 5 && x.Word != nil)
			assert.Equal(t, pairing.RulingFixed, w["first"].Standing)
		})
	}

	d, w := heard(t, bonded, "2026-01-02,part,F1; M1,,agreed,,,part", "2026-01-03,bond,F1; M1,,agreed,,,stay")
	assert.Equal(t, pairing.Overruled, w["part"].Why.Code)
	assert.Equal(t, pairing.RulingDone, w["stay"].Standing)
	x, _ := d.BondOf(0)
	assert.Equal(t, pairing.BondKept, x.Kind)
	_, w = heard(t, bonded, "2026-01-04,part,F1; M1,,agreed,,,part", "2026-01-03,bond,F1; M1,,agreed,,,stay")
	assert.Equal(t, pairing.RulingFixed, w["part"].Standing)
}

// TestWordsAsThingsStand: what was agreed is fixed, done, or stopped for a reason, as
// the files have it. Worked by hand.
func TestWordsAsThingsStand(t *testing.T) {
	files := append([]string{
		"bonds.csv", "female,male,since\nF1,M1,2022-01-01\nF3,M3,2022-01-01\n",
		"clutches.csv", "female,male,laid,eggs\nF3,M3,2026-02-20,2\n",
		"holds.csv", "id,since,reason,blocks\nM4,2026-01-01,foot,breeding\n",
	}, "studbook.csv", "id,sex,sire,dam,hatch_date,death_date,location,origin\n"+
		"F1,F,wild,wild,2015-05-01,,A,wild\nM1,M,wild,wild,2015-05-01,,A,wild\nF2,F,wild,wild,2015-05-01,,A,wild\nM2,M,wild,wild,2015-05-01,,B,wild\n"+
		"F3,F,wild,wild,2015-05-01,,B,wild\nM3,M,wild,wild,2015-05-01,,B,wild\nM4,M,wild,wild,2015-05-01,,B,wild\nF4,F,wild,wild,2015-05-01,,,wild\nF5,F,wild,wild,2015-05-01,2026-02-01,A,wild\nF6,F,wild,wild,2015-05-01,,B,wild\n",
		"programme.toml", settings)
	for _, c := range []struct {
		rows     []string
		standing pairing.RulingStanding
		why      pairing.Code
	}{
		{[]string{"2026-01-10,bond,F5; M2,,agreed"}, pairing.RulingStopped, pairing.Dead},
		{[]string{"2026-01-10,part,F3; M3,,agreed"}, pairing.RulingStopped, pairing.OnNest},
		{[]string{"2026-01-10,move,M3,A,agreed"}, pairing.RulingStopped, pairing.OnNest},
		{[]string{"2025-04-10,hatch,F1; M1,,agreed"}, pairing.RulingStopped, pairing.OffSeason}, // of the season before
		{[]string{"2026-02-10,hatch,M1; F1,,agreed"}, pairing.RulingFixed, ""},
		{[]string{"2026-02-10,hatch,F1; M1,,agreed", "2026-02-11,part,F1; M1,,agreed"}, pairing.RulingStopped, pairing.Overruled},
		{[]string{"2026-02-10,part,F1; M1,,agreed", "2026-02-11,hatch,F1; M1,,agreed"}, pairing.RulingStopped, pairing.Overruled},
		{[]string{"2026-01-10,move,F2,A,agreed"}, pairing.RulingDone, ""},
		{[]string{"2026-01-10,move,F1; M1,A,agreed"}, pairing.RulingDone, ""},
		{[]string{"2026-01-10,move,F4,A,agreed"}, pairing.RulingStopped, pairing.NoMeeting}, // nobody knows where it is
		{[]string{"2026-01-10,bond,F4; M2,,agreed"}, pairing.RulingStopped, pairing.NoMeeting},
		{[]string{"2026-01-10,bond,F2; M2,C,agreed"}, pairing.RulingStopped, pairing.NoMeeting}, // neither of them lives there
		{[]string{"2026-01-10,bond,F2; M4,,agreed"}, pairing.RulingStopped, pairing.OnHold},
		{[]string{"2026-01-10,move,F2,B,agreed", "2026-01-11,move,F2,C,agreed"}, pairing.RulingStopped, pairing.Overruled},
		{[]string{"2026-01-10,move,F2,C,agreed", "2026-01-11,move,F2; M2,B,agreed"}, pairing.RulingStopped, pairing.Overruled},
		{[]string{"2026-01-10,move,F2,B,agreed", "2026-01-11,move,F2,A,agreed"}, pairing.RulingStopped, pairing.Overruled}, // it lives at A
		{[]string{"2026-01-10,bond,F2; M2,,agreed", "2026-01-11,move,F2; M2,B,agreed"}, pairing.RulingFixed, ""},           // said twice
		// It has come, and the mate that it came for cannot breed: nothing is left to move.
		{[]string{"2026-01-10,move,F6; M4,B,agreed"}, pairing.RulingDone, ""},
		{[]string{"2026-01-10,move,F6; M1,B,agreed"}, pairing.RulingDone, ""},
	} {
		t.Run(c.rows[0], func(t *testing.T) {
			rows := []string{c.rows[0] + ",,,first"}
			for _, row := range c.rows[1:] {
				rows = append(rows, row+",,,later")
			}
			d, w := heard(t, files, rows...)
			assert.Equal(t, c.standing, w["first"].Standing)
			assert.Equal(t, c.why, w["first"].Why.Code)
			for _, m := range d.AllMoves() {
				assert.NotEqual(t, m.From, m.To, "a bird is sent to where it is")
			}
		})
	}

	// Who is sent to a place is the one that moves to a mate there. Birds are by id.
	for row, mover := range map[string]int{"2026-01-10,move,F2,B,agreed,,,first": 1, "2026-01-10,move,M2,A,agreed,,,first": 7} {
		d, w := heard(t, files, row, "2026-01-05,bond,F2; M2,,agreed,,,bond")
		assert.Equal(t, pairing.RulingFixed, w["bond"].Standing)
		require.Len(t, d.AllMoves(), 1)
		assert.Equal(t, mover, d.AllMoves()[0].Bird, row)
	}
	d, _ := heard(t, files, "2026-01-10,move,F6,A,agreed,,,", "2026-01-11,move,F2,B,agreed,,,")
	assert.Equal(t, []pairing.PlannedMove{{Bird: 1, From: "A", To: "B"}, {Bird: 5, From: "B", To: "A"}}, d.Sent(), "by bird")
}

// TestWorthNoMove: of birds that are left alone because a move would gain too little,
// the gain that is named is what agreeing on that pair adds to the best sum of the
// rest (an oracle: the decision taken anew), and is less than a move must be worth.
func TestWorthNoMove(t *testing.T) {
	found := 0
	for seed := range uint64(60) {
		files := randomColony(seed, 3)
		files[len(files)-1] = settings + "[moves]\nleast_gain = 0.02\n"
		p := programmeOf(t, files...)
		d := decide(t, p)
		charged := func(d *pairing.Decision) float64 { return d.Sum - d.LeastGain*float64(d.Moves) }
		for _, b := range p.Book.Living {
			if _, paired := d.BondOf(b); paired {
				continue
			}
			why := d.WhyAlone(b)
			if why.Code != pairing.NotWorthMove {
				continue
			}
			found++
			assert.Greater(t, why.Value, 0.0)
			assert.LessOrEqual(t, why.Value, why.Other)
			with := decide(t, programmeOf(t, append(files, decisions("2026-01-05,bond,"+p.Book.Birds[b].ID+"; "+why.Birds[0].ID+",,agreed,,,")...)...))
			assert.InDelta(t, charged(d)+why.Value, charged(with)+d.LeastGain, 1e-12, "seed %d, %s", seed, p.Book.Birds[b].ID)
		}
	}
	assert.Greater(t, found, 10)
}

// TestWordsCarriedOut: what was agreed and came about is done, though the bird has gone
// on or the pair has parted since; what is agreed anew is not.
func TestWordsCarriedOut(t *testing.T) {
	files := append([]string{
		"moves.csv", "id,date,from,to\nF1,2026-01-20,A,B\nF1,2026-02-05,B,A\n",
		"bonds.csv", "female,male,since,until\nF1,M1,2026-01-20,2026-02-05\n",
	}, sixBirds...)
	for row, standing := range map[string]pairing.RulingStanding{
		"2026-01-10,move,F1,B,agreed":      pairing.RulingDone,
		"2026-02-06,move,F1,B,agreed":      pairing.RulingFixed,
		"2026-01-10,bond,M1; F1,,agreed":   pairing.RulingDone,
		"2026-02-06,bond,F1; M1,,agreed":   pairing.RulingFixed,
		"2026-01-10,move,F1; M3,B,agreed":  pairing.RulingDone,
		"2026-02-06,move,F1; M3,B,agreed":  pairing.RulingFixed,
		"2026-01-10,move,F1,B,declined":    pairing.RulingClosed,
		"2026-01-10,bond,F1; M1,,declined": pairing.RulingClosed,
	} {
		d, w := heard(t, files, row+",,,word")
		assert.Equal(t, standing, w["word"].Standing, row)
		if standing == pairing.RulingDone {
			assert.Empty(t, d.AllMoves(), row)
		}
	}
}

// TestPermitsAreAskedForOnce: what a permit takes counts from the day on which people agreed
// on the move, not anew every day, so that the bird may travel on the day that they were told.
func TestPermitsAreAskedForOnce(t *testing.T) {
	files := append([]string{"institutions.csv", "code,country,permit_weeks,quarantine_days\nA,GB,10,30\nB,NL,10,30\n"},
		sixBirds[0], sixBirds[1], "programme.toml", strings.Replace(settings, "[months]\n", "[months]\npairing = [2, 3]\n", 1))
	const agreed = "2025-10-01,move,F1; M3,B,agreed,,,"
	for _, c := range []struct {
		day, earliest string
		rows          []string
		late          bool
	}{
		{"2025-10-01", "2025-12-10", []string{agreed}, false},
		{"2025-12-10", "2025-12-10", []string{agreed}, false},
		{"2025-12-20", "2025-12-20", []string{agreed}, false},
		{"2026-01-10", "2026-06-01", []string{agreed}, true}, // its quarantine would last into the pairing months
		{"2025-12-10", "2026-06-01", nil, true},              // nobody has asked for the permit
		{"2025-12-10", "2026-06-01", []string{"2025-10-01,move,F1; M3,B,waiting,,,"}, true},
		{"2025-12-10", "2025-12-10", []string{"2025-10-01,bond,F1; M3,B,agreed,,,"}, false},
		{"2025-12-10", "2026-06-01", []string{"2025-10-01,bond,F2; M3,B,agreed,,,"}, true}, // of another bird
	} {
		p := programmeOn(t, c.day, append(decisions(c.rows...), files...)...)
		assert.Equal(t, c.earliest, p.Timing(0, "A", "B").Earliest.Date().Text, "%s %v", c.day, c.rows)
		if x, paired := decide(t, p).BondOf(0); c.rows != nil && c.rows[0] == agreed {
			assert.True(t, paired)
			assert.Equal(t, c.late, x.Late, "%s %v", c.day, c.rows)
		}
	}
}

// TestADeclinedMoveClosesThePlace: where a place has declined a bird, whoever was to be its
// mate there, no move of it to that place is made for another; where the mate alone was
// refused, as a bond, the place stays open.
func TestADeclinedMoveClosesThePlace(t *testing.T) {
	for said, open := range map[string]bool{
		"2026-01-02,move,F3,A,declined,,,no room":       false,
		"2026-01-02,move,F3; M1,A,declined,,,no room":   false,
		"2026-01-02,bond,F3; M1,,declined,,,they fight": true,
	} {
		d, _ := heard(t, sixBirds, said)
		for _, mate := range []int{-1, 3, 4} { // nobody, the males at A
			_, no := d.DeclinedMove(2, mate, "A")
			assert.Equal(t, open, !no, "%s: with %d", said, mate)
		}
	}
	d, w := heard(t, sixBirds, "2026-01-02,move,F3; M1,A,declined,,,no room", "2026-01-03,move,F3; M2,A,agreed,,,yes")
	assert.Equal(t, pairing.RulingFixed, w["yes"].Standing, "agreed on since")
	_, no := d.DeclinedMove(2, 4, "A")
	assert.False(t, no)
}

// TestYoungBirdsAreDecidedAnew: what need not be settled before another season is decided
// stands for now, and nothing that is to be done before.
func TestYoungBirdsAreDecidedAnew(t *testing.T) {
	files := studbooktest.ExampleFolder(t)
	var all []string
	for name, text := range files {
		all = append(all, name, text)
	}
	for day, anew := range map[string]string{"2024-09-30": "2025-07-01", "2025-09-30": "2026-07-01", "2026-09-30": "2027-07-01", "2027-05-10": "2027-07-01", "2027-09-30": "2028-07-01"} {
		p := programmeOn(t, day, all...)
		young, err := decide(t, p).Young(t.Context())
		require.NoError(t, err)
		assert.Equal(t, anew, p.DecidedAnew().String(), day)
		open := 0
		for _, y := range young {
			switch {
			case y.Mate < 0 || y.SexUnknown:
				assert.Zero(t, y.Anew)
			case y.Leaves() && y.Timing.Latest != 0 && y.Timing.Latest < p.DecidedAnew():
				assert.Zero(t, y.Anew, "%s: %s leaves before", day, p.Book.Birds[y.Bird].ID)
			case y.Anew != 0:
				open++
				assert.Equal(t, p.DecidedAnew(), y.Anew)
			}
		}
		assert.Positive(t, open, day)
	}
}
