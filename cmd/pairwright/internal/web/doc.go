// Package web is the local server: the answers to the questions of package
// question as pages of a site, for a browser on the same machine. A page asks
// its question as a command does, so the two never differ; it computes nothing
// itself.
//
// To add a page: write a function from a *visit to a *view in a file of its
// own, with its template beside the others, and give it a line in pages and, if
// it is to be in the menu, in menu.
package web
