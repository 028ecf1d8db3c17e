package document

import (
	"fmt"
	"strconv"
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

// anchored returns the anchor that AnchorID made an id of.
func anchored(id string) string {
	var b strings.Builder
	for {
		before, after, found := strings.Cut(id, "_")
		b.WriteString(before)
		if !found || len(after) < 2 {
			return b.String()
		}
		if c, err := strconv.ParseUint(after[:2], 16, 8); err == nil {
			b.WriteByte(byte(c))
		}
		id = after[2:]
	}
}

// BirdAnchor is the anchor of what a document says of a bird.
func BirdAnchor(id string) string { return "bird-" + id }
