package studbook

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Settings are what a keeper decides: the settings of programme.toml, defaults filled in.
type Settings struct {
	Species   string
	Home      string // code of the home institution; "" if not set
	CurrentTo Day    // the day the files were last brought up to date; 0 if not set

	Coordinator string // of the programme, with where to write to; "" if not set

	GoalGeneDiversity float64 // share of the founders' gene diversity to keep; default 0.90
	GoalYears         int     // for how many years; default 100
	GoalBirds         int     // number of living birds wanted in the programme; 0 if not set

	// Breeding ages in years, both ends included; 0 where programme.toml
	// sets none: the ages then come from the recorded parents.
	FemaleFirst, FemaleLast, MaleFirst, MaleLast float64

	OldestAge       float64 // the species' record in years; 0 if not set
	ChicksPerSeason float64 // chicks a pair hatches in a season in which it breeds; default 1
	ChicksPerPair   int     // most chicks one pair may hatch in a season; default 2

	LimitInbreeding   float64 // most F a planned chick may have; default 0.125
	PreferInbreeding  float64 // F below which a pair is preferred; default 0.0625
	LethalEquivalents float64 // per gamete; default 1.57 (Ralls, Ballou & Templeton 1988)
	ClutchSuccess     float64 // chance that a clutch fledges a chick where no clutch is on record; default 0.5
	QuarantineDays    int     // where the institution gives none; default 30

	SeasonsAhead int      // seasons over which the chicks of a pair count; default 3
	LeastGain    *float64 // least net gain for which birds move; nil if not set
	MovesAhead   float64  // years before its breeding age that a young bird's move is decided; default 2

	IncubationDays int // from the first egg to the hatch; default 28
	CandlingDays   int // after the first egg eggs are candled; default 10
	SettledDays    int // after the first egg a sitting pair loses no egg; default 14
	RearingDays    int // from hatch to fledging; default 60

	GenotypeErrors float64 // chance that what was found of a bird at a marker has nothing to do with its genes; default 0.01

	// Survival where no life table can be had, shares in 0..1; 0 if not set.
	FirstYearSurvival, YearlySurvival float64

	PairingMonths []time.Month // in which pairs form
	LayingMonths  []time.Month
	MoultMonths   []time.Month

	Columns map[string]string // our column name -> the file's

	// Defaulted names the keys that programme.toml does not set, in the
	// order of the file's documentation, each with the value used and, if
	// it has one, its source: "goal.gene_diversity = 0.9 (Soulé et al. 1986)".
	Defaulted []Default
	// Given are the keys that programme.toml sets, in the order of the file's
	// documentation.
	Given []Given
}

// Given is a setting that the user made.
type Given struct {
	Key   string // as in programme.toml, dotted: "limits.inbreeding"
	Value string // as a person reads it: "0.125", "3, 22"
	Line  int    // of programme.toml; 0 where it is written in a way that hides it
}

// Default is a setting that the user did not make.
type Default struct {
	Key    string // as in programme.toml, dotted: "limits.inbreeding"
	Value  string // as a person reads it: "0.125"
	Source string // paper, or "common practice, no source"
}

// Setting is a key of programme.toml as it is declared.
type Setting struct {
	Key     string // dotted, as "limits.inbreeding"
	Means   string // in plain words
	Unit    string // "" where there is none
	Default string // as a person reads it; "" if there is none
	Source  string // of the default: a paper, or "common practice, no source"
	Example string // a value as programme.toml may have it
}

// setting is a Setting with how it is read.
type setting struct {
	Setting
	set      func(p *Settings, value any) error
	standard any // the default, as TOML would give it; nil if it is none or no value
}

const noSource = "common practice, no source"

