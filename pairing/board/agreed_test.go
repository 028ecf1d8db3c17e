package board

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing/review"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// TestWhatIsAgreedStandsOnTheBoard: moves that people agreed on, to a mate and without
// one, are tasks that need no asking.
func TestWhatIsAgreedStandsOnTheBoard(t *testing.T) {
	c := studbooktest.Read(t, "studbook.csv", `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2018-05-01,A,wild
F2,F,wild,wild,2018-05-01,A,wild
M1,M,wild,wild,2018-05-01,A,wild
M2,M,wild,wild,2018-05-01,B,wild
OLD,F,wild,wild,1990-05-01,A,wild
`,
		"decisions.csv", "date,what,birds,to,decision,by,until,reason\n2026-02-01,move,OLD,B,agreed,the committee,,a quiet place\n2026-02-01,move,F2;M2,B,agreed,the committee,,\n",
		"requests.csv", "bird,to,date\nF1,B,2026-02-20\n",
		"institutions.csv", "code,country,spaces_f,spaces_m,permit_weeks\nA,XA,2,2,3\nB,XB,5,5,3\n",
		"programme.toml", "[breeding_age]\nfemale = [2, 20]\nmale = [2, 20]\n[months]\nlaying = [6]\n")
	b := boardOn(t, c, "A", studbook.DayOf(2026, 3, 1))
	asked := map[string]Asked{}
	var answer *Task
	for k := range b.Tasks {
		switch x := &b.Tasks[k]; x.What {
		case SendBird, review.MoveBird:
			asked[x.Birds[0].ID] = x.Asked
			assert.Equal(t, "B", x.To)
		case AnswerRequest:
			answer = x
		}
	}
	assert.Equal(t, map[string]Asked{"OLD": IsAgreed, "F2": IsAgreed}, asked)
	require.NotNil(t, answer, "of F1 nobody has decided")
	assert.Equal(t, studbook.DayOf(2026, 2, 20)+answerDays, answer.Due)
}
