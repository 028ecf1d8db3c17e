package studbook

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseParentage(t *testing.T) {
	tests := []struct {
		cell    string
		want    Parentage
		missing float64
	}{
		{"", Parentage{}, 0},
		{"unknown", Parentage{}, 0},
		{"UNKNOWN", Parentage{}, 0},
		{"wild", Parentage{Wild: true}, 0},
		{" Wild ", Parentage{Wild: true}, 0},
		{"A12", Parentage{Candidates: []Candidate{{"A12", 1}}}, 0},
		{"Żółw / 7 (old), #3", Parentage{Candidates: []Candidate{{"Żółw / 7 (old), #3", 1}}}, 0},
		{"A12=0.7; B3=0.3", Parentage{Candidates: []Candidate{{"A12", 0.7}, {"B3", 0.3}}}, 0},
		{"A12 = 0,7 ;B3=0,3;", Parentage{Candidates: []Candidate{{"A12", 0.7}, {"B3", 0.3}}}, 0},
		{"A12;B3", Parentage{Candidates: []Candidate{{"A12", 0.5}, {"B3", 0.5}}}, 0},
		{"A=0.1;B=0.2;C=0.7", Parentage{Candidates: []Candidate{{"A", 0.1}, {"B", 0.2}, {"C", 0.7}}}, 0}, // sums to 1 only within rounding
		{"A12=1", Parentage{Candidates: []Candidate{{"A12", 1}}}, 0},
		{"A12=0.75", Parentage{Candidates: []Candidate{{"A12", 0.75}}}, 0.25},
		{"A12=0.5; unknown=0.25", Parentage{Candidates: []Candidate{{"A12", 0.5}}}, 0.5},
		{"A12; B3; wild; unknown", Parentage{Candidates: []Candidate{{"A12", 0.25}, {"B3", 0.25}}}, 0.5},
		{"unknown; wild", Parentage{}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.cell, func(t *testing.T) {
			p, missing, err := ParseParentage(tt.cell)
			require.NoError(t, err)
			assert.Equal(t, tt.want, p)
			assert.InDelta(t, tt.missing, missing, 1e-15)
		})
	}
}

func TestParseParentageErrors(t *testing.T) {
	tests := []struct{ cell, want string }{
		{"A=0.7; B=0.4", "the weights add up to 1.1, more than 1; lower them until they add up to 1 or less"},
		{"A=0.7; B", "some candidates have a weight and some have none; give one to each, or to none if they are equally likely"},
		{"A; A", `"A" is named twice; add its weights together`},
		{"A=x", `the weight "x" of "A" is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3`},
		{"A=0", `the weight "0" of "A" is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3`},
		{"A=-0.5", `the weight "-0.5" of "A" is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3`},
		{"A=NaN", `the weight "NaN" of "A" is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3`},
		{"A=70", `the weight "70" of "A" is not a number above 0 and up to 1; write it as A12=0.7; B3=0.3`},
		{"A=0.7 B=0.3", `two equals signs in "A=0.7 B=0.3"; put a semicolon between candidates, as A12=0.7; B3=0.3`},
		{"=0.5", "a weight stands without a bird; write A12=0.7; B3=0.3"},
		{";", "no bird is named; leave the cell blank if the parent is unknown"},
	}
	for _, tt := range tests {
		t.Run(tt.cell, func(t *testing.T) {
			p, missing, err := ParseParentage(tt.cell)
			require.EqualError(t, err, tt.want)
			assert.Equal(t, Parentage{}, p)
			assert.Zero(t, missing)
		})
	}
}

func FuzzParseParentage(f *testing.F) {
	for _, s := range []string{"", "wild", "A12", "A12=0.7; B3=0.3", "A;B;C", "A=0,5", "A=1e-300; B=1", "=;=", "A=0.6;B=0.6", "unknown; A"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, missing, err := ParseParentage(s)
		if err != nil {
			assert.Equal(t, Parentage{}, p)
			return
		}
		assert.True(t, missing >= 0 && missing <= 1, "missing %v", missing)
		sum := missing
		for _, c := range p.Candidates {
			assert.NotEmpty(t, c.ID)
			assert.True(t, c.Weight > 0 && c.Weight <= 1, "weight %v", c.Weight)
			sum += c.Weight
		}
		if len(p.Candidates) > 0 {
			assert.False(t, p.Wild)
			assert.InDelta(t, 1, sum, 2*weightSlack)
		}
	})
}
