package exchange

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pairwright/pedigree/studbook"
)

// Mapping is what no program can know of a foreign file: what its columns,
// words and dates mean. It is read from a TOML file, or given by flags.
type Mapping struct {
	// Columns maps our names of columns to theirs, in every sheet;
	// SheetColumns those of one sheet alone.
	Columns      map[string]string
	SheetColumns map[string]map[string]string

	Sheets   []string // the sheets that hold birds; all of them if empty
	Dates    string   // the order of numeric dates: "dmy", "mdy", "ymd"
	Encoding string   // as IANA registers it
	Unknown  []string // words for no known parent, a * at the end for anything
	Wild     []string // words for a wild parent
	LeaveOut []string // rows that are none, as "Sheet:57"
	Apart    []string // rows of a bird of their own, though another has the same id
	Carry    []string // headings that are none of ours and are carried over as they stand
	Without  []string // columns of ours that the file does not have

	// Alike says of all ids that the eye does not tell apart, as C12 and c12,
	// whether two of them are "one" bird or "two"; "" stops for each.
	Alike string

	// Bonds is "parents" where living birds whose last chicks are of each other are
	// pairs, whose bonds are written; "" writes no bond that the file does not have.
	Bonds string

	// Words says what words mean: by "sex", "fate" or "event", then theirs,
	// then ours; and by "id" which bird an id is that looks like another.
	Words map[string]map[string]string
}

// WithoutLayout returns what of a mapping may hold for a file that is laid out otherwise:
// what words mean, and not what its columns, sheets and rows are.
func (m Mapping) WithoutLayout() Mapping {
	return Mapping{Unknown: m.Unknown, Wild: m.Wild, Alike: m.Alike, Bonds: m.Bonds, Words: m.Words}
}

// The words of [import.words.fate] for what is no word in the file.
const (
	StruckThrough = "struck through" // a bird whose row is struck through
	BlankStatus   = "(blank)"        // a blank in a column that marks the birds that are there
	Unlisted      = "(not listed)"   // a bird that lists of later years are without
)

// wordKinds are the tables of [import.words], and what their words may mean; an id
// may be any other.
var wordKinds = map[string][]string{
	"id":    nil,
	"sex":   {"F", "M", "U"},
	"fate":  {"alive", "died", "moved", "left"},
	"event": {"hatched", "arrived", "sexed", "ringed", "paired", "parted", "laid", "moved", "died", "left", "nothing"},
}

// ReadMapping reads a mapping from TOML. The error says what is wrong in which
// key.
func ReadMapping(raw []byte) (Mapping, error) {
	var file struct {
		Columns map[string]any `toml:"columns"`
		Import  struct {
			Sheets   []string                     `toml:"sheets"`
			Dates    string                       `toml:"dates"`
			Encoding string                       `toml:"encoding"`
			Unknown  []string                     `toml:"unknown"`
			Wild     []string                     `toml:"wild"`
			LeaveOut []string                     `toml:"leave_out"`
			Apart    []string                     `toml:"apart"`
			Carry    []string                     `toml:"carry"`
			Without  []string                     `toml:"without"`
			Alike    string                       `toml:"alike"`
			Bonds    string                       `toml:"bonds"`
			Words    map[string]map[string]string `toml:"words"`
		} `toml:"import"`
	}
	md, fault := studbook.DecodeSettings(string(raw), &file)
	if fault != nil {
		return Mapping{}, fault
	}
	m := Mapping{
		Sheets: file.Import.Sheets, Dates: file.Import.Dates, Encoding: file.Import.Encoding, Unknown: file.Import.Unknown, Wild: file.Import.Wild, LeaveOut: file.Import.LeaveOut, Apart: file.Import.Apart,
		Carry: file.Import.Carry, Without: file.Import.Without, Alike: file.Import.Alike, Bonds: file.Import.Bonds, Words: file.Import.Words,
		Columns: make(map[string]string), SheetColumns: make(map[string]map[string]string),
	}
	for _, k := range md.Undecoded() {
		if len(k) > 1 && k[0] == "import" {
			return Mapping{}, fmt.Errorf("the mapping has no key %s; it has dates, encoding, unknown, wild, sheets, leave_out, apart, carry, without, alike, bonds and words", strings.Join(k, "."))
		}
	}
	for _, ours := range slices.Sorted(maps.Keys(file.Columns)) {
		switch v := file.Columns[ours].(type) {
		case string:
			m.Columns[ours] = v
		case map[string]any:
			of := make(map[string]string)
			for _, name := range slices.Sorted(maps.Keys(v)) {
				s, ok := v[name].(string)
				if !ok {
					return Mapping{}, fmt.Errorf("[columns.%q] %s: write the column's name in quotation marks", ours, name)
				}
				of[name] = s
			}
			m.SheetColumns[ours] = of
		default:
			return Mapping{}, fmt.Errorf("[columns] %s: write the column's name in quotation marks", ours)
		}
	}
	return m, m.Check()
}

