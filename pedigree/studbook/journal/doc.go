// Package journal writes down what happens in a colony: it is the only writer of
// the files of a colony folder. What is to be written is shown first, as the
// rows that change and what a check of the whole colony says of them, and can be
// taken back.
//
//	events.go   what can be written down, declared once, and the rows it becomes
//	draft.go    an event as a proposal: rows, findings, a seal
//	birds.go    who and what of the colony an event is about; known.go what the files
//	            have against it
//	nextid.go   the id of a new bird, in the studbook's own scheme
//	commit.go   a proposal onto the disk: all of its files or none
//	replace.go  whole files as a change, as an import makes one
//	undo.go     the last change taken back
//	view.go     the folder as it is whole, for those who only read
//
// A folder that was written to has a folder named earlier beside its files: what
// the last changes replaced, and an account of each. A change is first written
// there in full (pending.json), then made, then declared done by giving its
// account the name that stays; who comes next after a kill in between takes back
// what is there of it, or finds that all of it is. A change that was made is
// told in changes.csv too, row by row, for people.
package journal
