package main

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook/exchange"
)

// writeLetters writes letters into a folder that is absent or empty, each to a file
// named by its institution: all of them or none.
func writeLetters(dir, format string, letters []question.Letter, stdout io.Writer) error {
	endings := map[string]string{"text": "txt", "md": "md", "html": "html"}
	var files []exchange.File
	taken := map[string]bool{}
	for k := range letters {
		var b bytes.Buffer
		if err := letters[k].Write(&b, format); err != nil {
			return err
		}
		base := fileName(letters[k].Place)
		name := base
		for n := 2; taken[strings.ToLower(name)]; n++ { // some systems tell A from a, others do not
			name = fmt.Sprintf("%s-%d", base, n)
		}
		taken[strings.ToLower(name)] = true
		files = append(files, exchange.File{Name: name + "." + endings[format], Content: b.Bytes()})
	}
	if err := exchange.Create(dir, files); err != nil {
		return err
	}
	_, err := fmt.Fprintf(stdout, "Wrote %s to %s: %s.\n", document.FormatThings(len(files), "letter", "letters"), dir, strings.Join(exchange.Names(files), ", "))
	return err
}

// longestName is how much of a code goes into the name of a file.
const longestName = 60

// fileName makes the code of an institution fit to name a file with: what is no
// letter, digit or hyphen becomes an underscore.
func fileName(code string) string {
	if code == "" {
		return "programme"
	}
	name := []rune(strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) || c == '-' {
			return c
		}
		return '_'
	}, code))
	return string(name[:min(len(name), longestName)])
}
