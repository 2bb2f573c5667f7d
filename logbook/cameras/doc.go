// Package cameras knows the dials of a body, what a camera was set to, and what grey cards
// teach of a body's error.
//
// A setting is what somebody typed; its label is the white that the body claims for it. Cards
// say how far the two lie apart, weighed by how near they are in setting, lamp family, mode,
// glass and time; what they say of a setting far from all of them is poor, and moves nothing.
//
// Where something of a body is not known, such as where its tint 0 lies, a label is a few whites,
// the first of them the one that is shown.
//
// A Memo keeps labels and whites of one book, which must not change while it lives.
//
// Reading the source: setting, setting_dial, tint and possible; in_use; footage, sample, sample_color,
// card_light and still for cards; error is what they teach, known which of them count; how_right holds each
// against those before it, in a walk over all; correction; memo.
package cameras
