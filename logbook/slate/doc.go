// Package slate turns what happens at the slate into edits: a take begins or ends, another
// follows, a number was wrong. It also counts clip names by the rule of a body.
//
// ReadEvent reads an event as a phone or a caller sends it; Drafts makes the drafts that
// it stands for, over what the book shows: the settings that are carried over, the next
// number, the next clip of each camera. Nothing is stored here.
//
// Slate imports neither deviation nor advice.
package slate
