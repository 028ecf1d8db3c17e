// Package exchange reads other people's files into a colony folder and writes
// the folder out in open formats.
//
// Import takes a file as its owner keeps it: a workbook, a table of text, a
// pedigree of PLINK or a family tree of GEDCOM. What comes out is the text of a
// clean colony folder together with an account of every row, column, parent and
// fate. What is certain is taken, what is likely is taken and said, and what could
// be wrong in silence stops everything, with the flag that decides it.
//
// In the order in which an import goes through them:
//
//	import.go    an import from start to end
//	open.go      a file becomes sheets of cells, a workbook by the package sheets,
//	             others by text.go, fam.go, fromgedcom.go with gedcom.go;
//	             describe.go what a file beside it says of it
//	layout.go    where the header is, and what the columns are by the lists of
//	             names.go; mapping.go what the owner says of them; rows.go which rows
//	             are none of a bird
//	ids.go       what birds are called; agree.go whether columns hold what
//	             their headings say
//	unfold.go    what a table says by where it stands, written out;
//	             sections.go by lines over birds
//	dates.go     the values of cells, dateorder.go the order of the file's dates;
//	             sexes.go, words.go
//	events.go    logs with a row for each event; nests.go sheets of nests, pairs
//	             and groups, clutchpairs.go those that name a pair in one cell
//	birds.go     rows become birds, several rows of one bird joined
//	stays.go     where each bird was; fate.go what became of it
//	parents.go   who a parent's cell means, several.go where it names several birds,
//	             looked up by finder.go; timeline.go who
//	             lived, or held a nest, on some day
//	bonds.go     who lives with whom
//	overlooked.go what was read past
//	choice.go    what stops, or was likely, with the choice that settles it
//	folder.go    the text of the colony folder
//	account.go   what became of everything; report.go the values that say so,
//	             figures.go the figures to check it by
//	write.go     the folder on disk; merge.go a newer export, or the sheet of one
//	             institution, laid over one that was changed since (lay.go), whose
//	             birds may be parents (over.go)
//
// export.go takes a colony out in open formats (togedcom.go is one), template.go
// makes the files of a new one.
package exchange
