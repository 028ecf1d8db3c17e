package studbook

import "maps"

func (r *reader) readProgramme() error {
	r.colony.Programme = Programme{
		GoalGeneDiversity: 0.9, GoalYears: 100, ChicksPerSeason: 1, ChicksPerPair: 2,
		LimitInbreeding: 0.125, PreferInbreeding: 0.0625, LethalEquivalents: 1.57, ClutchSuccess: 0.5, QuarantineDays: 30,
	}
	r.columns = maps.Clone(r.opt.Columns)
	return nil
}

func (r *reader) homePlace() place { return place{programmeFile, 0, "home", r.colony.Programme.Home} }
