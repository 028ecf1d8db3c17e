// Package report says every answer to a person: one builder for each, from the
// values of the packages that compute to a document, and the words. It
// computes nothing.
package report
