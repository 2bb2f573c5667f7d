// Package stage is for tests alone: a small invented set in which nothing is off, and a
// diary that writes the edits of an invented production. Tests from lighting
// to glance begin from it and change what they are about.
package stage
