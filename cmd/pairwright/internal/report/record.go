package report

import (
	"fmt"
	"slices"
	"strings"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// RecordDocument shows an event as the rows that it becomes, what they change
// and what a check of the colony says of it. It is written where it has a
// number.
func RecordDocument(p *journal.Proposal) *document.Document {
	d := &document.Document{Title: RecordTitle(p), Lead: recordLead(p), Facts: recordFacts(p), Brief: true}
	if len(p.Findings) > 0 && !nothingToUndo(p) {
		title := "What check finds with it"
		if p.Refused() {
			title = "What is wrong"
		}
		d.Sections = append(d.Sections, document.Section{Title: title, Blocks: []document.Block{firstFindings(p.Findings)}})
	}
	if len(p.Edits) > 0 {
		d.Sections = append(d.Sections,
			document.Section{Title: "What changes", Blocks: editTables(p)},
			document.Section{Title: "The rows as the files have them", Blocks: []document.Block{rowTable(p.Edits)}})
	}
	return d
}

// RecordParts is RecordDocument in two: what a person looks at, and the rows as they are
// written, with what goes along in the settings.
func RecordParts(p *journal.Proposal) (shown, written *document.Document) {
	shown, written = RecordDocument(p), &document.Document{Brief: true}
	if len(p.Edits) == 0 {
		return shown, written
	}
	told := *p
	told.Edits = nil
	var along []studbook.Edit
	for _, e := range p.Edits {
		if e.File == "programme.toml" {
			along = append(along, e)
		} else {
			told.Edits = append(told.Edits, e)
		}
	}
	rows := len(shown.Sections) - 1
	written.Sections = []document.Section{shown.Sections[rows]}
	if shown.Sections = shown.Sections[:rows]; len(told.Edits) > 0 && len(along) > 0 {
		shown.Sections[rows-1].Blocks = editTables(&told)
		told.Edits = along
		written.Sections = append(written.Sections, document.Section{Title: "What changes in the settings", Blocks: editTables(&told)})
	}
	return shown, written
}

// recordFacts say which birds an event names, and what ends with it.
func recordFacts(p *journal.Proposal) document.Facts {
	var facts document.Facts
	for k := range p.About {
		n := &p.About[k]
		facts = append(facts, document.Fact{Name: Capital(n.Field), Value: namedText(n)})
	}
	for _, pair := range p.Ended {
		facts = append(facts, document.Fact{Name: "Ends", Value: fmt.Sprintf("the bond of %s and %s", pair[0], pair[1])})
	}
	return facts
}

// namedText writes a bird that an event names: C0734 (Moss), female, hatched 2019-05-18,
// at HAF, with C0902.
func namedText(n *journal.Named) string {
	parts := []string{n.ID}
	if n.Name != "" {
		parts[0] += " (" + n.Name + ")"
	}
	if sex := map[string]string{"F": "female", "M": "male"}[strings.ToUpper(n.Sex)]; sex != "" {
		parts = append(parts, sex)
	}
	for _, x := range []struct{ word, value string }{{"hatched", n.Hatched}, {"at", n.Place}, {"with", n.Mate}} {
		if x.value != "" {
			parts = append(parts, x.word+" "+x.value)
		}
	}
	return strings.Join(parts, ", ")
}

// RecordTitle says what is written down.
func RecordTitle(p *journal.Proposal) string {
	if p.Undoes != nil && p.Number == 0 {
		return fmt.Sprintf("Take back change %d: %s", p.Undoes.Number, happenedWord(p.Undoes.Event))
	}
	if p.Undoes != nil {
		return fmt.Sprintf("Change %d taken back: %s", p.Undoes.Number, happenedWord(p.Undoes.Event))
	}
	if p.Event.Kind == journal.Undo {
		return "Nothing to take back"
	}
	return Capital(happenedWord(p.Event))
}

// nothingToUndo reports whether it is asked to take back a change where none stands,
// which is no fault of the files.
func nothingToUndo(p *journal.Proposal) bool { return p.Event.Kind == journal.Undo && p.Undoes == nil }

// KindWord is a kind of event as a heading.
func KindWord(k *journal.Kind) string { return Capital(k.Means) }

// FieldWord says what is to be told in a field of an event, and what stands in
// for it.
func FieldWord(f *journal.Field) string {
	s := strings.ReplaceAll(f.Means, "`", "")
	if f.Else != "" {
		s += "; if it is left out: " + f.Else
	}
	return s
}

// happenedWord says in a few words what an event is: "a chick hatched (C0419)".
func happenedWord(e journal.Event) string {
	k := journal.KindOf(e.Kind)
	switch {
	case e.Kind == journal.Import:
		return "a newer export was laid over the folder (" + e.Values["file"] + ")"
	case k == nil:
		return "a change was taken back"
	}
	var who []string
	for _, f := range k.Fields {
		if v := e.Values[f.Name]; v != "" && f.List == journal.Birds {
			who = append(who, v)
		}
	}
	if len(who) == 0 {
		return k.Means
	}
	return fmt.Sprintf("%s (%s)", k.Means, strings.Join(who, ", "))
}

// DoneWords says what a change that was made did.
func DoneWords(e journal.Entry) string {
	if e.Undoes != 0 {
		return fmt.Sprintf("Taken back: change %d.", e.Undoes)
	}
	text := fmt.Sprintf("Written down: %s, as change %d, in %s.", happenedWord(e.Event), e.Number, document.FormatList(editedFiles(e.Edits), 0))
	if e.Undone {
		text += " It has been taken back since."
	}
	return text
}

func recordLead(p *journal.Proposal) string {
	files := editedFiles(p.Edits)
	switch {
	case nothingToUndo(p):
		return "In this folder nothing was written down that could be taken back. What is wrong in a file otherwise is corrected in it by hand."
	case p.Refused():
		return fmt.Sprintf("Nothing is written: the check finds %s.", document.FormatThings(studbook.Errors(p.Findings), "error", "errors"))
	case p.Number > 0 && p.Undoes != nil:
		return fmt.Sprintf("It is written to %s, as change %d. Undo again takes back the change before it.", document.FormatList(files, 0), p.Number)
	case p.Number > 0:
		return fmt.Sprintf("It is written to %s, as change %d. The files as they were are kept in the folder %s; undo takes it back.", document.FormatList(files, 0), p.Number, journal.Earlier)
	}
	return fmt.Sprintf("So it would be written to %s. Nothing is written yet.", document.FormatList(files, 0))
}

// editedFiles are the files of edits, each once.
func editedFiles(edits []studbook.Edit) []string {
	var files []string
	for _, e := range edits {
		if !slices.Contains(files, e.File) {
			files = append(files, e.File)
		}
	}
	return files
}

// mostApart is up to how many rows that change are shown each by itself.
const mostApart = 12

// editTables list the cells that change, row by row; those of many rows in one table.
func editTables(p *journal.Proposal) []document.Block {
	column, was, is := document.Column{Name: "Column", Key: true}, document.Column{Name: "Was"}, document.Column{Name: "Will be"}
	if p.Number > 0 {
		is.Name = "Is now"
	}
	if len(p.Edits) > mostApart {
		t := &document.Table{Columns: []document.Column{{Name: "File", Key: true}, {Name: "Row"}, column, was, is}}
		for _, e := range p.Edits {
			for _, c := range e.Cells {
				t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: e.File}, {Text: rowWord(&e)}, {Text: c.Column}, {Text: c.Before}, {Text: c.After}}})
			}
		}
		return []document.Block{t}
	}
	var blocks []document.Block
	for _, e := range p.Edits {
		t := &document.Table{Caption: e.File + ", " + rowWord(&e), Columns: []document.Column{column}}
		if e.Before != "" {
			t.Columns = append(t.Columns, was)
		}
		if e.After != "" {
			t.Columns = append(t.Columns, is)
		}
		for _, c := range e.Cells {
			cells := []document.Cell{{Text: c.Column}}
			if e.Before != "" {
				cells = append(cells, document.Cell{Text: c.Before})
			}
			if e.After != "" {
				cells = append(cells, document.Cell{Text: c.After})
			}
			t.Rows = append(t.Rows, document.Row{Cells: cells})
		}
		blocks = append(blocks, t)
	}
	return blocks
}

