// Package rigging says how lights were rigged at a moment, and what that takes of the truck: each
// light of a set-up with its lamp, dials, level, gels and position, and the lamps and gels that
// set-ups which stand at once use together.
//
// How a light stood, and which reading speaks of it, setup decides; here it is only written down.
//
// Reading the source: light.go is one light at a moment, list.go those of a set-up or a day,
// stock.go what the truck holds against what stands.
package rigging
