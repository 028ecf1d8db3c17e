package exchange

import (
	"encoding/json"
	"errors"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/sheets"
)

// described is what a file beside a table of text says of it: a
// datapackage.json (Frictionless Data Package with a Table Schema) or a
// FILE-metadata.json (CSV on the Web, W3C 2015).
type described struct {
	from      string // the name of that file, "" if there is none
	encoding  string
	delimiter byte
	missing   []string                  // cells of every column that mean nothing
	fields    map[string]describedField // by heading
}

type describedField struct {
	alias     string   // what the field is called otherwise
	missing   []string // cells that mean nothing
	layout    string   // of its dates, as package time writes layouts
	separator string   // between several values in one cell
}

// some reads a JSON value that is a string or a list of strings.
type some []string

func (s *some) UnmarshalJSON(raw []byte) error {
	var one string
	if json.Unmarshal(raw, &one) == nil {
		*s = some{one}
		return nil
	}
	var many []string
	if json.Unmarshal(raw, &many) == nil {
		*s = many
		return nil
	}
	var byLanguage map[string]some // titles of CSV on the Web
	if json.Unmarshal(raw, &byLanguage) == nil {
		for _, k := range slices.Sorted(maps.Keys(byLanguage)) {
			*s = append(*s, byLanguage[k]...)
		}
	}
	return nil // anything else says nothing
}

type tableSchema struct {
	MissingValues some `json:"missingValues"`
	Fields        []struct {
		Name, Title, Type, Format string
		MissingValues             some `json:"missingValues"`
	} `json:"fields"`
	Columns []struct {
		Name      string          `json:"name"`
		Titles    some            `json:"titles"`
		Null      some            `json:"null"`
		Separator string          `json:"separator"`
		Datatype  json.RawMessage `json:"datatype"`
	} `json:"columns"`
	Null some `json:"null"`
}

type dialect struct {
	Delimiter string `json:"delimiter"`
	Encoding  string `json:"encoding"`
}

// describe looks for a description beside a file.
func (s *source) describe(fsys fs.FS, name string) error {
	for _, beside := range []string{"datapackage.json", path.Base(name) + "-metadata.json"} {
		raw, err := studbook.ReadFile(fsys, path.Join(path.Dir(name), beside))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		var d struct {
			Resources []struct {
				Path     some        `json:"path"`
				Encoding string      `json:"encoding"`
				Dialect  dialect     `json:"dialect"`
				Schema   tableSchema `json:"schema"`
			} `json:"resources"`
			Tables []struct {
				URL         string      `json:"url"`
				Dialect     dialect     `json:"dialect"`
				TableSchema tableSchema `json:"tableSchema"`
			} `json:"tables"`
			Dialect     dialect     `json:"dialect"`
			TableSchema tableSchema `json:"tableSchema"`
			Null        some        `json:"null"`
		}
		if json.Unmarshal(raw, &d) != nil {
			continue // of no use, and not asked for
		}
		base := path.Base(name)
		found := false
		for _, r := range d.Resources {
			if slices.ContainsFunc(r.Path, func(p string) bool { return path.Base(p) == base }) {
				s.take(r.Dialect, r.Schema)
				if r.Encoding != "" {
					s.described.encoding = r.Encoding
				}
				found = true
			}
		}
		for _, t := range d.Tables {
			if path.Base(t.URL) == base {
				s.take(d.Dialect, tableSchema{})
				s.take(t.Dialect, t.TableSchema)
				found = true
			}
		}
		if !found && len(d.Resources) == 0 && len(d.Tables) == 0 {
			s.take(d.Dialect, d.TableSchema)
			found = len(d.TableSchema.Columns) > 0
		}
		if found {
			s.missing = append(s.missing, d.Null...)
			s.from = beside
			return nil
		}
	}
	return nil
}

func (s *source) take(d dialect, t tableSchema) {
	if len(d.Delimiter) == 1 {
		s.delimiter = d.Delimiter[0]
	}
	if d.Encoding != "" {
		s.described.encoding = d.Encoding
	}
	s.missing = slices.Concat(s.missing, t.MissingValues, t.Null)
	if s.fields == nil {
		s.fields = make(map[string]describedField)
	}
	for _, f := range t.Fields {
		field := describedField{alias: f.Title, missing: f.MissingValues}
		if f.Type == "date" || f.Type == "datetime" {
			field.layout = layoutOf(f.Format)
		}
		s.fields[f.Name] = field
	}
	for _, c := range t.Columns {
		field := describedField{alias: c.Name, missing: c.Null, separator: c.Separator}
		var kind struct{ Base, Format string }
		if json.Unmarshal(c.Datatype, &kind) == nil && strings.HasPrefix(kind.Base, "date") {
			field.layout = layoutOf(kind.Format)
		}
		for _, title := range c.Titles {
			s.fields[title] = field
		}
		if len(c.Titles) == 0 {
			s.fields[c.Name] = field
		}
	}
}

// layoutOf turns a pattern of dates, as %d/%m/%Y or dd/MM/yyyy, into a layout
// of package time, "" if it is none that is known here.
func layoutOf(pattern string) string {
	if pattern == "" || pattern == "default" || pattern == "any" {
		return ""
	}
	if strings.Contains(pattern, "%") {
		out := strings.NewReplacer("%d", "2", "%m", "1", "%Y", "2006", "%y", "06", "%B", "January", "%b", "Jan").Replace(pattern)
		if strings.Contains(out, "%") {
			return ""
		}
		return out
	}
	return strings.NewReplacer("dd", "2", "d", "2", "MM", "1", "M", "1", "yyyy", "2006", "yy", "06").Replace(pattern)
}

// describeCells blanks the cells that the description says mean nothing and
// turns the dates whose pattern it gives into days.
func (s *source) describeCells(t *sheet) {
	if s.from == "" || len(t.Rows) == 0 {
		return
	}
	head := t.Rows[0].Cells
	for _, r := range t.Rows[1:] {
		for j := range r.Cells {
			c := &r.Cells[j]
			var f describedField
			if j < len(head) {
				f = s.fields[head[j].Text]
			}
			switch {
			case c.Kind == sheets.Blank:
			case slices.Contains(s.missing, c.Text) || slices.Contains(f.missing, c.Text):
				*c = sheets.Cell{}
			case f.layout != "":
				if t, err := time.Parse(f.layout, c.Text); err == nil && t.Year() > 0 {
					*c = sheets.DayCell(int(studbook.DayOf(t.Date())))
				}
			case f.separator != "" && strings.Contains(c.Text, f.separator):
				*c = sheets.TextCell(strings.ReplaceAll(c.Text, f.separator, "; "))
			}
		}
	}
}