// rowWord says which row of its file an edit is about.
func rowWord(e *studbook.Edit) string {
	switch {
	case e.Before == "":
		return "new row"
	case e.After == "":
		return "row taken out"
	}
	return fmt.Sprintf("line %d", e.Line)
}

// rowTable lists the rows that change, as they are written.
func rowTable(edits []studbook.Edit) *document.Table {
	t := &document.Table{Columns: []document.Column{{Name: "File", Key: true}, {Name: "State", Key: true}, {Name: "Row", Wide: true}}}
	for _, e := range edits {
		for _, x := range []struct{ word, row string }{{"before", e.Before}, {"after", e.After}} {
			if x.row != "" {
				t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{{Text: e.File}, {Text: x.word}, {Text: x.row}}})
			}
		}
	}
	return t
}

// ChangesDocument lists the last changes, the newest first.
func ChangesDocument(all []journal.Entry) *document.Document {
	d := &document.Document{Title: "The last changes"}
	if len(all) == 0 {
		d.Lead = "Nothing was written down in this folder yet, or nothing that is still kept."
		return d
	}
	d.Lead = "The last change. changes.csv has all there were, row by row."
	if len(all) > 1 {
		d.Lead = fmt.Sprintf("The last %s, the newest first. changes.csv has all there were, row by row.", document.FormatThings(len(all), "change", "changes"))
	}
	t := &document.Table{Columns: []document.Column{{Name: "Change", Key: true, Right: true}, {Name: "When"}, {Name: "What", Wide: true}, {Name: "Files", Wide: true}, {Name: "State"}}}
	for _, e := range all {
		what, state := happenedWord(e.Event), "stands"
		switch {
		case e.Undoes != 0:
			what, state = fmt.Sprintf("change %d was taken back", e.Undoes), ""
		case e.Undone:
			state = "taken back"
		}
		t.Rows = append(t.Rows, document.Row{Cells: []document.Cell{
			{Text: fmt.Sprint(e.Number), Value: e.Number}, {Text: e.When.Format("2006-01-02 15:04")}, {Text: what}, {Text: strings.Join(editedFiles(e.Edits), ", ")}, {Text: state},
		}})
	}
	d.Sections = []document.Section{{Title: "Changes", Blocks: []document.Block{t}}}
	return d
}
