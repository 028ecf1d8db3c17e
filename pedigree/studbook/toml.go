package studbook

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// readSettings reads programme.toml, if there is one, and fills in defaults.
func (r *reader) readSettings() error {
	raw, err := r.beside(programmeFile)
	if err != nil {
		return err
	}
	r.columns = make(map[string]string)
	r.settingLines = make(map[string]int)
	set := make(map[string]string) // the values of the keys that are set
	if raw != nil {
		r.labels[programmeFile] = programmeFile
		r.parseSettings(raw, set)
	}
	p := &r.colony.Settings
	for _, s := range settings {
		if value, given := set[s.Key]; given {
			p.Given = append(p.Given, Given{s.Key, value, r.settingLines[s.Key]})
			continue
		}
		shown := s.Default
		if s.standard != nil {
			standard := s.standard
			if s.Key == "limits.preferred_inbreeding" {
				standard = min(s.standard.(float64), p.LimitInbreeding) // a stricter limit takes the default with it
			}
			if err := s.set(p, standard); err != nil {
				return fmt.Errorf("the default of %s: %w", s.Key, err)
			}
			shown = fmt.Sprint(standard)
		}
		if shown != "" {
			p.Defaulted = append(p.Defaulted, Default{s.Key, shown, s.Source})
		}
	}
	r.checkSettings(set)
	p.Columns = maps.Clone(r.columns)
	for _, ours := range slices.Sorted(maps.Keys(r.opt.Columns)) {
		r.mapColumn(place{file: r.colony.Source, column: ours, value: r.opt.Columns[ours]})
	}
	theirs := make(map[string]string)
	for _, ours := range slices.Sorted(maps.Keys(r.columns)) {
		name := NormalHeader(r.columns[ours])
		if other, twice := theirs[name]; twice {
			r.fault(place{file: r.colony.Source, column: ours, value: r.columns[ours]}, codeUnknownMapping,
				fmt.Sprintf("the same column is mapped to %s too", other), "map each column of the file once")
		}
		theirs[name] = ours
	}
	return nil
}

// checkSettings holds settings against each other; set has those that are given.
func (r *reader) checkSettings(set map[string]string) {
	p := &r.colony.Settings
	say := func(key, message, help string) { r.warn(r.settingPlace(key, set[key]), codeBadSetting, message, help) }
	if p.PreferInbreeding > p.LimitInbreeding {
		r.warn(r.settingPlace("limits.preferred_inbreeding", fmt.Sprint(p.PreferInbreeding)), codeBadSetting,
			fmt.Sprintf("the preferred inbreeding is above the limit, %g", p.LimitInbreeding), "set it to the limit or below")
	}
	for _, x := range []struct {
		key  string
		days int
	}{{"incubation.candling_days", p.CandlingDays}, {"incubation.settled_days", p.SettledDays}} {
		if x.days > p.IncubationDays && set[x.key] != "" {
			say(x.key, fmt.Sprintf("the eggs have hatched by then: incubation.days is %d", p.IncubationDays), "set it to fewer days, or correct incubation.days")
		}
	}
	for _, x := range [][2]string{{"survival.first_year", "survival.yearly"}, {"survival.yearly", "survival.first_year"}} {
		if set[x[0]] != "" && set[x[1]] == "" {
			say(x[0], "it is not used, because "+x[1]+" is not set", "set both of them, or neither")
		}
	}
}

// A SettingsError says why settings in TOML cannot be read.
type SettingsError struct {
	Line       int // 0 where it is of the whole file
	What, Help string
}

// Error says where and what is wrong, and what to do.
func (e *SettingsError) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("line %d: %s (%s)", e.Line, e.What, e.Help)
	}
	return fmt.Sprintf("%s (%s)", e.What, e.Help)
}

// DecodeSettings decodes settings in TOML, but none that are longer or nest deeper
// than any that are meant.
func DecodeSettings(content string, into any) (toml.MetaData, *SettingsError) {
	if len(content) > mostSettings {
		return toml.MetaData{}, &SettingsError{0, fmt.Sprintf("the settings have more than %d kB", mostSettings>>10), "settings take a page; take out what is none"}
	}
	if line := nestedTooDeep(content); line > 0 {
		return toml.MetaData{}, &SettingsError{line, "the settings are nested deeper than any of ours", "write key = value, or [table] and below it key = value"}
	}
	md, err := toml.Decode(content, into)
	if err == nil {
		return md, nil
	}
	line, message := 0, strings.TrimPrefix(err.Error(), "toml: ")
	var fault toml.ParseError
	if errors.As(err, &fault) {
		line, message = fault.Position.Line, fault.Message
	}
	message = strings.ReplaceAll(message, "unexpected EOF", "the file ends in the middle of a line")
	what, help := "the settings cannot be read: "+Shorten(message), `write key = value, with texts in quotation marks, as home = "HOME"`
	for k, text := range strings.Split(content, "\n") {
		if k+1 != line {
			continue
		}
		for _, habit := range habits {
			if habit.looks().MatchString(text) || habit.message != "" && strings.Contains(message, habit.message) {
				what, help = habit.what, habit.help
				break
			}
		}
	}
	return md, &SettingsError{line, what, help}
}

