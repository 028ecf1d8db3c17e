package question

import (
	"bytes"
	"context"
	"net/url"
	"sync/atomic"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pedigree/studbook/studbooktest"
)

// counted is a context that ends when it has been looked at so many times.
type counted struct {
	context.Context
	left atomic.Int64
	end  context.CancelFunc
}

func stopAfter(looks int64) *counted {
	ctx, end := context.WithCancel(context.Background())
	c := &counted{Context: ctx, end: end}
	c.left.Store(looks)
	return c
}

func (c *counted) Err() error {
	if c.left.Add(-1) < 0 {
		c.end()
	}
	return c.Context.Err()
}

// smallFolder is a colony of two institutions with something of everything that an
// answer looks at.
func smallFolder() fstest.MapFS {
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	return fstest.MapFS{
		"studbook.csv": file(`id,sex,sire,dam,hatch_date,death_date,origin,location
A1,M,wild,wild,2008-05-01,2022-03-01,wild,ONE
A2,F,wild,wild,2008-05-01,,wild,ONE
A3,M,wild,wild,2009-05-01,,wild,TWO
A4,F,wild,wild,2010-05-01,,wild,TWO
B1,M,A1,A2,2015-05-01,,captive,ONE
B2,F,A1,A2,2016-05-01,,captive,ONE
B3,M,A3,A4,2016-05-01,,captive,TWO
B4,F,A3,A4,2017-05-01,,captive,TWO
C1,M,B1,B4,2020-05-01,,captive,TWO
C2,F,B3 (0.5)|A3 (0.5),B2,2020-05-01,,captive,ONE
C3,F,unknown,B2,2021-05-01,,captive,ONE
C4,M,B1,B4,2023-05-01,,captive,TWO
C5,,A1,A2,2024-05-01,,captive,ONE
`),
		"bonds.csv":        file("female,male,since,until,ended_by\nA2,A1,2013-03-01,2022-03-01,death\nA4,A3,2014-03-01,,\nB4,B1,2019-02-01,,\n"),
		"clutches.csv":     file("female,male,laid,eggs,hatched\nA4,A3,2016-04-01,2,1\nB4,B1,2020-04-01,2,1\nB4,B1,2023-04-01,2,1\n"),
		"moves.csv":        file("id,date,from,to\nB1,2018-11-01,ONE,TWO\n"),
		"institutions.csv": file("code,name,nest_places\nONE,First Park,3\nTWO,Second Park,3\n"),
		"requests.csv":     file("bird,date,from,to,state\nC2,2024-11-01,TWO,ONE,received\n"),
		"programme.toml":   file("name = \"Thirteen birds\"\nhome = \"ONE\"\ncurrent_to = \"2025-01-15\"\n\n[survival]\nfirst_year = 0.7\nyearly = 0.9\n\n[months]\nlaying = [4, 5]\n"),
	}
}

// TestStoppedAtEveryLook stops every answer where it looks whether to go on, at
// each of the first places and then at ever fewer: it then says so, and is never half an answer taken for a whole one. A
// forecast alone may answer with the runs that it has made.
func TestStoppedAtEveryLook(t *testing.T) {
	studbooktest.WithoutRace(t)
	folder := smallFolder()
	for _, address := range []string{
		"mates", "mates?bird=C2", "mates?bird=C2&break-bonds=true", "plan", "plan?scope=programme&chicks=3", "transfer?bird=C2", "transfer?list=true",
		"transfer?requests=true", "review?runs=2", "forecast?years=3&runs=3", "birds?all=true", "bird?bird=C2", "kin?a=C2&b=C1", "check", "colony",
	} {
		t.Run(address, func(t *testing.T) {
			u, err := url.Parse(address)
			require.NoError(t, err)
			answer := func(ctx context.Context) (string, error) {
				asked, err := Named(u.Path).Parse(u.Query())
				require.NoError(t, err)
				f, err := ReadFrom(ctx, folder, "studbook.csv", nil)
				if err != nil {
					return "", err
				}
				x, err := asked.Answer(ctx, f)
				if err != nil {
					return "", err
				}
				var b bytes.Buffer
				require.NoError(t, x.Write(&b, "json"))
				return b.String(), nil
			}
			whole, err := answer(t.Context())
			require.NoError(t, err)
			stopped := 0
			for looks := int64(0); ; looks += 1 + looks/16 {
				ctx := stopAfter(looks)
				text, err := answer(ctx)
				if ctx.left.Load() >= 0 {
					require.NoError(t, err)
					require.Equal(t, whole, text)
					break
				}
				if err != nil {
					stopped++
					require.ErrorIs(t, err, context.Canceled, "after %d looks", looks)
				} else if u.Path != "forecast" {
					require.Equal(t, whole, text, "after %d looks", looks)
				}
			}
			assert.Positive(t, stopped)
		})
	}
}
