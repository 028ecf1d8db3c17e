package web

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// seasonKeys are those of the address of a season. The season that somebody is making stands in the address of its page, so that every
// change has an address of its own: the browser's way back takes it back, and it can be
// sent on. Its keys are
//
//	of      whose season it is: the code of an institution, or programme; that of
//	        the home if there is none
//	own     1 once something was changed; before that it is the decision
//	row     a choice on a bond or a move, as rowText writes it; again for each
//	pair    a pair, with chicks, how many it may hatch; both again for each, in one order
//	fix     what is fixed: a pair or a bird; again for each
//	do      what to change, as a button says it
//	beside  the name of a kept season to compare with
var seasonKeys = []string{"of", "own", "row", "pair", "chicks", "fix", "do", "beside", "female", "male", "at", "bird", "to", "kept"}

// seasonPage shows the reader's own season beside the decision.
func seasonPage(v *visit) (*view, error) {
	values := v.Query()
	c, beside, err := v.beside(values.Get("of"))
	if err != nil {
		return nil, err
	}
	choices, err := readSeason(values)
	if err != nil {
		return nil, err
	}
	name := values.Get("kept")
	switch do := values.Get("do"); {
	case name != "" && values.Get("own") == "":
		if choices, err = v.keptSeason(c, name); err != nil {
			return nil, err
		}
	case values.Get("own") == "":
		choices = beside.Plan.Choices()
	case do != "" || values.Get("female") != "" || values.Get("bird") != "":
		if choices, err = v.change(beside, choices, values); err != nil {
			return nil, err
		}
		return &view{To: v.seasonLink(choices, values.Get("of"), name, values.Get("beside"))}, nil
	}
	page := seasonOf{visit: v, Beside: beside, Kept: keptNames(c.dir), Of: values.Get("of"), Name: name, With: values.Get("beside"), choices: choices}
	own := []question.Own{{Name: "Yours", Choices: choices}}
	if page.With != "" {
		other, err := v.keptSeason(c, page.With)
		if err != nil {
			return nil, err
		}
		own = append(own, question.Own{Name: page.With, Choices: other})
	}
	seasons, err := v.weighed(beside, own)
	if err != nil {
		return nil, err
	}
	page.fill(seasons)
	b, err := body("season", &page)
	return &view{Title: fmt.Sprintf("The season %d of %s", beside.Plan.Decision.Season.Year, page.whose()), Body: b}, err
}

// weighed weighs seasons when it is their turn.
func (v *visit) weighed(beside *question.Beside, own []question.Own) ([]report.NamedOwn, error) {
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	return beside.Weigh(v.Context(), own...)
}

// wholeProgramme is whose season it is where it is everybody's.
const wholeProgramme = "programme"

// planOf are the keys and values that the question plan asks with for somebody's
// season.
func planOf(of string) []string {
	switch of {
	case "":
		return nil
	case wholeProgramme:
		return []string{"scope", wholeProgramme}
	}
	return []string{"colony", of}
}

// beside returns what seasons are held against: the plan of a colony, or of the
// whole programme.
func (v *visit) beside(of string) (*colony, *question.Beside, error) {
	c, err := v.read()
	if err != nil {
		return nil, nil, err
	}
	values := url.Values{}
	if with := planOf(of); with != nil {
		values.Set(with[0], with[1])
	}
	if day := v.Day(); day != "" {
		values.Set("as-of", day)
	}
	asked, err := question.Named("plan").Parse(values)
	if err != nil {
		return nil, nil, err
	}
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, nil, err
	}
	defer done()
	b, err := c.Beside(v.Context(), asked)
	return c, b, err
}

var subjects = map[string]studbook.Subject{"bond": studbook.RulesBond, "part": studbook.RulesPart, "move": studbook.RulesMove}

// rowText writes a choice on a bond or a move for an address.
func rowText(c *studbook.Choice) string {
	for word, what := range subjects {
		if what == c.What {
			return strings.Join([]string{word, strings.Join(c.Birds, ";"), c.To, c.Reason}, "|")
		}
	}
	return ""
}

func pairKey(birds []string) string { return strings.Join(birds, ";") }

