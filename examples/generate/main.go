// Generate rewrites the committed example colony. It is run by go generate in
// the folder examples.
package main

import (
	"log"
	"os"
	"path/filepath"

	"pairwright/examples"
)

func main() {
	const dir = "harrow-fell"
	if err := os.MkdirAll(dir, 0o755); err != nil {
		log.Fatal(err)
	}
	for name, content := range examples.Files(examples.DefaultSeed) {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			log.Fatal(err)
		}
	}
}
