// Package report lays out everything a person reads. It computes nothing.
//
// A Document is an answer as titles, paragraphs, lists, tables and figures. It
// is built once from the values of the packages below and then written as
// text, Markdown or HTML; JSON and CSV have structs of their own, which are the
// contract with other programs.
package report