// readSeason reads a season from the keys of an address.
func readSeason(values url.Values) ([]studbook.Choice, error) {
	for key := range values {
		if key != "as-of" && !slices.Contains(seasonKeys, key) {
			return nil, question.Usagef("the season has no key %q", key)
		}
	}
	fixed := values["fix"]
	var out []studbook.Choice
	for _, row := range values["row"] {
		parts := strings.SplitN(row, "|", 4)
		if len(parts) != 4 || subjects[parts[0]] == 0 || parts[1] == "" {
			return nil, question.Usagef("this is no choice of a season: %q", row)
		}
		x := studbook.Choice{What: subjects[parts[0]], Birds: strings.Split(parts[1], ";"), To: parts[2], Reason: parts[3], Chicks: -1}
		if wanted := map[bool]int{true: 1, false: 2}[x.What == studbook.RulesMove]; len(x.Birds) != wanted {
			return nil, question.Usagef("this is no choice of a season: %q", row)
		}
		x.Fixed = slices.Contains(fixed, pairKey(x.Birds))
		out = append(out, x)
	}
	pairs, chicks := values["pair"], values["chicks"]
	if len(pairs) != len(chicks) {
		return nil, question.Usagef("of %d pairs %d have a number of chicks", len(pairs), len(chicks))
	}
	for k, pair := range pairs {
		n, err := strconv.Atoi(chicks[k])
		if chicks[k] == "" {
			n, err = 0, nil
		}
		x := studbook.Choice{What: studbook.RulesHatch, Birds: strings.Split(pair, ";"), Chicks: n, Fixed: slices.Contains(fixed, pair)}
		switch {
		case err != nil || n < 0 || n > 100:
			return nil, question.Usagef("chicks %s: give a whole number from 0 to 100", chicks[k])
		case len(x.Birds) != 2:
			return nil, question.Usagef("this is no pair: %q", pair)
		case n > 0 || x.Fixed:
			out = append(out, x)
		}
	}
	return out, nil
}

// seasonValues writes a season as the keys of an address.
func seasonValues(choices []studbook.Choice) url.Values {
	values := url.Values{"own": {"1"}}
	for k := range choices {
		c := &choices[k]
		if c.Fixed && !slices.Contains(values["fix"], pairKey(c.Birds)) {
			values.Add("fix", pairKey(c.Birds))
		}
		if c.What == studbook.RulesHatch {
			values.Add("pair", pairKey(c.Birds))
			values.Add("chicks", strconv.Itoa(c.Chicks))
			continue
		}
		values.Add("row", rowText(c))
	}
	return values
}

func (v *visit) seasonLink(choices []studbook.Choice, of, kept, beside string) string {
	values := seasonValues(choices)
	for key, value := range map[string]string{"of": of, "kept": kept, "beside": beside, "as-of": v.Day()} {
		if value != "" {
			values.Set(key, value)
		}
	}
	return "/season?" + values.Encode()
}

// change makes the change that a button asks for.
func (v *visit) change(b *question.Beside, choices []studbook.Choice, values url.Values) ([]studbook.Choice, error) {
	what, birds, _ := strings.Cut(values.Get("do"), "|")
	ids := strings.Split(birds, ";")
	gone := func(subject studbook.Subject) []studbook.Choice {
		return slices.DeleteFunc(choices, func(c studbook.Choice) bool { return c.What == subject && c.SameBirds(ids...) })
	}
	switch what {
	case "decision":
		return b.Plan.Choices(), nil
	case "best":
		done, err := v.server.work.take(v.Context())
		if err != nil {
			return nil, err
		}
		defer done()
		return b.Best(v.Context(), choices)
	case "part":
		choices = gone(studbook.RulesHatch)
		return append(choices, studbook.Choice{What: studbook.RulesPart, Birds: ids, Chicks: -1}), nil
	case "keep":
		return gone(studbook.RulesPart), nil
	case "unpair":
		choices = gone(studbook.RulesHatch)
		return gone(studbook.RulesBond), nil
	case "stay":
		return gone(studbook.RulesMove), nil
	}
	p := b.Programme()
	known := func(field string) (string, *studbook.Bird, error) {
		id := strings.TrimSpace(values.Get(field))
		b, err := p.Bird(id)
		if err != nil {
			return id, nil, err
		}
		return id, &p.Book.Birds[b], nil
	}
	switch bird, female, male := values.Get("bird"), values.Get("female"), values.Get("male"); {
	case what == "move" || bird != "" && female == "" && male == "": // by a key, without a button
		id, _, err := known("bird")
		if to := values.Get("to"); err == nil && to != "" {
			return append(choices, studbook.Choice{What: studbook.RulesMove, Birds: []string{id}, To: to, Chicks: -1}), nil
		}
		return nil, cmp.Or(err, question.Usagef("say where %s is to go", id))
	case female == "" || male == "":
		return nil, question.Usagef("name the two birds that are to be paired")
	}
	f, female, errF := known("female")
	m, male, errM := known("male")
	if err := cmp.Or(errF, errM); err != nil {
		return nil, err
	}
	if female.Sex == studbook.Male && male.Sex != studbook.Male {
		f, m = m, f
	}
	return append(choices, studbook.Choice{What: studbook.RulesBond, Birds: []string{f, m}, To: values.Get("at"), Chicks: -1}), nil
}

