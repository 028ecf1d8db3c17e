// Package document lays out everything a person reads.
//
// A Document is an answer as titles, paragraphs, lists, tables and figures. It
// is built once and then written as text, Markdown, HTML or a workbook. This
// is also the one place that rounds and that writes numbers, dates and lists
// (format.go).
//
//	document.go  what a document is made of; anchor.go ids that links lead to
//	plain.go     text from outside made harmless
//	text.go      for a terminal; markdown.go
//	html.go      for a browser, and for print; fragment.go as a part of a page,
//	             blanks.go what a person fills in on it
//	workbook.go  for a spreadsheet
package document
