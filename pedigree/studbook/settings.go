package studbook

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/BurntSushi/toml"
)

// setting is a key of programme.toml: how it is read, what is used where it is
// not set, and on whose word.
type setting struct {
	key      string
	set      func(p *Programme, value any) error
	standard any    // the default, as TOML would give it; nil if there is none
	shown    string // what happens without it, where there is no default value
	source   string // of the default
}

const noSource = "common practice, no source"

// settings are the keys of programme.toml in the order of its documentation,
// but for [columns].
var settings = []setting{
	{key: "species", set: text(func(p *Programme) *string { return &p.Species })},
	{key: "home", set: text(func(p *Programme) *string { return &p.Home })},
	{key: "current_to", set: setCurrentTo},
	{key: "chicks_per_season", set: number(func(p *Programme) *float64 { return &p.ChicksPerSeason }, math.SmallestNonzeroFloat64, 100), standard: 1.0, source: noSource},
	{key: "chicks_per_pair", set: whole(func(p *Programme) *int { return &p.ChicksPerPair }, 1, 100), standard: int64(2), source: noSource},
	{key: "lethal_equivalents", set: number(func(p *Programme) *float64 { return &p.LethalEquivalents }, 0, 50), standard: 1.57, source: "Ralls, Ballou & Templeton 1988, median of 40 mammal populations"},
	{key: "clutch_success", set: number(func(p *Programme) *float64 { return &p.ClutchSuccess }, 0, 1), standard: 0.5, source: noSource},
	{key: "oldest_age", set: number(func(p *Programme) *float64 { return &p.OldestAge }, math.SmallestNonzeroFloat64, 500)},
	{key: "quarantine_days", set: whole(func(p *Programme) *int { return &p.QuarantineDays }, 0, 3650), standard: int64(30), source: noSource},
	{key: "goal.gene_diversity", set: number(func(p *Programme) *float64 { return &p.GoalGeneDiversity }, 0.01, 1), standard: 0.9, source: "Soulé et al. 1986"},
	{key: "goal.years", set: whole(func(p *Programme) *int { return &p.GoalYears }, 1, 10000), standard: int64(100), source: noSource},
	{key: "goal.birds", set: whole(func(p *Programme) *int { return &p.GoalBirds }, 1, 1_000_000)},
	{key: "breeding_age.female", set: ages(func(p *Programme) (*float64, *float64) { return &p.FemaleFirst, &p.FemaleLast }), shown: "from the ages of the recorded dams", source: noSource},
	{key: "breeding_age.male", set: ages(func(p *Programme) (*float64, *float64) { return &p.MaleFirst, &p.MaleLast }), shown: "from the ages of the recorded sires", source: noSource},
	{key: "limits.inbreeding", set: number(func(p *Programme) *float64 { return &p.LimitInbreeding }, 0, 1), standard: 0.125, source: noSource},
	{key: "limits.preferred_inbreeding", set: number(func(p *Programme) *float64 { return &p.PreferInbreeding }, 0, 1), standard: 0.0625, source: noSource},
	{key: "months.laying", set: months(func(p *Programme) *[]time.Month { return &p.LayingMonths })},
	{key: "months.moult", set: months(func(p *Programme) *[]time.Month { return &p.MoultMonths })},
}

