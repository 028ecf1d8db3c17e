package document

import (
	"fmt"
	"strings"
)

// AnchorID turns an anchor, any text, to an id for HTML. Different anchors
// have different ids. An underscore is always followed by two hexadecimal
// digits, so that ids like _notes are free for the page itself.
func AnchorID(anchor string) string {
	var b strings.Builder
	for _, c := range []byte(anchor) {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '-', c == '.':
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "_%02x", c)
		}
	}
	return b.String()
}