// seasonOf is a season as its page shows it.
type seasonOf struct {
	*visit
	*question.Beside
	Of         string // whose season it is, as in the address
	Name, With string
	Kept       []string

	choices []studbook.Choice

	Changed  bool // it is not the decision as it stands, or it is held against another
	Lead     template.HTML
	Steps    []template.HTML // of the decision
	Figures  []figureRow
	Columns  []string
	Breaches []breachLine
	Pairs    []seasonPair
	Moves    []seasonMove
	Parted   []seasonMove
	Unformed []seasonMove // pairs that are asked for and cannot be
	Free     []string     // ids of birds that have no mate in the season
	Places   []string
	State    string // the season as an address
}

type figureRow struct {
	Name   string
	Values []string
}

type breachLine struct{ Choice, Against template.HTML }

// seasonPair is a pair of the season, or of the decision.
type seasonPair struct {
	Key, F, Label   string
	Who             template.HTML
	Decision, Other string
	Chicks          int
	New, Mine       bool
	Fixed           bool
	Moves           string // who moves for it
}

type seasonMove struct {
	Key  string
	Text template.HTML
}

// fill writes out what the page shows.
func (s *seasonOf) fill(seasons []report.NamedOwn) {
	v, p, best, mine := s.visit, s.Beside.Programme(), s.Plan, &seasons[0]
	if s.Changed = s.Name != "" || s.With != "" || !sameSeason(s.choices, best.Choices()); s.Changed {
		s.compare(seasons)
	} else {
		s.Lead = v.marked(report.PlanLead(p, best))
		for _, step := range report.PlanSteps(p, best) {
			s.Steps = append(s.Steps, v.marked(step))
		}
	}
	for k := range mine.Breaches {
		b := &mine.Breaches[k]
		s.Breaches = append(s.Breaches, breachLine{v.marked(report.Capital(report.ChoiceText(p, b.Choice))), v.marked(report.Capital(report.BreachText(p, b)))})
	}
	s.fillPairs(seasons)
	for k := range s.choices {
		c := &s.choices[k]
		line := seasonMove{pairKey(c.Birds), v.marked(report.Capital(report.ChoiceText(p, c)))}
		switch c.What {
		case studbook.RulesBond:
			formed := slices.ContainsFunc(s.Pairs, func(r seasonPair) bool { return r.New && c.SameBirds(strings.Split(r.Key, ";")...) })
			if !formed {
				s.Unformed = append(s.Unformed, line)
			}
		case studbook.RulesMove:
			s.Moves = append(s.Moves, line)
		case studbook.RulesPart:
			s.Parted = append(s.Parted, line)
		}
	}
	for _, b := range p.Book.Living {
		if _, paired := mine.Decision.MateOf(b); !paired && p.State(b).State.MayBreed() && (best.Options.Whole || p.Book.Birds[b].Location == best.Options.Place) {
			s.Free = append(s.Free, p.Book.Birds[b].ID)
		}
	}
	s.Places = p.Book.Locations()
	s.State = v.seasonLink(s.choices, s.Of, s.Name, s.With)
}

// sameSeason reports whether two seasons have the same choices.
func sameSeason(a, b []studbook.Choice) bool {
	written := func(choices []studbook.Choice) string {
		values := seasonValues(choices)
		for k, pair := range values["pair"] {
			values.Add("hatch", pair+"|"+values["chicks"][k])
		}
		values.Del("pair")
		values.Del("chicks")
		for _, list := range values {
			slices.Sort(list)
		}
		return values.Encode()
	}
	return written(a) == written(b)
}

// compare says how far the seasons are from the decision, in words and figure by figure.
func (s *seasonOf) compare(seasons []report.NamedOwn) {
	p, best, mine := s.Beside.Programme(), s.Plan, &seasons[0]
	lead := report.OwnText(p, best, mine)
	s.Columns = []string{"Decision", "Yours"}
	columns := []document.Facts{report.OwnFigures(best, best), report.OwnFigures(mine.Plan, best)}
	if len(seasons) > 1 {
		other := seasons[1]
		s.Columns = append(s.Columns, other.Name)
		columns = append(columns, report.OwnFigures(other.Plan, best))
		other.Name = strconv.Quote(other.Name)
		lead += " " + report.OwnText(p, best, &other)
	}
	s.Lead = s.marked(lead)
	for k := range columns[0] {
		row := figureRow{Name: columns[0][k].Name}
		for _, c := range columns {
			row.Values = append(row.Values, c[k].Value)
		}
		s.Figures = append(s.Figures, row)
	}
}

