// Package document lays out everything a person reads.
//
// A Document is an answer as titles, paragraphs, lists, tables and figures. It
// is built once and then written as text, Markdown, HTML or a workbook. This
// is also the one place that rounds and that writes numbers, dates and lists.
package document