// settings are the keys of programme.toml in the order of its documentation,
// but for [columns].
var settings = []setting{
	unset("species", "the species, for the documents", "", `"saffron cliff ibis"`, text(func(p *Settings) *string { return &p.Species })),
	unset("home", "code of your own institution", "", `"HOME"`, text(func(p *Settings) *string { return &p.Home })),
	unset("current_to", "the day to which the files are kept; answers are for that day unless another is asked for", "date", `"2026-12-31"`, setCurrentTo),
	unset("coordinator", "who coordinates the programme, and where to write to, for letters and requests", "", `"A. Name, coordinator@example.org"`, text(func(p *Settings) *string { return &p.Coordinator })),
	standard("chicks_per_season", "chicks that a pair hatches in a season in which its eggs would be left to it, counting pairs that fail and those that lay none", "chicks", 1.0, noSource, number(func(p *Settings) *float64 { return &p.ChicksPerSeason }, math.SmallestNonzeroFloat64, 100)),
	standard("chicks_per_pair", "most chicks that one pair may hatch in a season", "chicks", int64(2), noSource, whole(func(p *Settings) *int { return &p.ChicksPerPair }, 1, 100)),
	standard("lethal_equivalents", "how much inbreeding costs: lethal equivalents per gamete", "per gamete", 1.57, "Ralls, Ballou & Templeton 1988, median of 40 mammal populations", number(func(p *Settings) *float64 { return &p.LethalEquivalents }, 0, 50)),
	standard("clutch_success", "chance that a clutch fledges a chick, where no clutch is on record", "share, 0 to 1", 0.5, noSource, number(func(p *Settings) *float64 { return &p.ClutchSuccess }, 0, 1)),
	unset("oldest_age", "greatest age on record of the species", "years", "30", number(func(p *Settings) *float64 { return &p.OldestAge }, math.SmallestNonzeroFloat64, 500)),
	standard("quarantine_days", "quarantine where an institution states none", "days", int64(30), noSource, whole(func(p *Settings) *int { return &p.QuarantineDays }, 0, 3650)),
	standard("seasons_ahead", "seasons over which the chicks of a pair count", "seasons", int64(3), noSource, whole(func(p *Settings) *int { return &p.SeasonsAhead }, 1, 100)),
	standard("goal.gene_diversity", "share of the founders' gene diversity to keep", "share, 0 to 1", 0.9, "Soulé et al. 1986", number(func(p *Settings) *float64 { return &p.GoalGeneDiversity }, 0.01, 1)),
	standard("goal.years", "for how long", "years", int64(100), noSource, whole(func(p *Settings) *int { return &p.GoalYears }, 1, 10000)),
	unset("goal.birds", "number of living birds that the programme wants", "birds", "400", whole(func(p *Settings) *int { return &p.GoalBirds }, 1, 1_000_000)),
	otherwise("breeding_age.female", "first and last age at which females breed", "years", "from the ages of the recorded dams", "[3, 20]", ages(func(p *Settings) (*float64, *float64) { return &p.FemaleFirst, &p.FemaleLast })),
	otherwise("breeding_age.male", "first and last age at which males breed", "years", "from the ages of the recorded sires", "[3, 22]", ages(func(p *Settings) (*float64, *float64) { return &p.MaleFirst, &p.MaleLast })),
	standard("limits.inbreeding", "most inbreeding that a planned chick may have; 0.125 is that of half siblings", "F, 0 to 1", 0.125, noSource, number(func(p *Settings) *float64 { return &p.LimitInbreeding }, 0, 1)),
	standard("limits.preferred_inbreeding", "inbreeding below which a pair is preferred; 0.0625 is that of first cousins", "F, 0 to 1", 0.0625, noSource, number(func(p *Settings) *float64 { return &p.PreferInbreeding }, 0, 1)),
	otherwise("moves.least_gain", "least net gain in gene diversity for which a bird is moved", "gene diversity, 0 to 1", "a quarter of the standard deviation of value over all eligible pairs", "0.00001", optional(func(p *Settings) **float64 { return &p.LeastGain }, 0, 1)),
	standard("moves.ahead", "how long before its breeding age a young bird's place is decided", "years", 2.0, noSource, number(func(p *Settings) *float64 { return &p.MovesAhead }, 0, 100)),
	standard("incubation.days", "from the first egg to the hatch", "days", int64(28), noSource, whole(func(p *Settings) *int { return &p.IncubationDays }, 1, 365)),
	standard("incubation.candling_days", "days after the first egg on which eggs are candled", "days", int64(10), noSource, whole(func(p *Settings) *int { return &p.CandlingDays }, 0, 365)),
	standard("incubation.settled_days", "days after the first egg from which a sitting pair loses no egg", "days", int64(14), noSource, whole(func(p *Settings) *int { return &p.SettledDays }, 0, 365)),
	standard("rearing.days", "from the hatch to fledging", "days", int64(60), noSource, whole(func(p *Settings) *int { return &p.RearingDays }, 1, 1000)),
	standard("genotypes.error_rate", "chance that what a laboratory found of a bird at a marker is wrong", "share, above 0", 0.01, noSource, number(func(p *Settings) *float64 { return &p.GenotypeErrors }, math.SmallestNonzeroFloat64, 0.5)),
	unset("survival.first_year", "share of chicks that live to one year, used where no life table can be had", "share, 0 to 1", "0.7", number(func(p *Settings) *float64 { return &p.FirstYearSurvival }, math.SmallestNonzeroFloat64, 1)),
	unset("survival.yearly", "share of older birds that live another year, used where no life table can be had", "share, 0 to 1", "0.93", number(func(p *Settings) *float64 { return &p.YearlySurvival }, math.SmallestNonzeroFloat64, 1)),
	unset("months.pairing", "months in which pairs form", "months, 1 to 12", "[2, 3]", months(func(p *Settings) *[]time.Month { return &p.PairingMonths })),
	unset("months.laying", "months in which eggs are laid; without them the coming season is the year from the day of an answer, and no day is named by which a bird must have moved", "months, 1 to 12", "[4, 5, 6]", months(func(p *Settings) *[]time.Month { return &p.LayingMonths })),
	unset("months.moult", "months of the moult", "months, 1 to 12", "[8, 9]", months(func(p *Settings) *[]time.Month { return &p.MoultMonths })),
}

