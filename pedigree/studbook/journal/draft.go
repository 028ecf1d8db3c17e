package journal

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/disk"
)

// Folder is a colony folder that can be written to.
type Folder struct {
	dir, name string // where it is, and the file name of the studbook in it
	opt       Options
}

// Options say how to write to a folder. The zero Options are usable.
type Options struct {
	Columns map[string]string // our column names to those of the files
	Now     func() time.Time  // nil: the clock of the machine
	Wait    time.Duration     // at most for another program that writes; 0: ten seconds
	Disk    disk.Disk
	// Check finds what is wrong with a colony beyond what is found in reading it, as in its
	// pedigree; nil for nothing more.
	Check func(context.Context, *studbook.Colony) ([]studbook.Finding, error)
}

// Proposal is an event as it would be written down, or was.
type Proposal struct {
	Event Event
	// Edits are the rows that change, in the order of files; changes.csv,
	// which tells of them, is not among them.
	Edits []studbook.Edit
	// Findings are what is wrong with the event, and what a check of the
	// whole colony finds with it that it did not find without. With an Error
	// among them it is not written.
	Findings []studbook.Finding
	// About are the birds that the event names, each once, as they stand before it.
	About []Named
	// Ended are the pairs whose bond ends with it, the female first.
	Ended [][2]string
	// Seal stands for the rows and for the files as they were when it was
	// made; see Commit.
	Seal   string
	Number int    // of the change; 0 while it is not written
	Undoes *Entry // what is taken back, of Undo
}

// Named is a bird that an event names, as its row has it: so that a reader sees
// whether it is the one that was meant.
type Named struct {
	Field         string // that names it
	ID, Name, Sex string
	Hatched       string // as in the studbook
	Place         string // where it lives; "" where that is not known
	Mate          string // id; "" for none
}

// Refused reports whether the event cannot be written down.
func (p *Proposal) Refused() bool { return studbook.Errors(p.Findings) > 0 }

// Codes of findings about an event. The Column of such a finding is a field.
const (
	codeNotTold     = "not_told"        // something that must be known
	codeOnRecord    = "on_record"       // it is there already
	codeNotOnRecord = "not_on_record"   // what it is about is not there
	codeNotYet      = "not_yet"         // it lies in the future
	codeNotLiving   = "not_living"      // the bird
	codeUnknownID   = "unknown_id"      // no such bird
	codeBadValue    = "bad_value"       // not what the field takes
	codeNoClutch    = "no_clutch"       // a warning: a chick from no clutch on record
	codeNoneHatched = "none_hatched"    // a warning: none fledged of a clutch of which none hatched
	codeLongAgo     = "long_ago"        // a warning: the clutch has hatched, or could have
	codeOnHold      = "on_hold"         // a warning: the bird, from what is told
	codeQuarantine  = "quarantine"      // a warning: it is not over
	codeAskedFor    = "asked_for"       // a warning: the bird, for another mate
	codeNothingNew  = "nothing_new"     // nothing would change
	codeNotWritable = "not_writable"    // the file cannot be changed so that the rest stays
	codeChangedHand = "changed_by_hand" // what is to be taken back is no longer there
)

