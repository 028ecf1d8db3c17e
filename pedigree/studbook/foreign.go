package studbook

import "bytes"

// Foreign says what a file is that is no table of text, and what to do; "" for
// a text. It goes by the first bytes, whatever the file is called.
func Foreign(raw []byte) (what, help string) {
	head := raw[:min(len(raw), 1024)]
	begins := func(signs ...string) bool {
		for _, s := range signs {
			if bytes.HasPrefix(head, []byte(s)) {
				return true
			}
		}
		return false
	}
	lower := bytes.ToLower(bytes.TrimSpace(head))
	switch {
	case begins("\xD0\xCF\x11\xE0"):
		if bytes.Contains(raw, []byte("E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00")) {
			return "the workbook is locked with a password", "open it and save it again as .xlsx without a password"
		}
		return "this is a workbook in the old .xls format", "open it in a spreadsheet program and save it as .xlsx"
	case begins("%PDF"):
		return "this is a PDF, which has no cells", "ask for the file that it was printed from, and save that as .xlsx"
	case begins("\x89PNG", "\xFF\xD8\xFF", "GIF8", "II*\x00", "MM\x00*", "BM") && bytes.IndexByte(head, 0) >= 0 ||
		begins("RIFF") || len(head) > 12 && bytes.Equal(head[4:8], []byte("ftyp")):
		return "this is a picture, not a table", "type the table into a spreadsheet and save that as .xlsx"
	case begins("\x1f\x8b", "7z\xBC\xAF", "Rar!", "BZh", "\xFD7zXZ"):
		return "this is a compressed file", "unpack it and import the file inside"
	case begins("SQLite format 3", "\x00\x01\x00\x00Standard"):
		return "this is a database", "export the table with the birds as CSV"
	case begins("{\\rtf"):
		return "this is a document of a word processor, not a table", "copy the table into a spreadsheet and save that as .xlsx or .ods"
	case bytes.HasPrefix(lower, []byte("<!doctype html")) || bytes.HasPrefix(lower, []byte("<html")) || bytes.HasPrefix(lower, []byte("<table")):
		return "this is a web page, whatever its name says", "open it in a spreadsheet program and save it as .xlsx"
	case bytes.HasPrefix(lower, []byte("<?xml")):
		return "this is an XML file, not a workbook", "open it in a spreadsheet program and save it as .xlsx"
	}
	return "", ""
}
