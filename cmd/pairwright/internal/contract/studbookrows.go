package contract

import (
	"io"

	"pairwright/pedigree/studbook"
)

// WriteStudbook writes birds as a studbook file with the columns that the
// studbook itself has, dates as they are written there.
func WriteStudbook(w io.Writer, c *studbook.Colony, birds []studbook.Bird) error {
	var without []string
	if !c.HasOrigin {
		without = append(without, "origin")
	}
	if !c.HasLocation {
		without = append(without, "location")
	}
	return studbook.Write(w, birds, without...)
}
