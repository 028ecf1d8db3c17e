// Package studbook reads a colony folder and checks it.
//
// A colony folder holds plain files that a spreadsheet can edit: studbook.csv,
// one row a bird, and beside it, where the keeper has them, moves.csv,
// bonds.csv, clutches.csv, holds.csv, institutions.csv, founder_kinship.csv
// and programme.toml. Read returns all of it as typed values that remember the
// line they were written on, together with every fault found in one pass.
//
// Each file is declared once, in files.go, and the settings in settings.go: what
// reads and writes them, the help, the template of a new folder and its data
// package follow from that (Files, Write, FilesHelp, Template, DataPackage).
//
//	read.go      a folder or workbook.go from start to end; text.go encodings and
//	             separators, toml.go the settings; the cells of a workbook are read by
//	             the package sheets
//	bounds.go    how much is read; foreign.go what a file is that is no table
//	table.go     how a file of rows is declared; columns.go how a cell is read
//	rows.go      what is wrong with a row by itself, dateorder.go with the dates of a
//	             whole file, genotypes.go with those of a laboratory; check.go with rows together
//	register.go  birds by their ids; lineage.go who is a parent of whom;
//	             large_linux.go and large_other.go the memory for very many
//	histories.go what the other files tell of a bird against its life; days.go the
//	             days asked about against those on file
//	alike.go     ids that look alike; near.go what a typo may have meant; unread.go what is not read; formula.go what a
//	             spreadsheet would run
//	finding.go   what is said of a fault; codes.go its codes, wording.go the
//	             sentences that counts and dates are put into
//	records.go   a row as a value; date.go, edtf.go, parentage.go its parts
//	season.go    a season of one's own; supposition.go changes to ask about
//	lives.go     where each bird was, from hatch to death
//	snapshot.go  the state on one day
//	write.go     a colony back into files; describe.go, datapackage.go what they hold
//	rewrite.go   rows changed in files that else stay byte for byte; rewritetext.go
//	             in texts, rewritebook.go in workbooks; newbook.go what new ones have
//
// Nothing here knows genetics. The package's last word is Colony.At, which
// gives the state of the colony on one day: who has hatched, who is living and
// where, who is bonded to whom, what holds are in force.
package studbook
