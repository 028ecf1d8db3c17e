// Package contract is what other programs read: the JSON of every answer and
// the rows of its CSV. A field that is absent is null or blank, never 0;
// fractions are plain numbers.
package contract
