package web

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/exchange"
)

// mayOpen reports whether the visitor may turn to other files: nobody may who
// comes from another machine, or where nothing may be written.
func (v *visit) mayOpen() bool { return v.server.config.Token == "" && !v.server.config.ReadOnly }

// colonyFolder is a folder with a studbook that the program found by itself.
type colonyFolder struct {
	Key, Path string
	Here      bool
	studbook  string
}

// foldersListed is how many folders of each place are looked at.
const foldersListed = 200

// folders are the colony folders in the places where colonies are kept: this
// folder, those in it, and those that imports made. A page names one by its key
// alone, so that no path ever comes from a browser.
func (v *visit) folders() []colonyFolder {
	var out []colonyFolder
	add := func(dir string) {
		whole, err := filepath.Abs(filepath.Join(dir, "studbook.csv"))
		if err != nil || slices.ContainsFunc(out, func(f colonyFolder) bool { return f.studbook == whole }) {
			return
		}
		if info, err := os.Stat(whole); err == nil && info.Mode().IsRegular() {
			dir := filepath.Dir(whole)
			out = append(out, colonyFolder{v.server.seal("folder " + whole)[:16], dir, v.colony != nil && v.colony.folder == dir, whole})
		}
	}
	add(".")
	for _, place := range []string{".", v.server.config.Imports} {
		entries, err := os.ReadDir(place)
		if err != nil || place == "" {
			continue
		}
		for _, e := range entries[:min(foldersListed, len(entries))] {
			if e.IsDir() {
				add(filepath.Join(place, e.Name()))
			}
		}
	}
	return out
}

// openPage lists the colonies that can be opened, and imports others.
func openPage(v *visit) (*view, error) {
	b, err := body("open", openView{v, v.folders(), v.server.config.Imports})
	return &view{Title: "Open or import", Body: b}, err
}

// openView is what its template takes.
type openView struct {
	*visit
	Folders []colonyFolder
	Imports string
}

// MayOpen reports whether the visitor may turn to other files.
func (o openView) MayOpen() bool { return o.visit.mayOpen() }

// errOpen is a visitor who may not turn to other files.
var errOpen = errors.New("other files can be opened on the machine itself alone, and not where nothing may be written")

// openFolder turns to one of the folders found, or to the example.
func openFolder(v *visit) (*view, error) {
	if !v.mayOpen() {
		return nil, errOpen
	}
	key := v.request.PostFormValue("folder")
	if key == "example" {
		v.server.reader.open(example(), nil)
		return &view{To: "/"}, nil
	}
	for _, f := range v.folders() {
		if f.Key == key {
			v.server.reader.open(onDisk(f.studbook), nil)
			return &view{To: "/"}, nil
		}
	}
	return nil, errors.New("that folder is not there any more")
}

// How large files to import may be, and how many wait for a decision at once.
const (
	largestImport  = 32 << 20
	importsWaiting = 4
)

// upload is a file that somebody wants to import, kept until it is.
type upload struct {
	visitor string
	name    string
	content []byte
}

// uploads keep the files to import, the last of each visitor.
type uploads struct {
	lock sync.Mutex
	all  []upload // the oldest first
}

func (u *uploads) keep(x upload) {
	u.lock.Lock()
	defer u.lock.Unlock()
	u.all = append(slices.DeleteFunc(u.all, func(other upload) bool { return other.visitor == x.visitor }), x)
	u.all = u.all[max(0, len(u.all)-importsWaiting):]
}

func (u *uploads) of(visitor string) (upload, bool) {
	u.lock.Lock()
	defer u.lock.Unlock()
	k := slices.IndexFunc(u.all, func(x upload) bool { return x.visitor == visitor })
	if k < 0 {
		return upload{}, false
	}
	return u.all[k], true
}

func (u *uploads) drop(visitor string) {
	u.lock.Lock()
	defer u.lock.Unlock()
	u.all = slices.DeleteFunc(u.all, func(x upload) bool { return x.visitor == visitor })
}

