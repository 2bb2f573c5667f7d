// Package still opens stills (PNG, JPEG, TIFF) within bounds of memory and time, and
// hands out the codes of their pixels as they are stored.
//
// A file comes from anybody. It is looked at first (png.go, jpeg.go, tiff.go): its
// size, what decoding it may take, and the marks that change what its numbers mean.
// Only then a decoder sees it, and never one file that says it is larger than its
// bounds.
package still
