// Package tables holds the published tables that colorimetry computes with, and
// no code. Each file names the package and file that it was made from;
// SOURCES.md says more. To make them again, install that package and run
// go generate.
package tables

//go:generate go run convert.go mat.go planck.go
