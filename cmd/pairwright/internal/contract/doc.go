// Package contract is what other programs read: the JSON of every answer and
// the rows of its CSV. A field that is absent is null or blank, never 0;
// fractions are plain numbers.
//
// contract.go has the answers of check, birds, kin and mates and what others share,
// then each of the larger answers has its file. object.go says what every object
// carries, data.go and records.go how it is written, studbookrows.go the rows that
// go with a request.
package contract
