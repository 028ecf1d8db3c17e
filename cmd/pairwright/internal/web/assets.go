package web

import (
	"crypto/sha256"
	"fmt"
	"sync"

	"pairwright/cmd/pairwright/internal/document"
)

// assets are the files of the site that pages refer to, by name.
var assets = sync.OnceValue(func() map[string]asset {
	return map[string]asset{
		"document.css": newAsset("document.css", "text/css; charset=utf-8", document.StyleSheet()),
		"site.css":     embedded("site.css", "text/css; charset=utf-8"),
		"site.js":      embedded("site.js", "text/javascript; charset=utf-8"),
		"icon.svg":     embedded("icon.svg", "image/svg+xml"),
	}
})

func embedded(name, mime string) asset {
	content, err := files.ReadFile("static/" + name)
	if err != nil {
		panic("web: " + err.Error()) // not embedded
	}
	return newAsset(name, mime, content)
}

func newAsset(name, mime string, content []byte) asset {
	return asset{fmt.Sprintf("/static/%.8x/%s", sha256.Sum256(content), name), mime, content}
}
