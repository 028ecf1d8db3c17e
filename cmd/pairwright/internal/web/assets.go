package web

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"sync"

	"pairwright/cmd/pairwright/internal/document"
)

// asset is a file of the site.
type asset struct {
	path, mime string
	content    []byte
}

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

// serveStatic sends a file of the site. Its address changes with it, so browsers
// may keep it.
func serveStatic(w http.ResponseWriter, r *http.Request) {
	for _, a := range assets() {
		if a.path == r.URL.Path {
			w.Header().Set("Content-Type", a.mime)
			w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
			_, _ = w.Write(a.content) // the browser may have gone
			return
		}
	}
	http.NotFound(w, r)
}