// Check reports what a mapping has that means nothing.
func (m Mapping) Check() error {
	for _, of := range append([]map[string]string{m.Columns}, valuesOf(m.SheetColumns)...) {
		for _, ours := range slices.Sorted(maps.Keys(of)) {
			if _, ok := columnNamed(ours); !ok {
				return fmt.Errorf("there is no column %q to map; ours are %s", ours, strings.Join(columnNames[1:], ", "))
			}
			if strings.TrimSpace(of[ours]) == "" {
				return fmt.Errorf("the column %s is mapped to nothing; write it as sire=Father", ours)
			}
		}
	}
	for _, ours := range m.Without {
		if !slices.Contains([]string{colSire.String(), colDam.String()}, ours) {
			return fmt.Errorf("without %q: a file can do without sire and dam", ours)
		}
	}
	if m.Dates != "" && !slices.Contains(orders[:], m.Dates) {
		return fmt.Errorf("dates %q: write dmy, mdy or ymd", m.Dates)
	}
	if m.Alike != "" && m.Alike != "one" && m.Alike != "two" {
		return fmt.Errorf("alike %q: write one or two", m.Alike)
	}
	if m.Bonds != "" && m.Bonds != BondsOfParents {
		return fmt.Errorf("bonds %q: write %s, or leave it out", m.Bonds, BondsOfParents)
	}
	for _, kind := range slices.Sorted(maps.Keys(m.Words)) {
		may, ok := wordKinds[kind]
		if !ok {
			return errors.New("[import.words] has the tables id, sex, fate and event")
		}
		for _, theirs := range slices.Sorted(maps.Keys(m.Words[kind])) {
			if kind == "id" {
				if strings.TrimSpace(m.Words[kind][theirs]) == "" {
					return fmt.Errorf("[import.words.id] %q: write the id of the bird that it is", theirs)
				}
				continue
			}
			if !slices.Contains(may, m.Words[kind][theirs]) {
				return fmt.Errorf("[import.words.%s] %q = %q: write one of %s", kind, theirs, m.Words[kind][theirs], strings.Join(may, ", "))
			}
		}
	}
	return nil
}

func valuesOf(m map[string]map[string]string) []map[string]string {
	var out []map[string]string
	for _, k := range slices.Sorted(maps.Keys(m)) {
		out = append(out, m[k])
	}
	return out
}

// Over returns the mapping with what another one says laid over it.
func (m Mapping) Over(under Mapping) Mapping {
	out := under
	out.Columns = laid(under.Columns, m.Columns)
	out.SheetColumns = make(map[string]map[string]string)
	for _, from := range []map[string]map[string]string{under.SheetColumns, m.SheetColumns} {
		for s, columns := range from {
			out.SheetColumns[s] = laid(out.SheetColumns[s], columns)
		}
	}
	out.Words = make(map[string]map[string]string)
	for _, from := range []map[string]map[string]string{under.Words, m.Words} {
		for kind, w := range from {
			out.Words[kind] = laid(out.Words[kind], w)
		}
	}
	if m.Dates != "" {
		out.Dates = m.Dates
	}
	if m.Encoding != "" {
		out.Encoding = m.Encoding
	}
	if len(m.Sheets) > 0 {
		out.Sheets = m.Sheets
	}
	if m.Alike != "" {
		out.Alike = m.Alike
	}
	if m.Bonds != "" {
		out.Bonds = m.Bonds
	}
	out.Unknown = union(under.Unknown, m.Unknown)
	out.Wild = union(under.Wild, m.Wild)
	out.LeaveOut = union(under.LeaveOut, m.LeaveOut)
	out.Apart = union(under.Apart, m.Apart)
	out.Carry = union(under.Carry, m.Carry)
	out.Without = union(under.Without, m.Without)
	return out
}

func laid(under, over map[string]string) map[string]string {
	out := make(map[string]string)
	maps.Copy(out, under)
	maps.Copy(out, over)
	return out
}