// Open returns the colony folder of a studbook. Nothing is read yet.
func Open(file string, opt Options) *Folder {
	dir, name := path.Split(strings.ReplaceAll(file, `\`, "/"))
	if opt.Now == nil {
		opt.Now = time.Now
	}
	opt.Wait = cmp.Or(opt.Wait, 10*time.Second)
	return &Folder{dir: cmp.Or(dir, "."), name: name, opt: opt}
}

// Draft returns what an event would write, and writes nothing. Its error is of
// the file system, or says that there is no such event.
func (f *Folder) Draft(ctx context.Context, e Event) (*Proposal, error) {
	p, _, err := f.draft(ctx, View(os.DirFS(f.dir)), e)
	return p, err
}

// draft returns an event as a proposal and as the files that it changes.
func (f *Folder) draft(ctx context.Context, fsys fs.FS, e Event) (*Proposal, []studbook.Rewritten, error) {
	before, colony, err := f.check(ctx, fsys)
	if err != nil {
		return nil, nil, err
	}
	w, err := studbook.NewRewriter(ctx, fsys, f.name, f.readOptions())
	if err != nil {
		return nil, nil, err
	}
	defer w.Close()
	p := &Proposal{Event: e}
	var files []studbook.Rewritten
	if e.Kind == Undo {
		files, err = f.takeBack(fsys, w, p)
	} else {
		files, err = f.write(ctx, w, colony, p)
	}
	var stuck *studbook.RewriteError
	switch {
	case errors.As(err, &stuck):
		p.Findings = append(p.Findings, studbook.Finding{Severity: studbook.Error, File: stuck.File, Code: codeNotWritable, Message: stuck.Reason, Help: stuck.Help})
	case err != nil:
		return nil, nil, err
	}
	if p.Refused() {
		return p, nil, nil
	}
	p.Seal = seal(p, files)
	after, changed, err := f.check(ctx, overlay{fsys, contents(files)})
	if err != nil {
		return nil, nil, err
	}
	p.Findings = append(p.Findings, news(before, after)...)
	if p.Refused() {
		return p, nil, nil
	}
	fresh, err := f.checkFurther(ctx, colony, changed)
	if err != nil {
		return nil, nil, err
	}
	if p.Findings = append(p.Findings, fresh...); p.Refused() {
		return p, nil, nil
	}
	return p, files, nil
}

// checkFurther returns what Options.Check finds in a colony as it is after a change and did
// not find in it before; either is nil where it has errors, which were there before.
func (f *Folder) checkFurther(ctx context.Context, before, after *studbook.Colony) ([]studbook.Finding, error) {
	if f.opt.Check == nil || after == nil {
		return nil, nil
	}
	found, err := f.opt.Check(ctx, after)
	if err != nil || len(found) == 0 || before == nil {
		return found, err
	}
	had, err := f.opt.Check(ctx, before)
	return news(had, found), err
}

func (f *Folder) readOptions() studbook.Options {
	return studbook.Options{Columns: f.opt.Columns, Today: studbook.DayOf(f.opt.Now().Date())}
}

// check reads the folder: what is wrong with it, and the colony, nil where it
// has errors.
func (f *Folder) check(ctx context.Context, fsys fs.FS) ([]studbook.Finding, *studbook.Colony, error) {
	c, err := studbook.Read(ctx, fsys, f.name, f.readOptions())
	var faults *studbook.Faults
	if errors.As(err, &faults) {
		return faults.Findings, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	return c.Warnings, c, nil
}

// moving is the line that a finding refers to, or how old a bird is by the day of the
// record. Lines move and birds grow older; faults stay.
var moving = regexp.MustCompile(`\bline \d+|\blines [\d, ]+|\bover [\w ]+ old on [\d-]+`)

// news are the findings after a change that were not there before it.
func news(before, after []studbook.Finding) []studbook.Finding {
	key := func(f studbook.Finding) studbook.Finding {
		f.Line = 0
		f.Message = moving.ReplaceAllString(f.Message, "")
		return f
	}
	had := make(map[studbook.Finding]int)
	for _, f := range before {
		had[key(f)]++
	}
	var fresh []studbook.Finding
	for _, f := range after {
		if k := key(f); had[k] > 0 {
			had[k]--
			continue
		}
		fresh = append(fresh, f)
	}
	return fresh
}

// write turns an event into rows.
func (f *Folder) write(ctx context.Context, w *studbook.Rewriter, colony *studbook.Colony, p *Proposal) ([]studbook.Rewritten, error) {
	k := KindOf(p.Event.Kind)
	if k == nil {
		return nil, fmt.Errorf("there is no event %q to write down", p.Event.Kind)
	}
	for name := range p.Event.Values {
		if k.Field(name) == nil {
			return nil, fmt.Errorf("of a %s nothing named %q is written down", k.Name, name)
		}
	}
	p.Event.Values = maps.Clone(p.Event.Values) // ids are spelt as on record
	d := &draft{w: w, colony: colony, kind: k, today: f.readOptions().Today, values: p.Event.Values}
	d.birds = d.sheet("studbook.csv")
	if d.checkFields(); len(d.findings) == 0 && d.err == nil {
		k.draft(d)
	}
	p.Findings, p.About, p.Ended = d.findings, d.about, d.ended
	if d.err != nil || p.Refused() {
		return nil, d.err
	}
	if now := w.Settings().CurrentTo; now != 0 && d.latest > now {
		if _, err := w.SetSetting("current_to", d.latest.String()); err != nil {
			return nil, err
		}
	}
	files, edits, err := w.Rewrite()
	if err != nil {
		return nil, err
	}
	p.Edits = edits
	if !slices.ContainsFunc(edits, func(x studbook.Edit) bool { return x.File != "programme.toml" }) {
		p.Findings = append(p.Findings, studbook.Finding{Severity: studbook.Error, Code: codeNothingNew, Message: "all of this is on record already", Help: "nothing is to be done"})
	}
	return files, ctx.Err()
}

// draft is an event on its way into rows.
type draft struct {
	w        *studbook.Rewriter
	colony   *studbook.Colony // nil where the files have errors
	kind     *Kind
	today    studbook.Day
	values   map[string]string
	birds    *studbook.Sheet
	latest   studbook.Day // day that is told and not to come
	findings []studbook.Finding
	about    []Named
	ended    [][2]string
	err      error // the first that ends it
	lived    map[string]studbook.Life
}

// refuse says what is wrong with the value of a field.
func (d *draft) refuse(field, value, code, message, help string) {
	d.findings = append(d.findings, studbook.Finding{Severity: studbook.Error, Column: field, Value: value, Code: code, Message: message, Help: help})
}

func (d *draft) warn(field, value, code, message, help string) {
	d.findings = append(d.findings, studbook.Finding{Severity: studbook.Warning, Column: field, Value: value, Code: code, Message: message, Help: help})
}

// value returns what is told in a field, "" for nothing. Words and codes come as
// files have them.
func (d *draft) value(field string) string {
	v := strings.TrimSpace(d.values[field])
	f := d.kind.Field(field)
	for _, w := range f.Words {
		if strings.EqualFold(w, v) {
			return w
		}
	}
	if f.List == Places {
		return d.codeOf(v)
	}
	return v
}

// checkFields looks at each field by itself.
func (d *draft) checkFields() {
	for _, f := range d.kind.Fields {
		v := d.value(f.Name)
		switch {
		case v == "" && f.Needed:
			d.refuse(f.Name, "", codeNotTold, "this has to be told", "fill in "+f.Means)
		case v == "", f.Corrects && v == Emptied:
		case f.Form == studbook.FormCount:
			if n, err := strconv.Atoi(v); err != nil || n < 0 {
				d.refuse(f.Name, v, codeBadValue, "this is not a count", "write a whole number from 0 up")
			}
		case f.Words != nil:
			if !slices.Contains(f.Words, v) {
				d.refuse(f.Name, v, codeBadValue, "this is none of the words that can stand here", "write "+strings.Join(f.Words, ", "))
			}
		case f.Form == studbook.FormDate:
			d.date(f.Name)
		case f.Form == studbook.FormParent:
			if _, _, err := studbook.ParseParentage(v); err != nil {
				d.refuse(f.Name, v, codeBadValue, "the possible parents cannot be read", err.Error())
			}
		}
	}
}

// date returns the date in a field, today where it is blank.
func (d *draft) date(field string) (studbook.Date, bool) {
	v := d.value(field)
	switch strings.ToLower(v) {
	case "", "today":
		v = d.today.String()
	case "yesterday":
		v = (d.today - 1).String()
	}
	day, err := studbook.ParseDate(v)
	if err != nil {
		d.refuse(field, v, codeBadValue, "the date cannot be read", err.Error())
	}
	if day.Exact() && day.First <= d.today {
		d.latest = max(d.latest, day.First)
	}
	return day, err == nil
}

// happened returns the date in a field on which something has happened.
func (d *draft) happened(field string) (studbook.Date, bool) {
	day, ok := d.date(field)
	if ok && !day.Known() {
		d.refuse(field, d.value(field), codeNotTold, "the day must be known in part at least", "write what is known of it, as 2026 or 2026-05")
		return day, false
	}
	return day, ok && d.past(field, day)
}

// past reports whether a day is not after today.
func (d *draft) past(field string, day studbook.Date) bool {
	if day.First > d.today {
		d.refuse(field, day.Text, codeNotYet, "this day is still to come", "correct the date, or write it down when it has happened")
		return false
	}
	return true
}

// sheet returns a file of the folder. One that cannot be changed is empty, and
// ends the draft.
func (d *draft) sheet(name string) *studbook.Sheet {
	s, err := d.w.Sheet(name)
	if err != nil {
		d.err = cmp.Or(d.err, err)
		return &studbook.Sheet{}
	}
	return s
}

func (d *draft) append(file string, cells map[string]string) {
	if err := d.sheet(file).Append(cells); err != nil {
		d.err = cmp.Or(d.err, err)
	}
}

func (d *draft) set(file string, row int, column, value string) {
	if err := d.sheet(file).Set(row, column, value); err != nil {
		d.err = cmp.Or(d.err, err)
	}
}

// setIfThere sets a cell of a column that the file may lack.
func (d *draft) setIfThere(file string, row int, column, value string) {
	if d.sheet(file).Has(column) {
		d.set(file, row, column, value)
	}
}

// seal returns a short sign of the rows of a proposal and of the files that it
// changes, as they were.
func seal(p *Proposal, files []studbook.Rewritten) string {
	type state struct{ Name, Hash string }
	var were []state
	for _, f := range files {
		were = append(were, state{f.Name, hashOf(f.Before)})
	}
	raw, err := json.Marshal([]any{p.Event.Kind, p.Edits, were})
	if err != nil {
		panic("journal: " + err.Error()) // texts and numbers alone
	}
	return hashOf(raw)[:32]
}

// hashOf returns the SHA-256 of a file, "" where there is none.
func hashOf(content []byte) string {
	if content == nil {
		return ""
	}
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}
