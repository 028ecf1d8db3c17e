package document

import (
	"io"
	"testing"

	"github.com/stretchr/testify/assert"

	"pairwright/cmd/pairwright/internal/golden"
)

func TestMarkdownGolden(t *testing.T) {
	golden.File(t, "sample.md", func(w io.Writer) error { return WriteMarkdown(w, sample()) })
	golden.File(t, "hostile.md", func(w io.Writer) error { return WriteMarkdown(w, hostileDocument()) })
}

// TestMarkdownEscapes follows the CommonMark specification 0.31.2, sections
// 2.4 (backslash escapes), 4.1 (thematic breaks), 4.3 (setext headings) and
// 5.2 (list items), and the tables and autolinks of GitHub's extension 0.29.
func TestMarkdownEscapes(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"0.0313", "0.0313"},
		{"−0.00012", "−0.00012"},
		{"+0.00012", "+0.00012"},
		{"1. item", `1\. item`},
		{"2019) item", `2019\) item`},
		{"- item", `\- item`},
		{"+ item", `\+ item`},
		{"---", `\---`},
		{"===", `\===`},
		{"-", `\-`},
		{"# heading", `\# heading`},
		{"> quote", "&gt; quote"},
		{"a|b", `a\|b`},
		{`a\|b`, `a\\\|b`},
		{"<b>&amp;", "&lt;b&gt;&amp;amp;"},
		{"[x](y) *z* _u_ `v` ~w~", "\\[x\\](y) \\*z\\* \\_u\\_ \\`v\\` \\~w\\~"},
		{"http://example.org", `http:\//example.org`},
		{"two\nlines", "two lines"},
	} {
		assert.Equal(t, tt.want, markdownBlock(tt.in))
	}
}