// importFile shows what would become of a file, and with "write" makes a colony
// folder of it.
func importFile(v *visit) (*view, error) {
	if !v.mayOpen() || v.server.config.Imports == "" {
		return nil, errOpen
	}
	x, err := v.uploaded()
	if err != nil {
		return nil, err
	}
	mapping, err := exchange.ReadMapping([]byte(v.request.PostFormValue("mapping")))
	if err != nil {
		return nil, fmt.Errorf("the decisions cannot be read: %w", err)
	}
	res, err := v.imported(x, mapping)
	if err != nil {
		return nil, err
	}
	if v.request.PostFormValue("write") != "" && res.Colony != nil {
		return v.writeImport(x, res)
	}
	page := importView{visit: v, Name: x.name, Ready: res.Colony != nil, Mapping: res.Report.Mapping}
	d, err := v.account(res, "")
	if err != nil {
		return nil, err
	}
	if page.Document, err = v.fragment(d); err != nil {
		return nil, err
	}
	b, err := body("import", page)
	return &view{Title: "Import " + x.name, Body: b}, err
}

// importView is what its template takes.
type importView struct {
	*visit
	Name     string
	Ready    bool // it can be written as it is
	Mapping  string
	Document template.HTML
}

// uploaded returns the file that the form has, or the one it had before.
func (v *visit) uploaded() (upload, error) {
	part, header, err := v.request.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) || err == nil && header.Size == 0 {
		if x, ok := v.server.uploads.of(v.visitor); ok {
			return x, nil
		}
		return upload{}, errors.New("choose a file to import first")
	}
	if err != nil {
		return upload{}, err
	}
	defer part.Close() // it was read alone
	content, err := io.ReadAll(part)
	if err != nil {
		return upload{}, err
	}
	x := upload{v.visitor, plainName(header.Filename), content}
	v.server.uploads.keep(x)
	return x, nil
}

// plainName makes of what a browser calls a file a name that is no path.
func plainName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_. ", r) {
			return r
		}
		return '_'
	}, name)
	if name = strings.Trim(name, ". "); name == "" {
		return "file"
	}
	return name
}

// imported reads an uploaded file, from a folder of its own that is gone
// afterwards.
func (v *visit) imported(x upload, mapping exchange.Mapping) (*exchange.Result, error) {
	done, err := v.server.work.take(v.Context())
	if err != nil {
		return nil, err
	}
	defer done()
	dir, err := os.MkdirTemp("", "pairwright-import-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	if err := os.WriteFile(filepath.Join(dir, x.name), x.content, 0o600); err != nil {
		return nil, err
	}
	today := studbook.DayOf(time.Now().Date())
	return exchange.Import(v.Context(), os.DirFS(dir), x.name, exchange.Options{Mapping: mapping, Today: today, FileDay: today})
}

// account tells what became of a file.
func (v *visit) account(res *exchange.Result, into string) (*document.Document, error) {
	var figures *exchange.Figures
	if res.Colony != nil {
		x, err := exchange.FiguresOf(v.Context(), res.Colony, studbook.DayOf(time.Now().Date()))
		if err != nil {
			return nil, err
		}
		figures = &x
	}
	return report.ImportDocument(&res.Report, figures, into), nil
}

// writeImport makes a new colony folder and turns to it.
func (v *visit) writeImport(x upload, res *exchange.Result) (*view, error) {
	into, err := v.newFolder(x.name)
	if err != nil {
		return nil, err
	}
	d, err := v.account(res, into)
	if err != nil {
		return nil, err
	}
	var account bytes.Buffer
	if err := document.WriteText(&account, d, 0); err != nil {
		return nil, err
	}
	if err := exchange.Create(into, append(res.Files, exchange.File{Name: "import-report.txt", Content: account.Bytes()})); err != nil {
		return nil, fmt.Errorf("the folder %s was not written: %w", into, err)
	}
	v.server.uploads.drop(v.visitor)
	v.server.reader.open(onDisk(filepath.Join(into, "studbook.csv")), nil)
	return &view{To: "/data"}, nil
}

// newFolder names a folder that is not there yet after a file.
func (v *visit) newFolder(file string) (string, error) {
	const most = 1000
	base := strings.TrimSuffix(file, filepath.Ext(file))
	for n := range most {
		name := filepath.Join(v.server.config.Imports, base)
		if n > 0 {
			name = fmt.Sprintf("%s-%d", name, n+1)
		}
		if exchange.Free(name) == nil {
			return name, nil
		}
	}
	return "", fmt.Errorf("no new folder can be made in %s", v.server.config.Imports)
}

// zipped puts files into one archive.
func zipped(all []exchange.File) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range all {
		w, err := z.Create(f.Name)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.Content); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}
