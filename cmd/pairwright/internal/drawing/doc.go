// Package drawing draws what a document shows in pictures: charts, maps of
// kinship and drawings of who descends from whom. Each is an SVG with its text
// alternative.
package drawing