// Scopes are whose season can be looked at.
func (s *seasonOf) Scopes() []link {
	home := s.colony.Colony.Settings.Home
	var out []link
	if home != "" {
		out = []link{{"", "your own colony"}}
	}
	for _, code := range s.Places {
		if code != home {
			out = append(out, link{code, s.placeName(code)})
		}
	}
	return append(out, link{wholeProgramme, "the whole programme"})
}

// whose says whose season it is.
func (s *seasonOf) whose() string {
	if s.Plan.Options.Whole {
		return "the whole programme"
	}
	return s.placeName(s.Plan.Options.Place)
}

// PlanLink is the address of the whole plan of whose season it is.
func (s *seasonOf) PlanLink() string { return s.Link("/plan", planOf(s.Of)...) }

// OpenLink is the address of a kept season.
func (s *seasonOf) OpenLink(name string) string {
	return s.Link("/season", append([]string{"kept", name}, s.ofKey()...)...)
}

func (s *seasonOf) ofKey() []string {
	if s.Of == "" {
		return nil
	}
	return []string{"of", s.Of}
}

// placeName is what an institution is called.
func (v *visit) placeName(code string) string {
	for _, in := range v.colony.Colony.Institutions {
		if in.Code == code && in.Name != "" {
			return in.Name
		}
	}
	return cmp.Or(code, "the colony")
}

// fillPairs lists the pairs of all seasons shown, those of the reader's first.
func (s *seasonOf) fillPairs(seasons []report.NamedOwn) {
	v, p := s.visit, s.Beside.Programme()
	at := map[[2]int]int{}
	row := func(x *pairing.PlannedPair) *seasonPair {
		pair := [2]int{x.Female, x.Male}
		k, there := at[pair]
		if !there {
			k = len(s.Pairs)
			at[pair] = k
			ids := []string{p.Book.Birds[x.Female].ID, p.Book.Birds[x.Male].ID}
			s.Pairs = append(s.Pairs, seasonPair{
				Key: pairKey(ids), Label: strings.Join(ids, " and "), Who: v.named(&p.Book.Birds[x.Female]) + " and " + v.named(&p.Book.Birds[x.Male]),
				F: document.FormatKinship(x.Kinship), Decision: document.Unknown, Other: document.Unknown,
			})
		}
		return &s.Pairs[k]
	}
	for k := range s.Plan.Pairs {
		x := &s.Plan.Pairs[k]
		row(x).Decision = report.AsksText(p, x)
	}
	for k := range seasons[0].Pairs {
		x := &seasons[0].Pairs[k]
		r := row(x)
		if x.Kind == pairing.BondReleased {
			continue
		}
		r.Mine, r.New, r.Chicks = x.Role != "", x.Kind == pairing.BondNew, x.HatchUpTo
		if x.Move != nil {
			r.Moves = p.Book.Birds[x.Move.Bird].ID + " moves to " + x.Move.To
		}
	}
	if len(seasons) > 1 {
		for k := range seasons[1].Pairs {
			x := &seasons[1].Pairs[k]
			row(x).Other = report.AsksText(p, x)
		}
	}
	for k := range s.choices {
		c := &s.choices[k]
		for i := range s.Pairs {
			if r := &s.Pairs[i]; c.SameBirds(strings.Split(r.Key, ";")...) {
				r.Fixed = r.Fixed || c.Fixed
				if c.What == studbook.RulesHatch {
					r.Chicks = c.Chicks
				}
			}
		}
	}
}

// Rows are the choices on bonds and moves, for the hidden fields of the form.
func (s *seasonOf) Rows() []string {
	var out []string
	for k := range s.choices {
		if text := rowText(&s.choices[k]); text != "" {
			out = append(out, text)
		}
	}
	return out
}

// FixedRest are what is fixed besides the pairs of the table.
func (s *seasonOf) FixedRest() []string {
	var out []string
	for k := range s.choices {
		key := pairKey(s.choices[k].Birds)
		inTable := slices.ContainsFunc(s.Pairs, func(r seasonPair) bool { return r.Mine && r.Key == key })
		if s.choices[k].Fixed && !inTable && !slices.Contains(out, key) {
			out = append(out, key)
		}
	}
	return out
}

