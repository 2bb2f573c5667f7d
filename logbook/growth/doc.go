// Package growth makes long logs for tests and benchmarks: the same edits from the same
// seed each time, of the kinds and in the proportions of a real job. The data is invented.
//
// It is for tests alone.
package growth
