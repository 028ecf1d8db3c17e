package web

import (
	"html/template"
	"net/url"
	"slices"

	"pairwright/cmd/pairwright/internal/question"
)

// lettersPage lists the letters that tell each institution what the plan of the whole
// programme asks of it, shows the one for an institution that is named, and sends one
// or all of them as files.
func lettersPage(v *visit) (*view, error) {
	values := v.Query()
	one, code, format := values.Has("to"), values.Get("to"), values.Get("format")
	values.Del("to")
	values.Del("format")
	values.Set("scope", "programme")
	asked, err := question.Named("plan").Parse(values)
	if err != nil {
		return nil, err
	}
	x, err := v.withFile(asked, question.LettersSetting, question.LettersSetting)
	if err != nil {
		return nil, err
	}
	letters := x.Letters
	if one {
		if letters = slices.DeleteFunc(slices.Clone(letters), func(l question.Letter) bool { return l.Place != code }); len(letters) == 0 {
			return nowhere(v)
		}
	}
	if format != "" {
		if !slices.Contains(letterFormats, format) {
			return nil, question.Usagef("a letter is written as html, md or text")
		}
		files, err := question.LetterFiles(letters, format)
		if err != nil {
			return nil, err
		}
		return sendFiles(question.LettersSetting, files)
	}
	page := lettersView{visit: v, Plan: "/plan?" + values.Encode()}
	address := func(more url.Values) string {
		for key := range values {
			more[key] = values[key]
		}
		return "/letters?" + more.Encode()
	}
	page.All = address(url.Values{})
	for _, name := range letterFormats {
		if len(letters) == 0 {
			break // there is nothing to save
		}
		with := url.Values{"format": {name}}
		if one {
			with.Set("to", code)
		}
		page.Files = append(page.Files, link{address(with), formats[name].text})
	}
	title := "Letters to the institutions"
	if one {
		d := letters[0].Document()
		title = d.Title
		if page.Document, err = v.fragment(d); err != nil {
			return nil, err
		}
	} else {
		for k := range letters {
			d := letters[k].Document()
			page.Letters = append(page.Letters, letterLine{address(url.Values{"to": {letters[k].Place}}), v.placeName(letters[k].Place), d.Lead})
		}
	}
	b, err := body("letters", page)
	return &view{Title: title, Body: b}, err
}

// letterFormats are what letters can be saved as.
var letterFormats = []string{"html", "text", "md"}

// lettersView is what the template takes.
type lettersView struct {
	*visit
	Plan, All string
	Letters   []letterLine
	Document  template.HTML // of one letter
	Files     []link
}

// letterLine is a letter in the list of them.
type letterLine struct{ To, Name, Says string }
