// Package paper writes sheets as pages for people and paper: the sheet by which a set-up is built
// again, what lies apart of two set-ups or of a scene, and the rigging list. Each is one file that
// loads nothing and prints on A4 and US Letter; the same answer gives the same bytes.
//
// The numbers are those of the answers (rebuild, rigging); here they are only laid out: pages.html
// has a template for each page, with one style for all.
package paper
