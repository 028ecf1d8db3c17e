package web

import (
	"archive/zip"
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"

	"pairwright/examples"
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
	columns   map[string]string // our column name to that of its files
}

// usualStudbook is what the studbook of a colony folder is called.
const usualStudbook = "studbook.csv"

// foldersListed is how many folders of each place are looked at.
const foldersListed = 200

// folders are the colony folders in the places where colonies are kept: the one that
// the program was started with, this folder, those in it, and those that imports made. A page names one by its key
// alone, so that no path ever comes from a browser.
func (v *visit) folders() []colonyFolder {
	var out []colonyFolder
	file := func(studbook string, columns map[string]string) {
		whole, err := filepath.Abs(studbook)
		if err != nil || slices.ContainsFunc(out, func(f colonyFolder) bool { return f.studbook == whole }) {
			return
		}
		if info, err := os.Stat(whole); err == nil && info.Mode().IsRegular() {
			path, name := filepath.Dir(whole), filepath.Base(whole)
			here := v.colony != nil && v.colony.folder == path && v.colony.name == name
			if name != usualStudbook {
				path = whole
			}
			out = append(out, colonyFolder{v.server.seal("folder " + whole)[:16], path, here, whole, columns})
		}
	}
	if c := &v.server.config; c.Studbook != "" {
		file(c.Studbook, c.Columns)
	}
	add := func(dir string) { file(filepath.Join(dir, usualStudbook), nil) }
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

// chooseHome says which institution is the user's own, where the files do not. It is
// so for everybody, and nobody from another machine says it.
func chooseHome(v *visit) (*view, error) {
	if v.server.config.Token != "" {
		return nil, errOpen
	}
	v.server.reader.choose(v.request.PostFormValue("home"))
	return &view{To: local(v.request.PostFormValue("again"))}, nil
}

// errOpen is a visitor who may not turn to other files.
var errOpen = errors.New("other files can be opened on the machine itself alone, and not where nothing may be written")

// openFolder turns to one of the folders found, or to the example.
func openFolder(v *visit) (*view, error) {
	if !v.mayOpen() {
		return nil, errOpen
	}
	key := v.request.PostFormValue("folder")
	switch key {
	case "example":
		v.server.reader.open(example(), nil)
		return &view{To: "/"}, nil
	case "copy":
		files, err := exchange.FilesOf(examples.HarrowFell())
		if err != nil {
			return nil, err
		}
		return v.create("Example", files, "/")
	case "new":
		files, err := exchange.Template()
		if err != nil {
			return nil, err
		}
		return v.create("Colony", files, "/data")
	}
	for _, f := range v.folders() {
		if f.Key == key {
			v.server.reader.open(onDisk(f.studbook), f.columns)
			return &view{To: "/"}, nil
		}
	}
	return nil, errors.New("that folder is not there any more")
}

// create makes a colony folder beside those of imports, turns to it and leads to a page.
func (v *visit) create(name string, files []exchange.File, to string) (*view, error) {
	if v.server.config.Imports == "" {
		return nil, errOpen
	}
	into, err := v.newFolder(name)
	if err != nil {
		return nil, err
	}
	if err := exchange.Create(into, files); err != nil {
		return nil, err
	}
	v.server.reader.open(onDisk(filepath.Join(into, usualStudbook)), nil)
	return &view{To: to}, nil
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
