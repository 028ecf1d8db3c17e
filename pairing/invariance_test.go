package pairing_test

import (
	"encoding/csv"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/studbooktest"
)

// season is a plan in the terms of its colony.
type season struct {
	pairs                     map[string]string
	expected, enough, planned float64
}

// seasonOf plans the season of the whole programme and names each pair by its two birds,
// first the female (0) or the male (1).
func seasonOf(t *testing.T, files map[string]string, first int) season {
	t.Helper()
	var list []string
	for name, text := range files {
		list = append(list, name, text)
	}
	c := studbooktest.Read(t, list...)
	p, err := pairing.New(t.Context(), c.At(c.FilesDay))
	require.NoError(t, err)
	wanted, _ := p.ChicksNeeded("", true)
	d, err := p.Decide(t.Context(), pairing.DecisionOptions{})
	require.NoError(t, err)
	plan, err := d.Plan(t.Context(), pairing.PlanOptions{Whole: true, Chicks: wanted, PairsAlone: true})
	require.NoError(t, err)
	s := season{make(map[string]string), plan.Expected, plan.ChanceEnough, plan.Planned}
	for _, x := range plan.Pairs {
		ids := [2]string{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID}
		s.pairs[ids[first]+" × "+ids[1-first]] = fmt.Sprintf("%s %d, up to %d, %.9f", x.Role, x.Order, x.HatchUpTo, x.Expected)
	}
	return s
}

// same compares two plans: who, in which order, how many, and the figures to rounding.
func (s season) same(t *testing.T, other season) {
	t.Helper()
	assert.Equal(t, s.pairs, other.pairs)
	assert.InDelta(t, s.expected, other.expected, 1e-9)
	assert.InDelta(t, s.enough, other.enough, 1e-9)
	assert.InDelta(t, s.planned, other.planned, 1e-12)
}

// edited changes the rows of a file of the example; its remarks are left out.
func edited(t *testing.T, text string, change func(head, row []string)) string {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		change(rows[0], row)
	}
	var b strings.Builder
	require.NoError(t, csv.NewWriter(&b).WriteAll(rows))
	return b.String()
}

// TestYearsShifted: nothing hangs on the year that is written down. Twenty years earlier,
// with the same leap days and decades, the season is the same.
func TestYearsShifted(t *testing.T) {
	studbooktest.WithoutRace(t)
	files := studbooktest.ExampleFolder(t)
	now := seasonOf(t, files, 0)
	require.NotEmpty(t, now.pairs)
	year := regexp.MustCompile(`\b(19|20)\d[\dX]\b`)
	earlier := func(s string) string {
		return year.ReplaceAllStringFunc(s, func(y string) string {
			decade, err := strconv.Atoi(y[:3])
			require.NoError(t, err)
			return strconv.Itoa(decade-2) + y[3:]
		})
	}
	dated := []string{"hatch_date", "death_date", "date", "since", "until", "laid"}
	for name, text := range files {
		if name == "programme.toml" {
			files[name] = earlier(text)
			continue
		}
		files[name] = edited(t, text, func(head, row []string) {
			for k, column := range head {
				if slices.Contains(dated, column) {
					row[k] = earlier(row[k])
				}
			}
		})
	}
	now.same(t, seasonOf(t, files, 0))
}

// TestSexesExchanged: no rule of the decision favours a sex. With females and males
// exchanged in every file, and with them what is known of each sex, the season is the same.
func TestSexesExchanged(t *testing.T) {
	studbooktest.WithoutRace(t)
	files := studbooktest.ExampleFolder(t)
	now := seasonOf(t, files, 0)
	sexes := map[string]string{studbook.Female.String(): studbook.Male.String(), studbook.Male.String(): studbook.Female.String()}
	for name, text := range files {
		if name == "programme.toml" {
			files[name] = strings.NewReplacer("female = ", "male = ", "male = ", "female = ").Replace(text)
			require.NotEqual(t, text, files[name])
			continue
		}
		files[name] = edited(t, text, func(head, row []string) {
			for _, pair := range [][2]string{{"sire", "dam"}, {"female", "male"}, {"spaces_f", "spaces_m"}} {
				if a, b := slices.Index(head, pair[0]), slices.Index(head, pair[1]); a >= 0 {
					row[a], row[b] = row[b], row[a]
				}
			}
			if k := slices.Index(head, "sex"); k >= 0 && sexes[row[k]] != "" {
				row[k] = sexes[row[k]]
			}
		})
	}
	now.same(t, seasonOf(t, files, 1))
}