// unset declares a setting that nothing stands in for.
func unset(key, means, unit, example string, set func(*Settings, any) error) setting {
	return setting{Setting: Setting{Key: key, Means: means, Unit: unit, Example: example}, set: set}
}

// standard declares a setting with a default value.
func standard(key, means, unit string, value any, source string, set func(*Settings, any) error) setting {
	shown := fmt.Sprint(value)
	return setting{Setting: Setting{key, means, unit, shown, source, shown}, set: set, standard: value}
}

// otherwise declares a setting without which something else is done.
func otherwise(key, means, unit, shown, example string, set func(*Settings, any) error) setting {
	return setting{Setting: Setting{key, means, unit, shown, noSource, example}, set: set}
}

// AllSettings returns the keys of programme.toml in the order of its
// documentation, but for the table [columns], which maps the names of columns.
func AllSettings() []Setting {
	all := make([]Setting, len(settings))
	for i, s := range settings {
		all[i] = s.Setting
	}
	return all
}

func text(field func(*Settings) *string) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		s, ok := value.(string)
		if !ok {
			return errors.New(`write a text in quotation marks, as "HOME"`)
		}
		*field(p) = strings.TrimSpace(s)
		return nil
	}
}

// asNumber returns a TOML integer or float as a number.
func asNumber(value any) (float64, bool) {
	switch x := value.(type) {
	case int64:
		return float64(x), true
	case float64:
		return x, true
	}
	return 0, false
}

func number(field func(*Settings) *float64, low, high float64) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		x, ok := asNumber(value)
		if !ok || !(x >= low && x <= high) {
			if low == math.SmallestNonzeroFloat64 {
				return fmt.Errorf("write a number above 0 and up to %g", high)
			}
			return fmt.Errorf("write a number from %g to %g", low, high)
		}
		*field(p) = x
		return nil
	}
}

// optional reads a number where any value, 0 too, differs from none.
func optional(field func(*Settings) **float64, low, high float64) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		var x float64
		if err := number(func(*Settings) *float64 { return &x }, low, high)(p, value); err != nil {
			return err
		}
		*field(p) = &x
		return nil
	}
}

func whole(field func(*Settings) *int, low, high int64) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		n, ok := value.(int64)
		if !ok || n < low || n > high {
			return fmt.Errorf("write a whole number from %d to %d", low, high)
		}
		*field(p) = int(n)
		return nil
	}
}

func ages(field func(*Settings) (first, last *float64)) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		wrong := errors.New("write the first and the last age in years, as [3, 20], or the first alone, as [3]")
		list, ok := value.([]any)
		if !ok || len(list) < 1 || len(list) > 2 {
			return wrong
		}
		var age [2]float64
		for i, v := range list {
			x, ok := asNumber(v)
			if !ok || !(x > 0 && x <= 500) {
				return wrong
			}
			age[i] = x
		}
		if len(list) == 2 && age[1] < age[0] {
			return fmt.Errorf("the last age is below the first; %w", wrong)
		}
		first, last := field(p)
		*first, *last = age[0], age[1]
		return nil
	}
}

func months(field func(*Settings) *[]time.Month) func(*Settings, any) error {
	return func(p *Settings, value any) error {
		wrong := errors.New("write the months as numbers from 1 to 12, as [9, 10, 11]")
		list, ok := value.([]any)
		if !ok {
			return wrong
		}
		var got []time.Month
		for _, v := range list {
			n, ok := v.(int64)
			if !ok || n < 1 || n > 12 {
				return wrong
			}
			if !slices.Contains(got, time.Month(n)) {
				got = append(got, time.Month(n))
			}
		}
		*field(p) = got
		return nil
	}
}

// setCurrentTo takes a date of TOML or a text; of a date known in part the
// last day counts.
func setCurrentTo(p *Settings, value any) error {
	switch x := value.(type) {
	case time.Time:
		if day, ok := dayOf(x.Year(), int(x.Month()), x.Day()); ok {
			p.CurrentTo = day
			return nil
		}
	case string:
		d, err := ParseDate(x)
		if err != nil {
			return err
		}
		p.CurrentTo = d.Last
		return nil
	}
	return errors.New("write a date, as 2024-12-31")
}
