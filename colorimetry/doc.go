// Package colorimetry computes the colour of light: chromaticities, correlated
// colour temperatures, spectra, and what a camera set to a white makes of them.
//
// Everything here is a pure function of its arguments: no file, socket, clock or
// chance. Units are in the types, and a word for a colour cast always describes
// the picture: plus is warmer and greener.
//
// An input outside the domain of a computation gives an error that wraps
// ErrDomain and names the quantity, its value and what is allowed; it never
// gives NaN. Keys in brackets name a source listed in
// testdata/colorimetry/SOURCES.md or tables/SOURCES.md.
//
// math.Exp and math.Pow differ in the last bits between platforms. The locus is
// therefore a table (tables/locus.go), and CCT and Duv come out the same on the
// server and in the browser.
package colorimetry
