package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/pairing/forecast"
	"pairwright/pedigree/studbook"
)

// Where gene diversity does not fall under the first policy, how soon the other falls
// as far says nothing: the last years are held against each other.
func TestForecastLeadOfARiseComparesTheEnds(t *testing.T) {
	year := func(median float64) forecast.Year {
		return forecast.Year{Size: forecast.Figure{Median: 40}, GeneDiversity: forecast.Figure{Median: median}}
	}
	course := func(policy string, start, end, held float64, against ...forecast.Contrast) forecast.Course {
		return forecast.Course{Policy: policy, Years: []forecast.Year{year(start), year(end)}, GoalHeld: held, GoalLost: -1, Against: against}
	}
	ahead := forecast.Contrast{GeneDiversity: forecast.Mean{Value: 0.012, SE: 0.001}}
	behind := forecast.Contrast{GeneDiversity: forecast.Mean{Value: -0.012, SE: 0.001}, SameLoss: forecast.Mean{Value: 0, SE: 0}}
	lead := func(end, otherHeld float64) string {
		b := &forecastBuilder{
			&Forecast{Outset: &forecast.Outset{Day: studbook.DayOf(2026, 9, 30)}, Options: forecast.Options{Years: 1, Runs: 6, Goal: 0.9}},
			&forecast.Result{Runs: 6, Courses: []forecast.Course{
				course("decision", 0.95, end, 1, forecast.Contrast{}, ahead), course("bonds", 0.95, 0.94, otherHeld, behind, forecast.Contrast{}),
			}},
		}
		return b.lead()
	}
	rise := lead(0.952, 1)
	assert.Contains(t, rise, "A gene diversity of 0.9000 is held for 1 year in all runs, however pairs are chosen.")
	assert.Contains(t, rise, "With planning gene diversity does not fall: it is 0.9500 today and 0.9520 in 2027. "+
		"With nothing planned it is 0.9400 then; run for run it is 0.0120 ± 0.0020 higher with planning.")
	assert.NotContains(t, rise, "the same loss")
	assert.Contains(t, lead(0.949, 1), "With nothing planned the same loss of gene diversity comes after 0 years (0 to 0) instead of 1.")
	assert.Contains(t, lead(0.952, 0.5), "The season's decision: a gene diversity of 0.9000 is held for 1 year in all runs. Nothing planned: in 3 of 6 runs.")
}
