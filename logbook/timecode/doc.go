// Package timecode counts frames as SMPTE ST 12-1 does: at the rates of 23.976 to 60, with numbers
// dropped or not, over midnight.
package timecode
