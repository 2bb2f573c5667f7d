// Package look is what the pages of the program have in common: one style sheet, with greys
// alone so that no screen tints the eye, and how a page and its files go out.
package look
