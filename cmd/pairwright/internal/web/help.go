package web

import (
	"bytes"

	"pairwright/cmd/pairwright/internal/licences"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pedigree/studbook"
)

// helpPage says how to begin, what each figure means, what the files and the
// settings are, and which keys there are.
func helpPage(v *visit) (*view, error) {
	var made bytes.Buffer
	if err := licences.Write(&made); err != nil {
		return nil, err
	}
	b, err := body("help", struct {
		*visit
		Figures                   []report.Term
		Files, Settings, Licences string
		Version                   string
	}{v, report.Glossary, studbook.FilesHelp(), studbook.SettingsHelp(), made.String(), v.server.config.Version})
	return &view{Title: "Help", Body: b}, err
}
