package journal

import (
	"maps"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatTheFilesKnowIsSaid: a hold and quarantine do not keep anybody from writing down
// what happened, and are told; a request that is there already is not written again.
func TestWhatTheFilesKnowIsSaid(t *testing.T) {
	files := maps.Clone(colony)
	files["holds.csv"] = "id,since,until,reason,blocks,note\nA04,2026-01-01,,too old to travel,moving,agreed with the coordinator\nA05,2026-01-01,2026-11-10,lame,both,\n"
	files["institutions.csv"] = "code,name,quarantine_days\nHOME,Here,20\nAWAY,There,\n"
	files["requests.csv"] = "bird,to,partner,asked_by,date,notes\nA04,AWAY,,them,2026-10-01,\n"
	files["studbook.csv"] += "B01,,F,,,2020-06-01,,HOME,,\nB02,,M,,,2020-06-01,,HOME,,\n"
	files["moves.csv"] = "id,date,from,to,reason\nB01,2026-11-01,AWAY,HOME,\n"
	f, _ := write(t, files)
	said := func(e Event) (codes []string, refused bool) {
		p, err := f.Draft(t.Context(), e)
		require.NoError(t, err)
		for _, x := range p.Findings {
			codes = append(codes, x.Column+" "+x.Code)
		}
		return codes, p.Refused()
	}
	for _, x := range []struct {
		e       Event
		want    []string
		refused bool
	}{
		{event("move", "bird", "A04", "to", "AWAY", "date", "2026-11-20"), []string{"bird " + codeOnHold}, false},
		{event("move", "bird", "A05", "to", "AWAY", "date", "2026-11-20"), nil, false}, // the hold was over
		{event("decision", "bird", "A04", "to", "AWAY", "decision", "agreed"), []string{"bird " + codeOnHold}, false},
		{event("decision", "bird", "A04", "to", "AWAY", "decision", "declined"), nil, false},
		{event("bond", "female", "B01", "male", "B02", "date", "2026-11-20"), []string{"female " + codeQuarantine}, false},
		{event("bond", "female", "B01", "male", "B02", "date", "2026-11-21"), nil, false}, // it ends on that day
		{event("request", "bird", "A04", "to", "AWAY"), []string{"bird " + codeOnRecord}, true},
		{event("request", "bird", "A04", "to", "AWAY", "partner", "B02"), []string{"bird " + codeAskedFor}, false},
		{event("request", "bird", "A05", "to", "AWAY"), nil, false},
	} {
		codes, refused := said(x.e)
		assert.Equal(t, x.want, codes, x.e)
		assert.Equal(t, x.refused, refused, x.e)
	}
	commit(t, f, event("decision", "bird", "A04", "to", "AWAY", "decision", "declined", "date", "2026-11-02"))
	codes, refused := said(event("request", "bird", "A04", "to", "AWAY"))
	assert.Empty(t, codes, "what was asked is answered: this is another request")
	assert.False(t, refused)
}
