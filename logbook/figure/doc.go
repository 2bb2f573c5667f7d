// Package figure has the computed colours and differences as they are shown: with their
// digits, the floor that they rest on, the limits that they are held to, and their words.
//
// RoundTo is the one place where a computed number becomes the number that is shown and
// judged: a verdict on the unrounded value could contradict what stands on the screen, and
// differ between processors. Signs are those of the picture: mired + warmer, Duv + greener.
package figure
