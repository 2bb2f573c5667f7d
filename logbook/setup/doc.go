// Package setup reads a set-up once, as of a moment: its whites and the periods in which
// each was in force, the aims of its cameras, its mix, its drift, its limits.
//
// Read, or a Reader for several set-ups of one book, is the only place that chooses
// readings, whites and cards. The rooms above get what it returns. Where two of them choose
// differently today, both choices stand in cards.go, side by side.
//
// A white is kept as its rule and its inputs, and resolved anew each time: no computed number
// is stored. A rule that follows the log is read as of the moment when the white was decided.
package setup
