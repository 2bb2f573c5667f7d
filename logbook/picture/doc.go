// Package picture draws answers about a set-up as SVG: the u' v' plane, the course
// over time, and swatches. Nothing is computed here but places on
// the paper and the published loci; every number that is written stands in the
// answer that is drawn.
//
// The pictures are black, white and grey, apart from the swatches: marks differ by
// shape, lines by dashes, and whatever is drawn also stands in a list below, readings
// that tell nothing new in the description alone. Each begins with what it comes to. They
// hold no script and load nothing. The same answer gives the same bytes.
package picture
