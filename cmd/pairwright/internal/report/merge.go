package report

import (
	"fmt"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// goneText says how many birds of the folder the export has no more, or has not.
func goneText(m *exchange.Merged) string {
	birds := document.FormatThings(len(m.Gone), "bird is", "birds are")
	if m.Part {
		return birds + " not in the file, which has a part of the colony's"
	}
	return birds + " gone from the export"
}

// livingAgain returns the birds whose death is taken back.
func livingAgain(m *exchange.Merged) (birds []string) {
	for _, c := range m.Changes {
		if c.File == "studbook.csv" && c.Column == "death_date" && c.Was != "" && c.Now == "" {
			birds = append(birds, c.Row)
		}
	}
	return birds
}

// MergeDocument says what a newer export changes in a colony folder. change is
// the number of the change that was written, 0 if nothing was; asked tells that
// it was to be.
func MergeDocument(source, dir string, m *exchange.Merged, asked bool, change int) *document.Document {
	open := 0
	for _, c := range m.Conflicts {
		if c.Settled == "" {
			open++
		}
	}
	d := &document.Document{Title: fmt.Sprintf("What %s changes in %s", source, dir)}
	d.Lead = fmt.Sprintf("%s, %s, %s.", document.FormatThings(len(m.New), "new bird", "new birds"), document.FormatThings(len(m.Changes), "change", "changes"), goneText(m))
	switch {
	case open > 0:
		d.Lead += fmt.Sprintf(" Nothing was written: %s changed both here and there; settle them with --keep theirs or --keep ours, or edit a file.", document.FormatThings(open, "cell was", "cells were"))
	case studbook.Errors(m.Findings) > 0:
		d.Lead += fmt.Sprintf(" Nothing was written: together they have %s.", document.FormatThings(studbook.Errors(m.Findings), "error", "errors"))
	case change > 0:
		d.Lead += fmt.Sprintf(" It was written, as change %d; undo takes it back.", change)
	case asked:
		d.Lead += " Nothing was to be written: the folder has all of it."
	default:
		d.Lead += " Nothing was written; --apply takes it."
	}
	if m.Anew {
		d.Lead += " It is laid out otherwise than the file that made the folder, so its columns were read by themselves."
	}
	if len(m.Conflicts) > 0 {
		t := &document.Table{Columns: []document.Column{{Name: "Row", Key: true}, {Name: "Column"}, {Name: "Was"}, {Name: "Here", Wide: true}, {Name: "In the file", Wide: true}, {Name: "Settled"}}}
		for _, c := range m.Conflicts {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: c.File + " " + c.Row}, {Text: c.Column}, {Text: c.Was}, {Text: c.Ours}, {Text: c.Theirs}, {Text: c.Settled}}})
		}
		title := "Changed on both sides"
		if m.First {
			title = "Otherwise here than in the file"
		}
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: []document.Block{t}})
	}
	if len(m.New) > 0 {
		const most = 200
		t := &document.Table{Columns: []document.Column{{Name: "Bird", Key: true}, {Name: "Name"}, {Name: "Sex"}, {Name: "Sire"}, {Name: "Dam"}, {Name: "Hatched"}, {Name: "At"}}}
		for _, b := range m.New[:min(most, len(m.New))] {
			row := document.Row{}
			for _, cell := range []string{b.ID, b.Name, b.Sex, b.Sire, b.Dam, b.Hatched, b.Location} {
				row.Cells = append(row.Cells, document.Cell{Text: cell})
			}
			t.Rows = append(t.Rows, row)
		}
		blocks := []document.Block{t}
		if more := len(m.New) - most; more > 0 {
			blocks = append(blocks, document.Paragraph("And "+document.FormatThings(more, "more", "more")+"."))
		}
		d.Sections = append(d.Sections, document.Section{Title: "New birds", Blocks: blocks})
	}
	if len(m.Changes) > 0 {
		t := &document.Table{Columns: []document.Column{{Name: "Row", Key: true}, {Name: "Column"}, {Name: "Was", Wide: true}, {Name: "Is now", Wide: true}}}
		for _, c := range m.Changes {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: c.File + " " + c.Row}, {Text: c.Column}, {Text: c.Was}, {Text: c.Now}}})
		}
		blocks := []document.Block{t}
		if again := livingAgain(m); len(again) > 0 {
			blocks = []document.Block{document.Paragraph("Living again, for the file lists them and has no death of theirs any more: " + document.FormatList(again, 20) + "."), t}
		}
		d.Sections = append(d.Sections, document.Section{Title: "Changed", Blocks: blocks})
	}
	if len(m.Kept) > 0 {
		const most = 20
		t := &document.Table{Columns: []document.Column{{Name: "Row", Key: true}, {Name: "Column"}, {Name: "Stays", Wide: true}}}
		for _, c := range m.Kept[:min(most, len(m.Kept))] {
			t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: c.File + " " + c.Row}, {Text: c.Column}, {Text: c.Was}}})
		}
		blocks := []document.Block{document.Paragraph("In the file these columns have a heading and nothing beneath it, so that they say nothing. Where a cell was emptied on purpose, empty it in the folder too."), t}
		if more := len(m.Kept) - most; more > 0 {
			blocks = append(blocks, document.Paragraph("And "+document.FormatThings(more, "more", "more")+"."))
		}
		d.Sections = append(d.Sections, document.Section{Title: "Blank in the file, and kept", Blocks: blocks})
	}
	if len(m.Gone) > 0 {
		title, most := "Gone from the export", 200
		if m.Part {
			title, most = "Not in the file", 20 // nobody looks through them
		}
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: []document.Block{
			document.Paragraph("These birds are kept, with all that is written of them: a bird is never deleted by an import."), document.Paragraph(document.FormatList(m.Gone, most))}})
	}
	if len(m.Silent) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "Files of which it has nothing", Blocks: []document.Block{
			document.Paragraph("Their rows stay as they are: " + document.FormatList(m.Silent, len(m.Silent)) + ".")}})
	}
	if len(m.Findings) > 0 {
		d.Sections = append(d.Sections, document.Section{Title: "What check finds then", Blocks: []document.Block{firstFindings(m.Findings)}})
	}
	return d
}
