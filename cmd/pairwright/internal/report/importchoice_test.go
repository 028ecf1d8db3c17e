package report

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/exchange"
)

// TestEveryChoiceOfAnImportHasWords: one without would be a blank line in the
// form.
func TestEveryChoiceOfAnImportHasWords(t *testing.T) {
	asked := 0
	for name, text := range map[string]string{
		"birds":  "id;sex;sire;dam;hatched;status\nA1;X;;;3.4.2011;Q\nA2;X;;;5.6.2011;Q\nA3;;A1;A2;1.2.2012;\nA4;;LOT;LOT;1.2.2012;\nA4;;A1;A2;2.2.2013;\n",
		"events": "Date;Ring;Event;With\n3.4.2011;A1;hatched;\n3.4.2012;A1;gewuzzelt;\n",
		"nests":  "Nest;Female;Male;From;To\n1;A1;A2;2011;2012\n",
		"groups": "Group;Season;Males;Females\nX;2011;A1;A2\n",
	} {
		res, err := exchange.Import(t.Context(), fstest.MapFS{name + ".csv": {Data: []byte(text)}}, name+".csv", exchange.Options{})
		require.NoError(t, err)
		var all []*exchange.Choice
		for _, c := range res.Report.Columns {
			all = append(all, c.Choice)
		}
		for _, d := range append(res.Report.Stops, res.Report.Decisions...) {
			all = append(all, d.Choice)
		}
		for k := range res.Report.Words {
			all = append(all, &res.Report.Words[k].Choice)
		}
		for _, c := range all {
			if c == nil {
				continue
			}
			asked++
			assert.NotContains(t, ImportQuestion(c), "has ?", "%s: %+v", name, c)
			for _, o := range c.May {
				assert.NotEmpty(t, ImportAnswer(c, o.Answer), "%s: %+v %q", name, c, o.Answer)
			}
		}
	}
	assert.Greater(t, asked, 25)
}