// keptNames are the names of the seasons that are kept in a colony's folder.
func keptNames(dir fs.FS) []string {
	entries, err := fs.ReadDir(dir, studbook.SeasonsFolder)
	if err != nil {
		return nil // there is no folder, or it cannot be read: then none is kept
	}
	var names []string
	for _, e := range entries {
		if name, csv := strings.CutSuffix(e.Name(), ".csv"); csv && soundName(name) == nil {
			names = append(names, name)
		}
	}
	return names
}

// keptSetting is the key of the setting of a question that is the name of a kept
// season.
const keptSetting = "season"

// keptNames are the names of the seasons that are kept in the colony's folder.
func (v *visit) keptNames() []string {
	if v.colony == nil {
		return nil
	}
	return keptNames(v.colony.dir)
}

// keptSeason reads a season that is kept.
func (v *visit) keptSeason(c *colony, name string) ([]studbook.Choice, error) {
	if err := soundName(name); err != nil {
		return nil, err
	}
	raw, err := fs.ReadFile(c.dir, path.Join(studbook.SeasonsFolder, name+".csv"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &pairing.NotFoundError{What: "season", ID: name}
	}
	if err != nil {
		return nil, err
	}
	return c.Colony.ReadSeason(v.Context(), studbook.SeasonsFolder+"/"+name+".csv", raw)
}

// longestName is how long the name of a kept season may be.
const longestName = 60

// soundName says what is wrong with the name of a season, which becomes that of a file.
func soundName(name string) error {
	bad := strings.IndexFunc(name, func(r rune) bool {
		return !(unicode.IsLetter(r) || unicode.IsDigit(r) || r == ' ' || r == '-' || r == '_')
	})
	switch {
	case name == "" || strings.TrimSpace(name) != name:
		return question.Usagef("give the season a name")
	case bad >= 0 || len(name) > longestName:
		return question.Usagef("the name of a season has up to %d letters, digits, spaces, - and _", longestName)
	}
	return nil
}

// keepSeason writes the season into the colony's folder.
func keepSeason(v *visit) (*view, error) {
	form := v.request.PostForm
	values, err := url.ParseQuery(strings.TrimPrefix(form.Get("season"), "/season?"))
	if err != nil {
		return nil, question.Usagef("this is no season: %w", err)
	}
	c, beside, err := v.beside(values.Get("of"))
	if err != nil {
		return nil, err
	}
	choices, err := readSeason(values)
	if err != nil {
		return nil, err
	}
	if values.Get("own") == "" {
		choices = beside.Plan.Choices()
	}
	var text bytes.Buffer
	if err := studbook.WriteSeason(&text, choices); err != nil {
		return nil, err
	}
	name := strings.TrimSpace(form.Get("name"))
	if err := soundName(name); err != nil {
		return nil, err
	}
	if v.ReadOnly() {
		return &view{File: &file{Name: name + ".csv", Type: "text/csv; charset=utf-8", Content: text.Bytes()}}, nil
	}
	if err := keepFile(c.folder, name+".csv", text.Bytes()); err != nil {
		return nil, err
	}
	return &view{To: (&seasonOf{visit: v, Of: values.Get("of")}).OpenLink(name)}, nil
}

// keepFile writes a season into the folder of a colony, whole or not at all. One of the
// same name is kept beside it, with ".before" after its name. A link that leads out of the
// folder is not followed.
func keepFile(folder, name string, content []byte) error {
	root, err := os.OpenRoot(folder)
	if err != nil {
		return err
	}
	defer root.Close()
	if err := root.Mkdir(studbook.SeasonsFolder, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	to := path.Join(studbook.SeasonsFolder, name)
	named := func(name string, err error) error { // and not by where on this machine the folder lies
		if err != nil {
			err = &fs.PathError{Op: "write", Path: name, Err: disk.Cause(err)}
		}
		return err
	}
	write := func(name string, content []byte) error {
		if _, err := root.Stat(name); err != nil && !errors.Is(err, fs.ErrNotExist) { // which a link out of the folder is
			return named(name, err)
		}
		return named(name, disk.Disk{}.Write(filepath.Join(folder, name), content))
	}
	switch before, err := root.ReadFile(to); {
	case err == nil:
		if err := write(to+".before", before); err != nil {
			return err
		}
	case !errors.Is(err, fs.ErrNotExist):
		return named(to, err)
	}
	return write(to, content)
}
