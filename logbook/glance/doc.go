// Package glance shows a set-up at a glance: what is known of it now, the plane of
// colours, the swatches, and what is said of one clip.
//
// Now, Plane and Swatches each answer for one set-up as of a moment. A Teller tells
// the clips of several set-ups, for a colour log. All of them put together what setup,
// deviation and cameras say, and choose no reading, white or card themselves; what
// cannot be computed says why in its place.
//
// Nothing below imports this room. What is drawn of it, picture draws.
package glance
