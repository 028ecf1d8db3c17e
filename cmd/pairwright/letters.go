package main

import (
	"fmt"
	"io"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook/exchange"
)

// writeLetters writes letters into a folder that is absent or empty: all of them or
// none.
func writeLetters(dir, format string, letters []question.Letter, stdout io.Writer) error {
	files, err := question.LetterFiles(letters, format)
	if err != nil {
		return err
	}
	if err := exchange.Create(dir, files); err != nil {
		return err
	}
	_, err = fmt.Fprintf(stdout, "Wrote %s to %s: %s.\n", document.FormatThings(len(files), "letter", "letters"), dir, strings.Join(exchange.Names(files), ", "))
	return err
}
