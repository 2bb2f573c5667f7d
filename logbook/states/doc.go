// Package states names states of a log, and makes the book of one again.
//
// A state is a set of edits: per line the numbers that are held, and a digest of what those edits
// say. It names no sequence, because a restored log issues those anew: wherever a log holds the
// edits of a state, the book of that state is the same, and so is all that is written of it.
//
// The digest is the first half of the SHA-256 of, line by line in the order of lines: the 8 bytes of
// the line, and the SHA-256 of the hashes of its edits, in the order of their numbers. On paper stand
// six words of it, of 2048: 66 bits, to tell by eye whether two sheets are of one state. The words
// are the English list of BIP 39 (MIT licence), in which no two begin with the same four letters.
//
// Reading the source: state.go is the name and its text, digest.go works the digest out, book.go
// makes the book, words.go tells the words, handed.go remembers which were handed out.
package states
