package studbook

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const oneBird = "id,sex,sire,dam,hatch_date\nA,M,,,2010\n"

func withSettings(t *testing.T, content string) (*Colony, error) {
	return Read(t.Context(), folder("studbook.csv", oneBird, "programme.toml", content), "studbook.csv", Options{})
}

func TestDefaults(t *testing.T) {
	c, err := Read(t.Context(), folder("studbook.csv", oneBird), "studbook.csv", Options{})
	require.NoError(t, err)
	p := c.Settings
	// Values and sources: the methods handbook, sections 6 and 8.
	assert.Equal(t, []Default{
		{"chicks_per_season", "1", noSource},
		{"chicks_per_pair", "2", noSource},
		{"lethal_equivalents", "1.57", "Ralls, Ballou & Templeton 1988, median of 40 mammal populations"},
		{"clutch_success", "0.5", noSource},
		{"quarantine_days", "30", noSource},
		{"seasons_ahead", "3", noSource},
		{"goal.gene_diversity", "0.9", "Soulé et al. 1986"},
		{"goal.years", "100", noSource},
		{"breeding_age.female", "from the ages of the recorded dams", noSource},
		{"breeding_age.male", "from the ages of the recorded sires", noSource},
		{"limits.inbreeding", "0.125", noSource},
		{"limits.preferred_inbreeding", "0.0625", noSource},
		{"moves.least_gain", "a quarter of the standard deviation of value over all eligible pairs", noSource},
		{"moves.ahead", "2", noSource},
		{"incubation.days", "28", noSource},
		{"incubation.candling_days", "10", noSource},
		{"incubation.settled_days", "14", noSource},
		{"rearing.days", "60", noSource},
		{"genotypes.error_rate", "0.01", noSource},
	}, p.Defaulted)
	p.Defaulted = nil
	assert.Equal(t, Settings{
		GoalGeneDiversity: 0.9, GoalYears: 100, ChicksPerSeason: 1, ChicksPerPair: 2,
		LimitInbreeding: 0.125, PreferInbreeding: 0.0625, LethalEquivalents: 1.57, ClutchSuccess: 0.5, QuarantineDays: 30,
		SeasonsAhead: 3, MovesAhead: 2, IncubationDays: 28, CandlingDays: 10, SettledDays: 14, RearingDays: 60, GenotypeErrors: 0.01,
		Columns: map[string]string{},
	}, p)
}

func TestAllSettings(t *testing.T) {
	c, err := withSettings(t, `
species = "an invented bird"
home = "HOME"
current_to = 2024-12-31
coordinator = " A. Name, a@b.example "
chicks_per_season = 1.5
chicks_per_pair = 3
lethal_equivalents = 6
clutch_success = 0.4
oldest_age = 41
quarantine_days = 21
seasons_ahead = 2

[goal]
gene_diversity = 0.95
years = 50
birds = 400

[breeding_age]
female = [4, 20]
male = [3.5]

[limits]
inbreeding = 0.1
preferred_inbreeding = 0.05

[months]
laying = [4, 5, 6]
moult = [8]
pairing = [2]

[moves]
least_gain = 0
ahead = 1.5

[incubation]
days = 31
candling_days = 9
settled_days = 5

[rearing]
days = 70

[genotypes]
error_rate = 0.02

[survival]
first_year = 0.6
yearly = 0.95

[columns]
sire = "Sire"
`)
	require.NoError(t, err)
	assert.Len(t, c.Settings.Given, len(AllSettings()))
	assert.Contains(t, c.Settings.Given, Given{"breeding_age.female", "4, 20", 20})
	c.Settings.Given = nil
	assert.Equal(t, Settings{
		Species: "an invented bird", Home: "HOME", CurrentTo: DayOf(2024, 12, 31), Coordinator: "A. Name, a@b.example",
		GoalGeneDiversity: 0.95, GoalYears: 50, GoalBirds: 400,
		FemaleFirst: 4, FemaleLast: 20, MaleFirst: 3.5,
		OldestAge: 41, ChicksPerSeason: 1.5, ChicksPerPair: 3,
		LimitInbreeding: 0.1, PreferInbreeding: 0.05, LethalEquivalents: 6, ClutchSuccess: 0.4, QuarantineDays: 21,
		SeasonsAhead: 2, LeastGain: new(float64), MovesAhead: 1.5,
		IncubationDays: 31, CandlingDays: 9, SettledDays: 5, RearingDays: 70, GenotypeErrors: 0.02, FirstYearSurvival: 0.6, YearlySurvival: 0.95,
		PairingMonths: []time.Month{2}, LayingMonths: []time.Month{4, 5, 6}, MoultMonths: []time.Month{8},
		Columns: map[string]string{"sire": "Sire"},
	}, c.Settings, "and nothing is defaulted")
	assert.Empty(t, c.Warnings)
}

func TestStricterLimitTakesThePreferenceAlong(t *testing.T) {
	c, err := withSettings(t, "[limits]\ninbreeding = 0.03\n")
	require.NoError(t, err)
	assert.Equal(t, 0.03, c.Settings.PreferInbreeding)
	assert.Contains(t, c.Settings.Defaulted, Default{"limits.preferred_inbreeding", "0.03", noSource})
	assert.Empty(t, c.Warnings)
}

