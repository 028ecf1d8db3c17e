// Package web is the local server: the answers to the questions of package
// question as pages of a site, for a browser on the same machine. A page asks
// its question as a command does, so the two never differ; it computes nothing
// itself.
//
//	server.go    the server from start to end; page.go has a line for each page
//	guard.go     whom it lets in; reader.go the colony, read again when it changes
//	answer.go    the page of a question's answer; jobs.go those that take long;
//	             making.go how far any page is, both a task of task.go; fault.go what
//	             went wrong
//	board.go, data.go, season.go, transfers.go, letters.go, whatif.go, help.go
//	             pages that show more than one answer
//	record.go    what is written down; open.go and import.go another colony
//	assets.go    style and script; words.go how pages speak of commands
//
// To add a page: write a function from a *visit to a *view in a file of its
// own, with its template beside the others, and give it a line in pages and, if
// it is to be in the menu, in menu.
package web
