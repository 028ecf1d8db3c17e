// Package report says every answer to a person: one builder for each, from the
// values of the packages that compute to a document, and the words. It
// computes nothing.
//
// mates.go builds the document of mates, and so on for every question; the review
// has reviewgenes.go, reviewbirds.go and reviewfigures.go beside it. The sentences
// of each stand in words_mates.go and the like, reasons that several answers give in
// words_reasons.go, what an answer rests on in about.go.
package report
