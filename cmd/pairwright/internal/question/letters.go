package question

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook/exchange"
)

// LettersSetting is the key of the setting for letters.
const LettersSetting = "letters"

// Letter is a document for one institution.
type Letter struct {
	Place string // code of the institution
	build func() *document.Document
}

// Document returns the letter.
func (l *Letter) Document() *document.Document { return l.build() }

// Write writes the letter in one of the formats of documents.
func (l *Letter) Write(w io.Writer, format string) error {
	x := Answer{build: l.build}
	return x.Write(w, format)
}

// LetterFiles writes letters in one of the formats of documents, each to a file named
// by its institution.
func LetterFiles(letters []Letter, format string) ([]exchange.File, error) {
	endings := map[string]string{"text": "txt", "md": "md", "html": "html"}
	var files []exchange.File
	taken := map[string]bool{}
	for k := range letters {
		var b bytes.Buffer
		if err := letters[k].Write(&b, format); err != nil {
			return nil, err
		}
		base := fileName(letters[k].Place)
		name := base
		for n := 2; taken[strings.ToLower(name)]; n++ { // some systems tell A from a, others do not
			name = fmt.Sprintf("%s-%d", base, n)
		}
		taken[strings.ToLower(name)] = true
		files = append(files, exchange.File{Name: name + "." + endings[format], Content: b.Bytes()})
	}
	return files, nil
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