func text(field func(*Programme) *string) func(*Programme, any) error {
	return func(p *Programme, value any) error {
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

func number(field func(*Programme) *float64, low, high float64) func(*Programme, any) error {
	return func(p *Programme, value any) error {
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

func whole(field func(*Programme) *int, low, high int64) func(*Programme, any) error {
	return func(p *Programme, value any) error {
		n, ok := value.(int64)
		if !ok || n < low || n > high {
			return fmt.Errorf("write a whole number from %d to %d", low, high)
		}
		*field(p) = int(n)
		return nil
	}
}

func ages(field func(*Programme) (first, last *float64)) func(*Programme, any) error {
	return func(p *Programme, value any) error {
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

func months(field func(*Programme) *[]time.Month) func(*Programme, any) error {
	return func(p *Programme, value any) error {
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
func setCurrentTo(p *Programme, value any) error {
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

// readProgramme reads programme.toml, if there is one, and fills in defaults.
func (r *reader) readProgramme() error {
	raw, err := r.beside(programmeFile)
	if err != nil {
		return err
	}
	r.columns = make(map[string]string)
	r.settingLines = make(map[string]int)
	set := make(map[string]bool)
	if raw != nil {
		r.labels[programmeFile] = programmeFile
		r.parseProgramme(raw, set)
	}
	p := &r.colony.Programme
	for _, s := range settings {
		if set[s.key] {
			continue
		}
		shown := s.shown
		if s.standard != nil {
			standard := s.standard
			if s.key == "limits.preferred_inbreeding" {
				standard = min(s.standard.(float64), p.LimitInbreeding) // a stricter limit takes the default with it
			}
			if err := s.set(p, standard); err != nil {
				return fmt.Errorf("the default of %s: %w", s.key, err)
			}
			shown = fmt.Sprint(standard)
		}
		if shown != "" {
			p.Defaulted = append(p.Defaulted, Default{s.key, shown, s.source})
		}
	}
	if p.PreferInbreeding > p.LimitInbreeding {
		r.warn(r.settingPlace("limits.preferred_inbreeding", fmt.Sprint(p.PreferInbreeding)), codeBadSetting,
			fmt.Sprintf("the preferred inbreeding is above the limit, %g", p.LimitInbreeding), "set it to the limit or below")
	}
	p.Columns = maps.Clone(r.columns)
	for _, ours := range slices.Sorted(maps.Keys(r.opt.Columns)) {
		r.mapColumn(place{file: r.colony.Source, column: ours, value: r.opt.Columns[ours]})
	}
	theirs := make(map[string]string)
	for _, ours := range slices.Sorted(maps.Keys(r.columns)) {
		name := normalHeader(r.columns[ours])
		if other, twice := theirs[name]; twice {
			r.fault(place{file: r.colony.Source, column: ours, value: r.columns[ours]}, codeUnknownMapping,
				fmt.Sprintf("the same column is mapped to %s too", other), "map each column of the file once")
		}
		theirs[name] = ours
	}
	return nil
}

// parseProgramme reads the keys of programme.toml and notes which are set.
func (r *reader) parseProgramme(raw []byte, set map[string]bool) {
	content, encoding := decodeText(raw)
	if encoding != "" {
		r.note("%s is read as %s", programmeFile, encoding)
	}
	var tree map[string]any
	md, err := toml.Decode(content, &tree)
	if err != nil {
		at := place{file: programmeFile}
		message := err.Error()
		var fault toml.ParseError
		if errors.As(err, &fault) {
			at.line, message = fault.Position.Line, fault.Message
		}
		r.fault(at, codeBadSettings, "the settings cannot be read: "+shorten(message), `write key = value, with texts in quotation marks, as home = "HOME"`)
		return
	}
	r.settingLines = tomlLines(content)
	p := &r.colony.Programme
	var odd []string // tables that are unknown or not tables
	for _, key := range md.Keys() {
		dotted := strings.Join(key, ".")
		if slices.ContainsFunc(odd, func(o string) bool { return strings.HasPrefix(dotted, o+".") || dotted == o }) {
			continue
		}
		value := lookup(tree, key)
		at := r.settingPlace(dotted, fmt.Sprint(value))
		i := slices.IndexFunc(settings, func(s setting) bool { return s.key == dotted })
		_, isTable := value.(map[string]any)
		switch {
		case i >= 0:
			if err := settings[i].set(p, value); err != nil {
				r.fault(at, codeBadSetting, "the setting is of the wrong kind or out of range", err.Error())
			} else {
				set[dotted] = true
			}
			if isTable {
				odd = append(odd, dotted)
			}
		case len(key) == 2 && key[0] == "columns":
			name, ok := value.(string)
			if !ok {
				r.fault(at, codeBadSetting, "the setting is of the wrong kind", `write the file's name of the column in quotation marks, as sire = "Father"`)
				odd = append(odd, dotted)
				break
			}
			r.mapColumn(place{file: programmeFile, line: at.line, column: key[1], value: name})
		case len(key) == 1 && isTable && (key[0] == "columns" || slices.ContainsFunc(settings, func(s setting) bool { return strings.HasPrefix(s.key, key[0]+".") })):
		default:
			odd = append(odd, dotted)
			if isTable {
				at.value = ""
			}
			r.warn(at, codeUnknownSetting, "no such setting; it is not used", "correct its name, or delete it; the settings are "+settingNames())
		}
	}
}

func settingNames() string {
	names := make([]string, len(settings))
	for i, s := range settings {
		names[i] = s.key
	}
	return strings.Join(names, ", ")
}

// mapColumn takes in the mapping of a column of ours to one of the files.
func (r *reader) mapColumn(at place) {
	switch {
	case !slices.ContainsFunc(allColumns(), func(c column) bool { return c.name == at.column }):
		r.fault(at, codeUnknownMapping, "pairwright has no column of this name to map", "map one of "+columnNames(columnsOf[studbookRow]())+", or of the other files")
	case normalHeader(at.value) == "":
		r.fault(at, codeUnknownMapping, "the column is mapped to nothing", `write the file's name of the column, as sire = "Father"`)
	default:
		r.columns[at.column] = at.value
	}
}

// settingPlace is where programme.toml sets a key.
func (r *reader) settingPlace(key, value string) place {
	return place{programmeFile, r.settingLines[key], key, value}
}

// lookup returns the value of a key in a tree of TOML tables, nil if the way
// to it is not all tables.
func lookup(tree map[string]any, key toml.Key) any {
	var value any = tree
	for _, part := range key {
		table, ok := value.(map[string]any)
		if !ok {
			return nil
		}
		value = table[part]
	}
	return value
}

// tomlLines returns the line of each key and table of a TOML text that has
// been read without fault. The decoder keeps lines to itself except in errors,
// so this looks for plain "key =" and "[table]" lines; a key written in a way
// it does not see has line 0.
func tomlLines(content string) map[string]int {
	lines := make(map[string]int)
	prefix := ""
	n := 0
	for line := range strings.Lines(content) {
		n++
		line = strings.TrimSpace(line)
		key := ""
		if table, ok := strings.CutPrefix(line, "["); ok {
			table, _, _ = strings.Cut(table, "]")
			key = bareKey(table)
			prefix = key + "."
		} else if name, _, ok := strings.Cut(line, "="); ok && !strings.HasPrefix(line, "#") {
			key = prefix + bareKey(name)
		}
		if key != "" {
			lines[key] = cmp.Or(lines[key], n)
		}
	}
	return lines
}

// bareKey is a dotted key without spaces and quotation marks.
func bareKey(s string) string {
	return strings.Map(func(c rune) rune {
		if strings.ContainsRune(" \t\"'[", c) {
			return -1
		}
		return c
	}, s)
}
