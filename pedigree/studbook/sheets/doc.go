// Package sheets makes sheets of cells of the bytes of a workbook, and knows nothing of
// what they mean.
//
// Open tells by its content what a file is, Office Open XML (.xlsx, .xlsm; ISO/IEC 29500) or
// an OpenDocument spreadsheet (.ods; ISO/IEC 26300), and gives its sheets one by one. Each
// cell has what it shows and what is stored behind it; a sheet says besides what its owner
// sees and no cell holds: cells drawn as one, rows struck through or on a colour, formulas
// that nothing has computed.
//
// Workbooks are read here and not with the library that writes them, which takes 0.3 s of
// processor time and forty times its size in memory for a megabyte, and of a cell gives
// either what it shows or what is stored. What a file may grow to in memory is bounded by
// who opens it (Bounds); bytes of any kind give sheets or an error, never a panic.
//
//	book.go    a file becomes a Book; parts.go what is zipped in it
//	xlsx.go    Office Open XML; looks.go how its cells look
//	ods.go     OpenDocument
//	markup.go  the tags and texts that both are written in
//	build.go   cells come together to a sheet within bounds
//	sheet.go   sheets, rows and cells; day.go the days that cells count
package sheets
