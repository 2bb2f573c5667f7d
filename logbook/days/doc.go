// Package days is for tests alone: whole shooting days, drawn by chance, made up within
// their limits or written out by hand, and what must hold of every answer about them.
package days
