// Package spectrumfile reads the files in which instruments and labs hand out
// the spectrum of a light: IES TM-27, CGATS.17, two columns of text, and JSON.
//
// It is a room of its own for the sake of the engine, which is handed spectra as
// numbers: every WebAssembly build of it would carry encoding/xml and regexp.
//
// A file may come from anybody. Whatever its bytes are, reading it ends with a
// spectrum that colorimetry.NewSpectrum takes or with an error that says what is
// allowed, and takes no more memory than a few times its size.
package spectrumfile
