package question

import (
	"context"
	"fmt"
	"io"
	"net/url"
	"slices"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// Answer is the answer to a question, before it is written in one of its
// formats.
type Answer struct {
	// Warnings are what the reader must know besides the answer: first what
	// the files gave rise to, then the answer's own.
	Warnings []string
	// Own are those of Warnings that the answer itself gave rise to. A
	// document has them among its notes.
	Own []string
	// FindingsInside is set where the answer itself is about the findings of
	// the files and the notes of how they were read.
	FindingsInside bool
	// AtFault is set where the answer says that the files cannot be used.
	AtFault bool
	// Findings are those of an answer that is about them.
	Findings []studbook.Finding
	// Attachment writes the rows to send along, as CSV; nil where there are
	// none.
	Attachment func(w io.Writer) error
	// Letters are documents to be written into a folder, one for each institution; nil
	// where none were asked for.
	Letters []Letter

	// Found is what DNA has found and the files do not have, as events to write down.
	Found []Found

	schema string     // of the JSON; "" where it is an array
	value  func() any // the JSON; like the others it is made when a format asks for it
	build  func() *document.Document
	rows   func(w io.Writer) error
}

// Found is something that can be written down.
type Found struct {
	Event  string     // as record names it
	Values url.Values // its fields
	What   string     // in words, without full stop: "the kinship of A1 and A2"
}

// Answer answers the question from the folder that was read. The last answers are
// kept with the folder.
func (a *Asked) Answer(ctx context.Context, f *Folder) (*Answer, error) {
	return f.answers.at(a.key()).get(ctx, func() (*Answer, error) { return a.find(ctx, f) })
}

// find finds the answer.
func (a *Asked) find(ctx context.Context, f *Folder) (*Answer, error) {
	x, err := a.answer(ctx, a, f)
	if err != nil {
		return nil, Advised(err)
	}
	if f.Colony != nil {
		x.note(report.AbsentFiles(f.Colony, a.Question.uses))
		x.note(report.UnreadFiles(f.Colony))
	}
	notes, findings := f.Told(a)
	if !x.FindingsInside {
		x.Warnings = slices.Concat(notes, findings)
	}
	x.Warnings = append(x.Warnings, x.Own...)
	return x, nil
}

// Document returns the answer as a document.
func (x *Answer) Document() *document.Document { return x.build() }

// Filled returns the answer with the blanks of its document replaced by what fill
// returns for them.
func (x *Answer) Filled(fill func(document.Blank) string) *Answer {
	filled := *x
	filled.build = func() *document.Document { return x.build().FillIn(fill) }
	return &filled
}

// note adds to an answer, and to the notes of its document, what its reader must
// know besides; nothing if that is blank.
func (x *Answer) note(note string) {
	if note == "" {
		return
	}
	x.Own = append(x.Own, note)
	build := x.build
	x.build = func() *document.Document {
		d := build()
		d.Notes = append(d.Notes, report.Sentences(note)...)
		return d
	}
}

// CarriesWarnings reports whether the answer in the format has the warnings in
// it: JSON objects carry all, documents those of the answer's own, tables none.
func (x *Answer) CarriesWarnings(format string) bool {
	return format != "csv" && (format != "json" || x.schema != "")
}

// Write writes the answer in one of the question's formats.
func (x *Answer) Write(w io.Writer, format string) error {
	switch {
	case format == "json" && x.schema == "":
		return contract.WriteJSON(w, x.value())
	case format == "json":
		return contract.WriteObject(w, x.schema, x.Warnings, x.value())
	case format == "csv" && x.rows != nil:
		return x.rows(w)
	case format == "text":
		return document.WriteText(w, x.build(), 0)
	case format == "md":
		return document.WriteMarkdown(w, x.build())
	case format == "html":
		return document.WriteHTML(w, x.build())
	case format == "xlsx":
		return document.WriteWorkbook(w, x.build())
	}
	return fmt.Errorf("question: no format %q", format)
}

// records returns what writes rows as CSV with the keys of the JSON.
func records[T any](rows func() []T) func(w io.Writer) error {
	return func(w io.Writer) error { return contract.WriteRecords(w, rows()) }
}
