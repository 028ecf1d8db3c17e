// Package drawing draws what a document shows in pictures: charts, maps of
// kinship and drawings of who descends from whom. Each is an SVG with its text
// alternative.
//
// Charts stand on chart.go: agepyramid.go, survivalplot.go, diversityplot.go,
// founderplot.go, forecastplot.go, kinshipspread.go, heatmap.go. Drawings of kin stand on
// symbols.go: ancestry.go, which kinpaths.go uses too, and colonypedigree.go, whose places
// pairwright/pedigree/layout finds.
package drawing
