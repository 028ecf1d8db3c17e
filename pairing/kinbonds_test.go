package pairing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
)

// kinPairs has a pair of each kind of close kin, and one of first cousins; F of their
// chicks is by Wright 1922: 1/4 for full siblings, parent and chick, 1/8 for half
// siblings, 1/16 for first cousins.
const kinPairs = `id,sex,sire,dam,hatch_date,location,origin
F1,F,wild,wild,2010-05-01,A,wild
M1,M,wild,wild,2010-05-01,A,wild
F2,F,wild,wild,2010-05-01,A,wild
M2,M,wild,wild,2010-05-01,A,wild
SIS,F,M1,F1,2016-05-01,A,captive
BRO,M,M1,F1,2016-05-01,A,captive
HALF,M,M1,F2,2016-05-01,A,captive
SON,M,M2,F2,2016-05-01,A,captive
S1,F,M1,F1,2016-05-01,A,captive
S2,M,M1,F1,2016-05-01,A,captive
S3,F,wild,wild,2016-05-01,A,wild
S4,M,wild,wild,2016-05-01,A,wild
CF,F,S4,S1,2020-05-01,A,captive
CM,M,S2,S3,2020-05-01,A,captive
HF,F,M1,F2,2017-05-01,A,captive
`

// TestKinBonds lists bonds of full siblings, half siblings, and parent and chick,
// and leaves those of first cousins, of the parted and of the dead alone.
func TestKinBonds(t *testing.T) {
	p := programmeOf(t, "studbook.csv", kinPairs, "bonds.csv", `female,male,since,until
SIS,BRO,2022-01-01,
F2,SON,2022-01-01,
CF,CM,2022-01-01,
F1,HALF,2022-01-01,
S1,HALF,2020-01-01,2021-01-01
HF,S2,2022-01-01,
`, "programme.toml", settings)
	type pair struct {
		female, male string
		f            float64
		kin          pairing.KinCode
		half         bool
		line         int
	}
	var got []pair
	for _, x := range p.KinBonds(p.Settings().LimitInbreeding) {
		require.NotNil(t, x.Bond)
		got = append(got, pair{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID, x.F, x.Kin.Code, x.Kin.Half, x.Bond.Line})
	}
	assert.Equal(t, []pair{
		{"F2", "SON", 0.25, pairing.Chick, false, 3},
		{"HF", "S2", 0.125, pairing.Sibling, true, 7},
		{"SIS", "BRO", 0.25, pairing.Sibling, false, 2},
	}, got)
	assert.Len(t, p.KinBonds(0.0625), 4, "the first cousins too, by a stricter limit")
}

// TestKinBondWithoutARow has brother and sister on eggs of the running season.
func TestKinBondWithoutARow(t *testing.T) {
	p := programmeOf(t, "studbook.csv", kinPairs, "clutches.csv",
		"female,male,laid,eggs,fertile,hatched,fledged\nSIS,BRO,2026-02-18,2,,,\n", "programme.toml", settings)
	found := p.KinBonds(p.Settings().LimitInbreeding)
	require.Len(t, found, 1)
	assert.Nil(t, found[0].Bond)
	assert.Equal(t, 2, found[0].Clutch.Line)
}

// TestUnsexedPairIsOnePair has two birds of unknown sex that are bonded.
func TestUnsexedPairIsOnePair(t *testing.T) {
	p := programmeOf(t, "studbook.csv", flock+"U1,U,M1,F1,2018-05-01,A,captive\nU2,U,M1,F1,2018-05-01,A,captive\n",
		"bonds.csv", flockBonds+"U2,U1,2022-01-01\n", "programme.toml", settings)
	assert.Len(t, p.KinBonds(p.Settings().LimitInbreeding), 1)
	unsexed := 0
	for _, x := range decide(t, p).Bonds {
		if p.Book.Birds[x.Female].Sex == studbook.Unsexed {
			unsexed++
		}
	}
	assert.Equal(t, 1, unsexed)
}
