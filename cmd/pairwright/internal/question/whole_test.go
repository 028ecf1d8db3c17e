package question

import (
	"encoding/xml"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook/studbooktest"
)

// answered answers a question about the example colony.
func answered(t *testing.T, q *Question) *Answer {
	t.Helper()
	asked := q.Ask()
	x, err := asked.Answer(t.Context(), readExample(t, asked))
	require.NoError(t, err)
	return x
}

// TestBirdsTableShowsTheContract: what other programs read of a bird stands in
// the table that a person reads, and the other way round.
func TestBirdsTableShowsTheContract(t *testing.T) {
	headings := map[string]string{ // where they are not the key itself
		"id": "Bird", "age_years": "Age", "location": "At", "inbreeding": "F", "mk_rank": "Rank",
		"alive":       "At", // which says when a dead bird died
		"state_until": "State",
	}
	inTheTableAlone := []string{"Living descendants"} // bird has it as living_descendants
	var want []string
	row := reflect.TypeFor[contract.BirdRow]()
	for k := range row.NumField() {
		key := row.Field(k).Tag.Get("json")
		heading, other := headings[key]
		if !other {
			heading = strings.ToUpper(key[:1]) + strings.ReplaceAll(key[1:], "_", " ")
		}
		want = append(want, heading)
	}
	table := answered(t, birdsQuestion).build().Sections[0].Blocks[0].(*document.Table)
	var got []string
	for _, c := range table.Columns {
		got = append(got, c.Name)
	}
	assert.Subset(t, append(want, inTheTableAlone...), got, "the contract lacks a column of the table")
	assert.Subset(t, got, want, "the table lacks a key of the contract")
}

// TestFiguresOfTheReview: those of each section are there, each says in words what it
// shows, and is sound SVG without an identifier that another figure of the page has.
func TestFiguresOfTheReview(t *testing.T) {
	studbooktest.WithoutRace(t)
	ids := map[string]bool{}
	var figures []string
	for _, s := range answered(t, reviewQuestion).build().Sections {
		for _, b := range s.Blocks {
			f, ok := b.(*document.Figure)
			if !ok {
				continue
			}
			figures = append(figures, s.Title)
			assert.NotEmpty(t, f.Alt, "a figure of %s", s.Title)
			decoder := xml.NewDecoder(strings.NewReader(f.SVG))
			for {
				token, err := decoder.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err, "a figure of %s", s.Title)
				if e, ok := token.(xml.StartElement); ok {
					for _, a := range e.Attr {
						if a.Name.Local == "id" {
							assert.False(t, ids[a.Value], "%s: the id %q is used twice", s.Title, a.Value)
							ids[a.Value] = true
						}
					}
				}
			}
		}
	}
	const related = "Appendix: how the birds are related"
	assert.Equal(t, []string{"How it stands", "Ages", "Ages", "Gene diversity", "Founders", related, related, related}, figures)
}
