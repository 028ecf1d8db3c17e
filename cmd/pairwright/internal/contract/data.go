package contract

import (
	"encoding/csv"
	"encoding/json"
	"io"

	"pairwright/pedigree/studbook"
)

// WriteJSON writes a value as indented JSON with a newline at its end. The
// letters <, > and & stay as they are.
func WriteJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// writeCSV writes a heading row and rows as CSV. What a spreadsheet would run as
// a formula is guarded as studbook.Guarded does.
func writeCSV(w io.Writer, header []string, rows [][]string) error {
	c := csv.NewWriter(w)
	c.Write(header) // its error comes back from Flush
	for _, row := range rows {
		guarded := make([]string, len(row))
		for k, cell := range row {
			guarded[k] = studbook.Guarded(cell)
		}
		c.Write(guarded)
	}
	c.Flush()
	return c.Error()
}
