// Package footage answers which recorded file belongs to which logged clip.
//
// A name that exists proves nothing: where one recording was not logged, every count after it is
// one too low, and each wrong name is that of another file. So names are held against the
// card, the order on it and the times of the files, with the clock of the camera estimated.
//
// Reading the source: listing.go reads what a person has of the footage (line.go and moment.go for
// lines, table.go for CSV, hashlist.go for ASC MHL), fold.go makes recordings of files. row.go reads
// the log, roll.go cuts it into what stands on one card, and reel.go finds the files of each.
// align.go puts the two in order, clock.go with times; judge.go says what came of each clip and
// tell.go the rest, settings.go compares what both say of a camera, and adopt.go makes edits of what
// a person takes over.
package footage
