package studbook

import "strings"

// Package is the description of a colony folder by the Data Package standard
// with a Table Schema for each file (Frictionless Data, version 1), as the
// value that datapackage.json holds.
type Package struct {
	Name      string     `json:"name"`
	Profile   string     `json:"profile"`
	Resources []Resource `json:"resources"`
}

// Resource is a file of a Package.
type Resource struct {
	Name        string `json:"name"`
	Path        string `json:"path"`
	Profile     string `json:"profile"`
	Description string `json:"description"`
	Schema      Schema `json:"schema"`
}

// Schema is the Table Schema of a Resource.
type Schema struct {
	Fields        []SchemaField `json:"fields"`
	MissingValues []string      `json:"missingValues"`
	PrimaryKey    []string      `json:"primaryKey,omitempty"`
}

// SchemaField is a column in a Schema. Dates may be known in part and parents
// be several, so both are of type string.
type SchemaField struct {
	Name        string       `json:"name"`
	Type        string       `json:"type"`
	Description string       `json:"description"`
	Constraints *Constraints `json:"constraints,omitempty"`
}

// Constraints limit the cells of a SchemaField.
type Constraints struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
	Enum     []string `json:"enum,omitempty"`
}

// DataPackage describes the files of a colony folder that are named, as
// "studbook.csv", or all of them if none is.
func DataPackage(names ...string) Package {
	p := Package{Name: "colony", Profile: "tabular-data-package"}
	for _, f := range Files() {
		wanted := len(names) == 0
		for _, name := range names {
			wanted = wanted || name == f.Name
		}
		if wanted {
			p.Resources = append(p.Resources, f.resource())
		}
	}
	return p
}

func (f File) resource() Resource {
	r := Resource{
		Name: strings.ReplaceAll(strings.TrimSuffix(f.Name, ".csv"), "_", "-"), Path: f.Name,
		Profile: "tabular-data-resource", Description: "one row is " + f.Row,
		Schema: Schema{MissingValues: []string{""}},
	}
	for _, c := range f.Columns {
		field := SchemaField{Name: c.Name, Type: "string", Description: strings.ReplaceAll(c.Means, "`", "")}
		if c.Unit != "" {
			field.Description += "; " + c.Unit
		}
		limits := Constraints{Required: c.Filled, Enum: c.Words}
		switch c.Form {
		case FormCount:
			if c.OrWord == "" {
				field.Type, limits.Minimum = "integer", &c.Low
			}
		case FormNumber:
			field.Type, limits.Minimum, limits.Maximum = "number", &c.Low, &c.High
		case FormDate:
			field.Description += "; a date of the Extended Date/Time Format (ISO 8601-2)"
		}
		if c.Key {
			limits.Unique = true
			r.Schema.PrimaryKey = []string{c.Name}
		}
		if limits.Required || limits.Unique || limits.Enum != nil || limits.Minimum != nil {
			field.Constraints = &limits
		}
		r.Schema.Fields = append(r.Schema.Fields, field)
	}
	return r
}
