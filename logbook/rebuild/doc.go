// Package rebuild makes the sheet by which a set-up is built again: as it was rigged at a take, with
// lamps, dials, gels, levels, positions, white and cameras; and says how another set-up, or each of a
// scene, lies apart from it, the greatest first.
//
// The moment of a sheet is that of its take, not now; which readings, white and cards speak then,
// setup says. Here nothing is chosen, only written down and compared.
//
// Reading the source: sheet.go and camera.go are one set-up at a take, level.go how much each light
// gives against the key; row.go is one thing in which two set-ups may differ, apart.go all of them of
// two set-ups, scene.go those of a scene side by side.
package rebuild
