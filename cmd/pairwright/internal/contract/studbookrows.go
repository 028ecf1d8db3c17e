package contract

import (
	"io"

	"pairwright/pedigree/studbook"
)

// WriteStudbook writes the birds of a colony as a studbook file with the columns
// that the studbook itself has, dates as they are written there.
func WriteStudbook(w io.Writer, c *studbook.Colony) error {
	var without []string
	if !c.HasOrigin {
		without = append(without, "origin")
	}
	if !c.HasLocation {
		without = append(without, "location")
	}
	return studbook.Write(w, c.Birds, without...)
}