func TestCurrentToAsText(t *testing.T) {
	c, err := withSettings(t, "current_to = \"2024-06\"\n")
	require.NoError(t, err)
	assert.Equal(t, DayOf(2024, 6, 30), c.Settings.CurrentTo)
}

func TestBadSettings(t *testing.T) {
	tests := []struct{ name, content, want string }{
		{"text for a number", "lethal_equivalents = \"many\"", `programme.toml:1: error: lethal_equivalents "many": the setting is of the wrong kind or out of range (write a number from 0 to 50)`},
		{"not a number", "lethal_equivalents = nan", `programme.toml:1: error: lethal_equivalents "nan": the setting is of the wrong kind or out of range (write a number from 0 to 50)`},
		{"fraction of a chick", "\nchicks_per_pair = 1.5", `programme.toml:2: error: chicks_per_pair "1.5": the setting is of the wrong kind or out of range (write a whole number from 1 to 100)`},
		{"percent", "[goal]\ngene_diversity = 90", `programme.toml:2: error: goal.gene_diversity "90": the setting is of the wrong kind or out of range (write a number from 0.01 to 1)`},
		{"month 13", "[months]\nmoult = [13]", `programme.toml:2: error: months.moult "[13]": the setting is of the wrong kind or out of range (write the months as numbers from 1 to 12, as [9, 10, 11])`},
		{"ages the wrong way", "[breeding_age]\nmale = [9, 3]", `programme.toml:2: error: breeding_age.male "[9, 3]": the setting is of the wrong kind or out of range (the last age is below the first; write the first and the last age in years, as [3, 20], or the first alone, as [3])`},
		{"date in another order", "current_to = \"3/4/2019\"", `programme.toml:1: error: current_to "3/4/2019": the setting is of the wrong kind or out of range (write 2019-04-03 for 3 April or 2019-03-04 for 4 March)`},
		{"number for a text", "home = 3", `programme.toml:1: error: home "3": the setting is of the wrong kind or out of range (write a text in quotation marks, as "HOME")`},
		{"a decimal comma", "[limits]\ninbreeding = 0,125", `programme.toml:2: error: a number has a comma (write it with a point, as 0.125)`},
		{"curly quotes", "home = “HOME”", `programme.toml:1: error: the quotation marks are not straight ones (write straight ones, as home = "HOME")`},
		{"no quotes", "home = HOME", `programme.toml:1: error: a text has no quotation marks (write them around it, as home = "HOME")`},
		{"a colon", "chicks_per_pair: 2", `programme.toml:1: error: there is a colon where a = belongs (write key = value)`},
		{"percent sign", "[goal]\ngene_diversity = 90%", `programme.toml:2: error: a number has a percent sign (write it as a share, as 0.9 for 90%)`},
		{"twice", "home = \"A\"\nhome = \"B\"", `programme.toml:2: error: it is set above already (delete one of the two; what stands under the same [table] twice goes under one of them)`},
		{"number for a column", "[columns]\nsire = 3", `programme.toml:2: error: columns.sire "3": the setting is of the wrong kind (write the file's name of the column in quotation marks, as sire = "Father")`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := withSettings(t, tt.content)
			assert.EqualError(t, err, tt.want)
		})
	}
}

func TestTablesThatAreNone(t *testing.T) {
	for _, content := range []string{"goal = 3", "[[goal]]\nyears = 3", "limits.inbreeding.most = 3", "columns = 1", "[species]\nname = \"x\""} {
		c, err := withSettings(t, content)
		assert.NotEmpty(t, findingsOf(t, c, err), content)
	}
}

// TestSettingsThatDoNothing: what is set and has no effect, or one that cannot be meant.
func TestSettingsThatDoNothing(t *testing.T) {
	for content, want := range map[string]string{
		"Chicks_Per_Season = 2":                       `chicks_per_season is meant`,
		"gene_diversity = 0.95":                       `goal.gene_diversity is meant`,
		"[survival]\nfirst_year = 0.7":                `survival.first_year "0.7": it is not used, because survival.yearly is not set`,
		"[survival]\nyearly = 0.9":                    `survival.yearly "0.9": it is not used, because survival.first_year is not set`,
		"[incubation]\ndays = 20\ncandling_days = 25": `incubation.candling_days "25": the eggs have hatched by then: incubation.days is 20`,
		"[incubation]\nsettled_days = 40":             `incubation.settled_days "40": the eggs have hatched by then: incubation.days is 28`,
		"[[goal]]\nyears = 3":                         `programme.toml:1: warning: goal: no such setting`,
	} {
		c, err := withSettings(t, content+"\n")
		require.NoError(t, err, content)
		require.Len(t, c.Warnings, 1, content)
		assert.Contains(t, c.Warnings[0].String(), want)
	}
	c, err := withSettings(t, "[incubation]\ndays = 12\n")
	require.NoError(t, err)
	assert.Empty(t, c.Warnings, "what is not set is not at fault")
}
