package studbook

import "time"

// Programme holds the settings of programme.toml, defaults filled in.
type Programme struct {
	Species   string
	Home      string // code of the home institution; "" if not set
	CurrentTo Day    // the day the files were last brought up to date; 0 if not set

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
	LayingMonths      []time.Month
	MoultMonths       []time.Month
	Columns           map[string]string // our column name -> the file's

	// Defaulted names the keys that programme.toml does not set, in the
	// order of the file's documentation, each with the value used and, if
	// it has one, its source: "goal.gene_diversity = 0.9 (Soulé et al. 1986)".
	Defaulted []Default
}

// Default is a setting that the user did not make.
type Default struct {
	Key    string // as in programme.toml, dotted: "limits.inbreeding"
	Value  string // as a person reads it: "0.125"
	Source string // paper, or "common practice, no source"
}