// habits are what people write that TOML does not take, and what to write instead.
var habits = []struct {
	looks               func() *regexp.Regexp
	message, what, help string
}{
	{pattern("[“”„«»‘’]"), "", "the quotation marks are not straight ones", `write straight ones, as home = "HOME"`},
	{pattern(`=\s*-?[0-9]+,[0-9]`), "", "a number has a comma", "write it with a point, as 0.125"},
	{pattern(`=\s*-?[0-9.]+\s*%`), "", "a number has a percent sign", "write it as a share, as 0.9 for 90%"},
	{pattern(`^\s*[\w.-]+\s*:`), "", "there is a colon where a = belongs", "write key = value"},
	{pattern(`=\s*[\pL][^"']*$`), "", "a text has no quotation marks", `write them around it, as home = "HOME"`},
	{pattern(`^$x`), "already been defined", "it is set above already", "delete one of the two; what stands under the same [table] twice goes under one of them"},
}

// parseSettings reads the keys of programme.toml and notes which are set.
func (r *reader) parseSettings(raw []byte, set map[string]string) {
	content, encoding := decodeText(raw)
	if encoding != "" {
		r.note("%s is read as %s", programmeFile, encoding)
	}
	var tree map[string]any
	md, fault := DecodeSettings(content, &tree)
	if fault != nil {
		r.fault(place{file: programmeFile, line: fault.Line}, codeBadSettings, fault.What, fault.Help)
		return
	}
	r.settingLines = tomlLines(content)
	p := &r.colony.Settings
	odd := make(map[string]bool) // tables that are unknown or not tables
	for _, key := range md.Keys() {
		dotted := strings.Join(key, ".")
		if slices.ContainsFunc(prefixes(key), func(p string) bool { return odd[p] }) {
			continue
		}
		value := lookup(tree, key)
		at := r.settingPlace(dotted, shownValue(value))
		if _, list := value.([]any); list {
			at.value = "[" + at.value + "]"
		}
		i := slices.IndexFunc(settings, func(s setting) bool { return s.Key == dotted })
		_, isTable := value.(map[string]any)
		switch {
		case i >= 0:
			if err := settings[i].set(p, value); err != nil {
				r.fault(at, codeBadSetting, "the setting is of the wrong kind or out of range", err.Error())
			} else {
				set[dotted] = shownValue(value)
			}
			if isTable {
				odd[dotted] = true
			}
		case len(key) == 2 && key[0] == "columns":
			name, ok := value.(string)
			if !ok {
				r.fault(at, codeBadSetting, "the setting is of the wrong kind", `write the file's name of the column in quotation marks, as sire = "Father"`)
				odd[dotted] = true
				break
			}
			r.mapColumn(place{file: programmeFile, line: at.line, column: key[1], value: name})
		case len(key) == 1 && isTable && (key[0] == "columns" || slices.ContainsFunc(settings, func(s setting) bool { return strings.HasPrefix(s.Key, key[0]+".") })):
		default:
			odd[dotted] = true
			r.warn(at, codeUnknownSetting, "no such setting; it is not used", settingMeant(dotted))
		}
	}
}

// shownValue is a value of a setting as a person reads it.
func shownValue(value any) string {
	switch x := value.(type) {
	case map[string]any, []map[string]any:
		return "" // a table
	case float64:
		return strings.ToLower(strings.TrimPrefix(fmt.Sprint(x), "+")) // nan and inf as TOML has them
	case []any:
		parts := make([]string, len(x))
		for k, v := range x {
			parts[k] = shownValue(v)
		}
		return strings.Join(parts, ", ")
	}
	return fmt.Sprint(value)
}

// settingMeant says what to do about a key that is none: it may be one of ours in
// other letters, or without its table.
func settingMeant(key string) string {
	plain := func(s string) string { return strings.ReplaceAll(NormalHeader(s), "_", "") }
	last := func(s string) string { return s[strings.LastIndex(s, ".")+1:] }
	for _, s := range settings {
		if plain(s.Key) == plain(key) || plain(last(s.Key)) == plain(last(key)) {
			return "perhaps " + s.Key + " is meant; correct its name, or delete it"
		}
	}
	return "correct its name, or delete it; the settings are " + settingNames()
}

// prefixes returns a key and the tables it is in, dotted.
func prefixes(key toml.Key) []string {
	all := make([]string, len(key))
	for n := range key {
		all[n] = strings.Join(key[:n+1], ".")
	}
	return all
}

func settingNames() string {
	names := make([]string, len(settings))
	for i, s := range settings {
		names[i] = s.Key
	}
	return strings.Join(names, ", ")
}

// mapColumn takes in the mapping of a column of ours to one of the files.
func (r *reader) mapColumn(at place) {
	switch {
	case !slices.ContainsFunc(allColumns(), func(c Column) bool { return c.Name == at.column }):
		r.fault(at, codeUnknownMapping, "pairwright has no column of this name to map", "map one of "+columnNames(birdsTable.describe().Columns)+", or of the other files")
	case NormalHeader(at.value) == "":
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
