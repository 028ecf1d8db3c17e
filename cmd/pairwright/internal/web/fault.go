package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"strings"

	"github.com/sourcegraph/conc/panics"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/question"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree/studbook"
	"pairwright/pedigree/studbook/journal"
)

// fault is what a page says that cannot be shown.
type fault struct {
	title   string
	status  int      // of HTTP
	message string   // "" for that of the error
	ways    []link   // what to do
	places  []string // of which one is the user's own
}

// failed is the page that says what went wrong and what to do.
func (v *visit) failed(err error) *view {
	f := fault{title: "This cannot be shown", status: http.StatusUnprocessableEntity}
	for _, of := range []func(error) (fault, bool){v.faultOfAsking, v.faultOfFiles, v.faultOfWriting, faultOfServer} {
		if found, ok := of(err); ok {
			f = found
			break
		}
	}
	if own := new(panics.ErrRecovered); errors.As(err, &own) {
		v.server.config.Log.Error("a page could not be made", "path", v.Path(), "error", own.Value, "stack", string(own.Stack))
	}
	message := report.Sentence(withoutFlags(cmp.Or(f.message, err.Error())))
	b, bodyError := body("failed", map[string]any{"Message": message, "Ways": f.ways, "Places": f.places, "V": v})
	if bodyError != nil {
		v.server.config.Log.Error("a page could not be written", "error", bodyError)
	}
	return &view{Title: f.title, Status: f.status, Body: b}
}

// faultOfAsking is what is wrong with what was asked.
func (v *visit) faultOfAsking(err error) (fault, bool) {
	var (
		usage  *question.UsageError
		none   *pairing.NotFoundError
		colony *question.UnclearColonyError
		nobody *pairing.ColonyError
	)
	switch {
	case errors.As(err, &colony):
		return fault{title: "Which colony is yours?", status: http.StatusUnprocessableEntity, places: colony.Places,
			message: "Nothing says which institution is your own. Choose it here for as long as the program runs; for good, write its code as home into programme.toml"}, true
	case errors.As(err, &nobody) && len(nobody.Places) == 0 && v.Day() != "":
		return fault{title: "No bird lives here on that day", status: http.StatusUnprocessableEntity, message: nobody.Error()}, true
	case errors.As(err, &nobody) && len(nobody.Places) == 0:
		return fault{title: "No bird lives here", status: http.StatusUnprocessableEntity, ways: []link{{"/record/arrival", "A bird came from outside"}},
			message: "There is nothing to say of a colony without birds. Fill in studbook.csv with a spreadsheet, a row for each bird, or write down a bird that came"}, true
	case errors.As(err, &none) && none.AsSet:
		return fault{title: "Nobody lives at home", status: http.StatusUnprocessableEntity, ways: []link{{"/birds", "All birds"}}}, true
	case errors.As(err, &none):
		return fault{title: "Not found", status: http.StatusNotFound, ways: append(v.meant(none), link{"/birds", "All birds"})}, true
	case errors.As(err, &usage):
		return fault{title: "This cannot be asked so", status: http.StatusBadRequest}, true
	}
	return fault{}, false
}

// meant leads to the page that was asked for with each of the ids that may have been meant.
func (v *visit) meant(none *pairing.NotFoundError) []link {
	if v.request.Method != http.MethodGet {
		return nil
	}
	var ways []link
	for _, near := range none.Near {
		id := near.ID
		to := v.Bird(id)
		if query := v.Query(); len(query) > 0 {
			for _, values := range query {
				for k := range values {
					if values[k] == none.ID {
						values[k] = id
					}
				}
			}
			to = v.Path() + "?" + query.Encode()
		}
		ways = append(ways, link{to, "With " + near.String()})
	}
	return ways
}

// faultOfFiles is what is wrong with the files that were read.
func (v *visit) faultOfFiles(err error) (fault, bool) {
	var (
		faults *studbook.Faults
		noFile *studbook.NoFileError
		many   *pairing.TooManyError
	)
	switch {
	case errors.As(err, &many):
		return fault{title: "Too many birds could be paired", status: http.StatusUnprocessableEntity, ways: []link{{"/birds", "All birds"}, {"/data", "The files"}}}, true
	case errors.As(err, &faults) && v.Path() == "/import": // they are of the file that was sent
		var say []string
		for _, f := range faults.Findings {
			say = append(say, recordWrong{Finding: f}.Text())
		}
		return fault{title: "This file cannot be imported", status: http.StatusUnprocessableEntity, message: strings.Join(say, " "), ways: []link{{"/open", "Choose another file"}}}, true
	case errors.As(err, &faults):
		return fault{title: "The files have errors", status: http.StatusUnprocessableEntity, ways: []link{{"/data", "See the errors and what to do about them"}},
			message: fmt.Sprintf("Nothing can be computed before %s mended.", document.FormatThings(studbook.Errors(faults.Findings), "error is", "errors are"))}, true
	case errors.As(err, &noFile):
		return fault{title: "There is no studbook", status: http.StatusNotFound, ways: []link{{"/open", "Open other files"}}}, true
	}
	return fault{}, false
}

// faultOfWriting is why nothing was written.
func (v *visit) faultOfWriting(err error) (fault, bool) {
	const nothing = "Nothing was written"
	var file *fs.PathError
	switch {
	case errors.Is(err, errForm), errors.Is(err, errOpen):
		f := fault{title: nothing, status: http.StatusForbidden}
		if again := v.formAgain(); again != "" {
			f.ways = []link{{again, "The form again, with what was typed"}}
		}
		return f, true
	case errors.Is(err, errReadOnly) && v.Example():
		return fault{title: "Nothing can be written", status: http.StatusForbidden,
			message: "The example colony cannot be written to. Write it to a folder with pairwright demo DIR, or open your own."}, true
	case errors.Is(err, errReadOnly):
		return fault{title: "Nothing can be written", status: http.StatusForbidden,
			message: "These pages were started for reading alone: nothing can be written from them."}, true
	case errors.Is(err, journal.ErrBusy):
		return fault{title: nothing, status: http.StatusConflict, message: "Another program is writing to the same folder. Try again when it is done."}, true
	case errors.Is(err, journal.ErrChanged):
		return fault{title: nothing, status: http.StatusConflict}, true
	case errors.As(err, &file) && v.request.Method == http.MethodPost && v.Path() != "/open":
		return fault{title: nothing, status: http.StatusUnprocessableEntity, message: fmt.Sprintf("The folder cannot be written to: %s: %s", file.Path, file.Err)}, true
	}
	return fault{}, false
}

// rescue, deferred, makes an error of a panic. Much is computed beside the requests for
// it, where a panic would end the program for everybody.
func rescue(err *error) {
	if value := recover(); value != nil {
		own := panics.NewRecovered(1, value)
		*err = own.AsError()
	}
}

// faultOfServer is what the server cannot do now.
func faultOfServer(err error) (fault, bool) {
	switch own := new(panics.ErrRecovered); {
	case errors.As(err, &own):
		return fault{title: "The program is at fault", status: http.StatusInternalServerError, message: "This page could not be made. What was written before is on the disk; the other pages can still be asked for."}, true
	case errors.Is(err, errBusy):
		return fault{title: "Too much at once", status: http.StatusServiceUnavailable}, true
	case errors.Is(err, context.DeadlineExceeded):
		return fault{title: "This takes too long", status: http.StatusServiceUnavailable, message: "The answer was not there in time. Try it again when less is asked at once."}, true
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, fs.ErrPermission):
		return fault{title: "A file cannot be read", status: http.StatusUnprocessableEntity}, true
	}
	return fault{}, false
}
