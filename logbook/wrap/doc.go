// Package wrap says what is still open at the end of a day, and what cures each: work that only a
// phone holds, what nobody decided, set-ups without white, cameras without grey card, lights without
// reading, names that nobody confirmed, questions without answer, a day that is not closed.
//
// It decides nothing anew: what is off or missing is what deviation finds, what is undecided what
// amend and setup list. An item that somebody accepted is not open.
//
// Reading the source: wrap.go is the check; each other file makes the items of one sort. The work
// grows with the day that is asked, not with the days that are held.
package wrap