func union(a, b []string) []string {
	out := slices.Clone(a)
	for _, s := range b {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// toml writes the mapping as TOML, with a remark at each line that a stop leaves
// to be decided.
func (m Mapping) toml(sheets []string, stops []Decision) string {
	var w mappingWriter
	told := make(map[string]bool) // there may be as many as rows
	for _, d := range stops {
		if d.Choice != nil && !told[d.Choice.of()] {
			told[d.Choice.of()] = true
			w.open = append(w.open, *d.Choice)
		}
	}
	w.WriteString("[columns]\n")
	w.columns("", m.Columns)
	for _, s := range sheets {
		of := m.SheetColumns[s]
		if s != "" && (len(of) > 0 || w.undecided(func(c Choice) bool { return c.ofColumns() && c.Sheet == s })) {
			fmt.Fprintf(&w, "\n[columns.%s]\n", QuoteTOML(s))
			w.columns(s, of)
		}
	}
	w.WriteString("\n[import]\n")
	w.settings(m)
	for _, kind := range []string{"id", "sex", "fate", "event"} {
		w.words(kind, m.Words[kind])
	}
	return w.String()
}

// mappingWriter writes a mapping and what is still to be decided of it.
type mappingWriter struct {
	strings.Builder
	open []Choice // each once
}

func (w *mappingWriter) undecided(is func(Choice) bool) bool { return slices.ContainsFunc(w.open, is) }

// columns writes the columns of a sheet, those of every sheet for "".
func (w *mappingWriter) columns(sheet string, of map[string]string) {
	for _, ours := range slices.Sorted(maps.Keys(of)) {
		if !w.undecided(func(c Choice) bool { return c.ofColumns() && c.Of == ours && (c.Sheet == sheet || sheet == "") }) {
			w.setting(ours, of[ours])
		}
	}
	for _, c := range w.open {
		switch {
		case !c.ofColumns() || c.Sheet != sheet:
		case c.Subject == OfHeading:
			fmt.Fprintf(w, "# %s = %s # to decide: take the # from one of these\n", c.Of, QuoteTOML(c.Word))
		case c.unnamed:
			fmt.Fprintf(w, "# %s = \"\" # to decide: the heading of the column\n", c.Of)
		default:
			for _, o := range c.May {
				fmt.Fprintf(w, "# %s = %s # to decide: take the # from one of these\n", c.Of, QuoteTOML(o.Answer))
			}
		}
	}
}

func (w *mappingWriter) settings(m Mapping) {
	w.list("sheets", m.Sheets)
	if w.undecided(func(c Choice) bool { return c.Subject == OfDates }) {
		w.WriteString("dates = \"\" # to decide: dmy, mdy or ymd\n")
	} else {
		w.given("dates", m.Dates)
	}
	w.given("encoding", m.Encoding)
	w.list("unknown", m.Unknown)
	for _, c := range w.open {
		if c.Subject == OfParent {
			fmt.Fprintf(w, "# unknown = [%s] # to decide: a word for no known parent, or a bird that needs a row\n", QuoteTOML(c.Word))
		}
	}
	w.list("wild", m.Wild)
	w.list("leave_out", m.LeaveOut)
	for _, c := range w.open {
		if c.Subject == OfRow {
			fmt.Fprintf(w, "# leave_out = [%s] # to decide: the row that is wrong\n", QuoteTOML(c.May[len(c.May)-2].Answer))
		}
	}
	w.list("apart", m.Apart)
	for _, c := range w.open {
		if c.Subject == OfRow {
			row, _ := ApartRow(c.May[len(c.May)-1].Answer)
			fmt.Fprintf(w, "# apart = [%s] # or: the row of another bird, which gets an id of its own\n", QuoteTOML(row))
		}
	}
	w.list("carry", m.Carry)
	w.list("without", m.Without)
	w.given("alike", m.Alike)
	if m.Alike == "" && w.undecided(func(c Choice) bool { return c.Subject == OfWord && c.Of == "id" }) {
		w.WriteString("# alike = \"\" # to decide for all such ids at once: one or two birds\n")
	}
	w.given("bonds", m.Bonds)
}

// words writes what the words of one kind mean.
func (w *mappingWriter) words(kind string, means map[string]string) {
	open := slices.DeleteFunc(slices.Clone(w.open), func(c Choice) bool { return c.Subject != OfWord || c.Of != kind })
	if len(means) == 0 && len(open) == 0 {
		return
	}
	fmt.Fprintf(w, "\n[import.words.%s]\n", kind)
	for _, theirs := range slices.Sorted(maps.Keys(means)) {
		w.setting(QuoteTOML(theirs), means[theirs])
	}
	for _, c := range open {
		fmt.Fprintf(w, "%s = \"\" # to decide: %s\n", QuoteTOML(c.Word), c.meanings())
	}
}

func (w *mappingWriter) setting(name, text string) {
	fmt.Fprintf(w, "%s = %s\n", name, QuoteTOML(text))
}

// given writes a text, unless it is empty.
func (w *mappingWriter) given(name, text string) {
	if text != "" {
		w.setting(name, text)
	}
}

// list writes several texts, unless there are none.
func (w *mappingWriter) list(name string, texts []string) {
	if len(texts) == 0 {
		return
	}
	quoted := make([]string, len(texts))
	for i, s := range texts {
		quoted[i] = QuoteTOML(s)
	}
	fmt.Fprintf(w, "%s = [%s]\n", name, strings.Join(quoted, ", "))
}

// QuoteTOML writes a basic string of TOML.
func QuoteTOML(s string) string {
	q := strconv.Quote(strings.ToValidUTF8(s, "\uFFFD"))
	// Go and TOML differ in the escapes of what is below a blank. A backslash that stands for
	// itself is passed over, or the letter behind it would be taken for such an escape.
	return strings.NewReplacer(`\\`, `\\`, `\a`, `\u0007`, `\v`, `\u000B`, `\x`, `\u00`).Replace(q)
}
